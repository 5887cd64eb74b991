package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// ClockingAt is one clocking in the address.
type ClockingAt struct {
	Clocking clocking.ID `path:"clocking" minimum:"1"`
}

// Clocking is one technician on one line from a start to an end. It carries no
// money.
type Clocking struct {
	ID      clocking.ID    `json:"id"`
	StaffID actor.StaffID  `json:"staff_id"`
	Name    string         `json:"name"`
	LineID  jobcard.LineID `json:"line_id"`
	CardID  jobcard.CardID `json:"card_id"`
	Title   string         `json:"title"`
	Car     string         `json:"car" doc:"Its mark, or else its VIN."`
	From    Time           `json:"from"`
	To      Time           `json:"to,omitzero" doc:"Absent while it goes on."`
	Voided  bool           `json:"voided" doc:"It never happened, and counts for nothing."`
	Version int            `json:"version"`
}

func clockingOf(k clocking.Clocking) Clocking {
	return Clocking{k.ID, k.StaffID, k.Name, k.LineID, k.CardID, k.Title, k.Car, at(k.From), at(k.To), k.Voided, k.Version}
}

// ForgottenClocking is a clocking still open although the garage has closed.
type ForgottenClocking struct {
	Clocking
	Likely Time `json:"likely_end" doc:"When it most likely ended."`
}

func forgottenOf(f clocking.Forgotten) ForgottenClocking {
	return ForgottenClocking{clockingOf(f.Clocking), at(f.Likely)}
}

// ForgottenClockings lists them.
type ForgottenClockings struct {
	Forgotten []ForgottenClocking `json:"forgotten"`
}

// Span is time from one moment up to another; the end is absent while it goes
// on.
type Span struct {
	From Time `json:"from"`
	To   Time `json:"to,omitzero"`
}

func spanOf(s workday.Span) Span { return Span{at(s.From), at(s.To)} }

// Correction is one change to a clocking afterwards, as it was made.
type Correction struct {
	ClockingID clocking.ID `json:"clocking_id"`
	Was        Span        `json:"was"`
	Became     *Span       `json:"became,omitempty" doc:"Absent where it was struck out."`
	Reason     string      `json:"reason"`
	By         string      `json:"by,omitempty" doc:"Absent where it was made by itself."`
	At         Time        `json:"at"`
}

func correctionOf(c clocking.Correction) Correction {
	out := Correction{ClockingID: c.ClockingID, Was: spanOf(c.Was), Reason: c.Reason, By: c.By, At: at(c.At)}
	if !c.Voided {
		out.Became = ptr(spanOf(c.Became))
	}
	return out
}

// ClockingDay is the clockings of one day.
type ClockingDay struct {
	Day         Day                 `json:"day"`
	Now         Time                `json:"now"`
	Clockings   []Clocking          `json:"clockings"`
	Corrections []Correction        `json:"corrections"`
	Worked      []WorkedBy          `json:"worked" doc:"How long each of them worked on the day, what goes on counted up to now."`
	Forgotten   []ForgottenClocking `json:"forgotten" doc:"Of whatever day."`
}

// WorkedBy is how long somebody worked on a day.
type WorkedBy struct {
	StaffID actor.StaffID `json:"staff_id"`
	Name    string        `json:"name"`
	Worked  int64         `json:"worked_seconds"`
}

// CurrentClocking is what somebody is on.
type CurrentClocking struct {
	Clocking *Clocking `json:"clocking,omitempty" doc:"Absent when that is nothing."`
}

// ClockingEdit gives a clocking other times, or says that it never happened.
type ClockingEdit struct {
	Version int    `json:"version" minimum:"1" maximum:"2147483647"`
	From    Time   `json:"from,omitzero"`
	To      Time   `json:"to,omitzero" doc:"Left out only while it goes on and is to go on."`
	Void    bool   `json:"void,omitempty" doc:"It never happened."`
	Reason  string `json:"reason" maxLength:"400"`
}

func (a *API) clockingOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/clockings", id: "list-clockings", need: actor.Work, tag: "Clockings",
		short: "The clockings of one day, what was corrected, and those that seem forgotten",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Day   Day           `query:"day" doc:"Today when left out."`
		Staff actor.StaffID `query:"staff" minimum:"1" doc:"One person; left out, everybody for those who may see margins and yourself for others."`
	}) (ClockingDay, error) {
		q := clocking.DayQuery{Day: in.Day.Day, StaffID: in.Staff}
		if in.Staff == 0 && !who.May(actor.SeeMargins) {
			q.StaffID = who.StaffID
		}
		d, err := a.Clocks.OnDay(ctx, who, q)
		if err != nil {
			return ClockingDay{}, err
		}
		return clockingDayOf(d), nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/clockings/current", id: "get-current-clocking", need: actor.Work, tag: "Clockings",
		short: "What you are clocked on to",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (CurrentClocking, error) {
		k, ok, err := a.Clocks.Current(ctx, who)
		if err != nil || !ok {
			return CurrentClocking{}, err
		}
		return CurrentClocking{ptr(clockingOf(k))}, nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/clockings/forgotten", id: "list-forgotten-clockings", need: actor.Work, tag: "Clockings",
		short: "Clockings still open although the garage has closed",
		long:  "Your own, or everybody's for those who may see margins.",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (ForgottenClockings, error) {
		all, err := a.Clocks.Forgotten(ctx, who)
		return ForgottenClockings{list(all, forgottenOf)}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/clockings/{clocking}", id: "get-clocking", need: actor.Work, tag: "Clockings",
		short: "One clocking", long: "Your own, or anybody's for those who may see margins.",
	}, func(ctx context.Context, who actor.Actor, in *ClockingAt) (Clocking, error) {
		k, err := a.Clocks.ByID(ctx, who, in.Clocking)
		return clockingOf(k), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/clockings/{clocking}", id: "correct-clocking", need: actor.Work, tag: "Clockings",
		short: "Correct a clocking, with the reason",
		long:  "What it was, what it became and why go on record. Your own; anybody else's needs the right to correct clockings.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ClockingAt
		Body ClockingEdit
	}) (Clocking, error) {
		b := in.Body
		k, err := a.Clocks.Correct(ctx, who, clocking.CorrectInput{
			ClockingID: in.Clocking, Version: b.Version, From: b.From.Time, To: b.To.Time, Void: b.Void, Reason: b.Reason,
		})
		return clockingOf(k), err
	})
}

func clockingDayOf(d clocking.Day) ClockingDay {
	out := ClockingDay{
		Day: on(d.Day), Now: at(d.Now), Clockings: list(d.Clockings, clockingOf), Forgotten: list(d.Forgotten, forgottenOf),
		Corrections: []Correction{}, Worked: []WorkedBy{},
	}
	seen := map[actor.StaffID]bool{}
	for _, k := range d.Clockings {
		out.Corrections = append(out.Corrections, list(d.Corrections[k.ID], correctionOf)...)
		if !seen[k.StaffID] {
			seen[k.StaffID] = true
			out.Worked = append(out.Worked, WorkedBy{k.StaffID, k.Name, seconds(d.Worked(k.StaffID))})
		}
	}
	return out
}
