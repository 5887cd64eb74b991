package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
)

// ClockOnBody says which cautions have just been read.
type ClockOnBody struct {
	Read []caution.Key `json:"cautions_read,omitempty" maxItems:"50" doc:"The cautions of the line that the technician has read, and says so. They go on record."`
}

// ClockedOn is the result of clocking on.
type ClockedOn struct {
	CardID        jobcard.CardID `json:"card_id"`
	LineID        jobcard.LineID `json:"line_id"`
	ClockingID    clocking.ID    `json:"clocking_id"`
	Left          jobcard.LineID `json:"left_line_id,omitempty" doc:"The line that was clocked off for it."`
	UpToStripDown bool           `json:"up_to_strip_down,omitempty" doc:"A part of the line was not found to fit: work on it until the old parts come off, and no further."`
}

// ClockedOff is the result of clocking off; empty when there was nothing to
// leave.
type ClockedOff struct {
	CardID     jobcard.CardID `json:"card_id,omitempty"`
	LineID     jobcard.LineID `json:"line_id,omitempty"`
	ClockingID clocking.ID    `json:"clocking_id,omitempty"`
}

// Moved is the result of a change that ends the work on a line.
type Moved struct {
	CardID jobcard.CardID  `json:"card_id"`
	LineID jobcard.LineID  `json:"line_id"`
	Off    []actor.StaffID `json:"clocked_off_ids" doc:"Who was clocked off by it."`
}

func movedOf(m clocking.Moved, err error) (Moved, error) {
	return Moved{m.CardID, m.LineID, list(m.Off, same)}, err
}

// DeferBody puts a line off to another visit.
type DeferBody struct {
	Reason    string `json:"reason" maxLength:"400"`
	DecidedBy string `json:"decided_by,omitempty" maxLength:"400" doc:"Who decided; whoever asks when left out."`
}

// ReasonBody is why something is done.
type ReasonBody struct {
	Reason string `json:"reason" maxLength:"400"`
}

// SnagBody is what got in the way of a line, and what is to become of it.
type SnagBody struct {
	Kind      jobcard.SnagKind `json:"kind"`
	PartID    jobcard.PartID   `json:"part_id,omitempty" minimum:"1" doc:"The wrong or missing part, when it is one."`
	Note      string           `json:"note,omitempty" maxLength:"8000"`
	Defer     bool             `json:"defer,omitempty" doc:"Put the line off instead of leaving it waiting."`
	DecidedBy string           `json:"decided_by,omitempty" maxLength:"400" doc:"Who decided to defer."`
	Found     *FoundBody       `json:"found,omitempty" doc:"Work that was found. It becomes a line to be asked."`
}

// FoundBody is work found on the car.
type FoundBody struct {
	Title       string             `json:"title,omitempty" maxLength:"400"`
	OperationID garage.OperationID `json:"operation_id,omitempty" minimum:"1"`
	Estimate
	Severity *jobcard.Severity `json:"severity,omitempty" doc:"Of the finding; left out for a job that has grown."`
	Measured string            `json:"measured,omitempty" maxLength:"400"`
	Limit    string            `json:"limit,omitempty" maxLength:"400"`
}

func (b SnagBody) input(line jobcard.LineID) jobcard.SnagInput {
	in := jobcard.SnagInput{LineID: line, PartID: b.PartID, Kind: b.Kind, Note: b.Note, Defer: b.Defer, DecidedBy: b.DecidedBy}
	if f := b.Found; f != nil {
		in.Found = &jobcard.Found{
			Title: f.Title, OperationID: f.OperationID, Estimate: f.estimate(), Measured: f.Measured, Limit: f.Limit,
		}
		if f.Severity != nil {
			in.Found.Severity = *f.Severity
		}
	}
	return in
}

// Snagged is the result of a snag.
type Snagged struct {
	Moved
	LedTo jobcard.LineID `json:"led_to_line_id,omitempty" doc:"The line of the work that was found, to be asked."`
}

// LineCautions are the cautions of a line and what whoever asks has read.
type LineCautions struct {
	CardID jobcard.CardID `json:"card_id"`
	LineID jobcard.LineID `json:"line_id"`
	All    []Caution      `json:"cautions"`
	Read   []caution.Key  `json:"read"`
	Unread []caution.Key  `json:"unread" doc:"To be read before clocking on."`
	Note   string         `json:"note" doc:"Stands below the list."`
}

// ReadBody says which cautions have been read.
type ReadBody struct {
	Cautions []caution.Key `json:"cautions" minItems:"1" maxItems:"50"`
}

func (a *API) workOperations() {
	a.floorOperation()
	a.clockOperations()
	lineAct(a, "tick", "tick-line", "Tick a line: it is done", "Whoever is on it is clocked off.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, _ *LineAt) (Moved, error) {
			return movedOf(a.Clocks.Tick(ctx, who, clocking.LineInput{LineID: line}))
		})
	lineAct(a, "defer", "defer-line", "Put a line off to another visit", "With the reason and who decided. Whoever is on it is clocked off.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *lineWith[DeferBody]) (Moved, error) {
			return movedOf(a.Clocks.Defer(ctx, who, clocking.DeferInput{LineID: line, Reason: in.Body.Reason, DecidedBy: in.Body.DecidedBy}))
		})
	lineAct(a, "wait", "wait-line", "Set a line waiting on parts", "Whoever is on it is clocked off.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *lineWith[ReasonBody]) (Moved, error) {
			return movedOf(a.Clocks.Wait(ctx, who, clocking.ReasonInput{LineID: line, Reason: in.Body.Reason}))
		})
	lineAct(a, "reopen", "reopen-line", "Open a line that was done, deferred or waiting", "A second check of it no longer counts.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *lineWith[ReasonBody]) (Moved, error) {
			return movedOf(a.Clocks.Reopen(ctx, who, clocking.ReasonInput{LineID: line, Reason: in.Body.Reason}))
		})
	lineAct(a, "snags", "report-snag", "Report a snag: what got in the way of a line",
		"It takes the next step: a wrong part goes back and is needed again, the line waits or is deferred, found work becomes a line to be asked.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *lineWith[SnagBody]) (Snagged, error) {
			s, err := a.Clocks.Snag(ctx, who, in.Body.input(line))
			m, _ := movedOf(s.Moved, nil)
			return Snagged{m, s.LedTo}, under("found.", err, "title", "likely")
		})
}

// lineWith is a line in the address and something sent with it.
type lineWith[B any] struct {
	LineAt
	Body B
}

func (l LineAt) line() jobcard.LineID { return l.Line }

// lineAct registers one thing that a technician does to a line.
func lineAct[I interface{ line() jobcard.LineID }, O any](a *API, path, id, short, long string,
	fn func(context.Context, actor.Actor, jobcard.LineID, *I) (O, error),
) {
	register(a, operation{
		method: http.MethodPost, path: "/lines/{line}/" + path, id: id, need: actor.Work, tag: "Work", short: short, long: long,
	}, func(ctx context.Context, who actor.Actor, in *I) (O, error) { return fn(ctx, who, (*in).line(), in) })
}
