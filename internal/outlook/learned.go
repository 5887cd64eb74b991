package outlook

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
)

// Learned is what this garage's finished lines say of its hours.
type Learned struct {
	Garage garage.Settings
	Now    time.Time
	// At is when it was learned; zero when nothing has been yet.
	At    time.Time
	Lines int
	Young bool
	// Over is how many times its estimate an hour of work takes in the middle,
	// all operations together.
	Over float64
	// Snag is how often in a hundred lines something sticks.
	Snag       float64
	Operations []OperationLearned
	Setting    Setting
}

// OperationLearned is what was learned of one operation on one engine layout.
type OperationLearned struct {
	Operation garage.Operation
	Layout    string // empty: not known
	// Times is how many times its estimate it takes in the middle; Low and High
	// are within which that is, 9 times in 10.
	Times, Low, High float64
	Lines            int
	// Suggested hours, when there is enough to say that the present ones are
	// wrong.
	Suggested time.Duration
	From      []LineLearned
}

// LineLearned is one line behind a figure.
type LineLearned struct {
	Line     jobcard.LineID
	Card     jobcard.CardID
	At       time.Time
	Estimate time.Duration
	Worked   time.Duration
	Open     bool // it took longer than that
	Doubtful bool // its clocking is more likely wrong than right
	Snag     bool // most likely something stuck
	Weight   float64
}

// fromMax is how many lines are shown behind a figure, the latest.
const fromMax = 60

// Learned reads what was learned of every operation in use, with the lines that
// it was learned from.
func (s *Service) Learned(ctx context.Context, who actor.Actor) (Learned, error) {
	if err := who.Need(actor.SeeMargins); err != nil {
		return Learned{}, err
	}
	out := Learned{Now: s.db.Now().UTC()}
	m, err := s.modelNow(ctx)
	if err != nil {
		return out, err
	}
	var b pgx.Batch
	garage.LoadLater(&b, &out.Garage)
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return out, fmt.Errorf("what was learned: %w", err)
	}
	if out.Setting, err = settingOf(ctx, s.db.Pool); err != nil {
		return out, err
	}
	all, err := garage.SearchOperations(ctx, s.db.Pool, "", 500)
	if err != nil {
		return out, err
	}
	if m.id != 0 {
		out.At = m.at
	}
	out.Lines, out.Young = len(m.lessons.Lines), m.fitted.Young()
	snag, _, _ := m.fitted.Snag()
	out.Snag = snag
	out.Over = math.Exp(m.fitted.Of("", "", 0).Garage)
	layouts, lines := map[garage.OperationID][]string{}, map[garage.OperationID]int{}
	at := map[jobcard.LineID]taught{}
	for _, l := range m.lessons.Lines {
		at[l.Line] = l
		lines[l.Operation]++
		if l.Operation != 0 && !slices.Contains(layouts[l.Operation], l.Layout) {
			layouts[l.Operation] = append(layouts[l.Operation], l.Layout)
		}
	}
	for _, o := range all {
		slices.Sort(layouts[o.ID])
		for _, layout := range layouts[o.ID] {
			out.Operations = append(out.Operations, learnedOf(m, o, layout, at, lines[o.ID]))
		}
	}
	slices.SortStableFunc(out.Operations, func(a, b OperationLearned) int {
		return cmp.Or(-cmp.Compare(btoi(a.Suggested > 0), btoi(b.Suggested > 0)), cmp.Compare(a.Operation.Name, b.Operation.Name), cmp.Compare(a.Layout, b.Layout))
	})
	return out, nil
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func learnedOf(m *model, o garage.Operation, layout string, at map[jobcard.LineID]taught, lines int) OperationLearned {
	key := operationKey(o.ID, "")
	present := o.Likely.Hours()
	sug, ok := m.fitted.Suggest(key, layout, present)
	x := OperationLearned{Operation: o, Layout: layout, Lines: sug.Lines}
	if present > 0 {
		x.Times, x.Low, x.High = sug.Hours/present, sug.Low/present, sug.High/present
	}
	// An operation has the same hours on every engine: they are only suggested
	// where most of its lines were on this one. Rounded to a twentieth.
	if minutes := math.Round(sug.Hours*20) * 3; ok && minutes >= 3 && sug.Lines*5 >= lines*4 {
		x.Suggested = time.Duration(minutes) * time.Minute
	}
	for _, f := range sug.From {
		t := at[jobcard.LineID(f.ID)]
		x.From = append(x.From, LineLearned{
			Line: t.Line, Card: t.Card, At: t.At, Estimate: time.Duration(t.Likely * float64(time.Minute)), Worked: time.Duration(t.Seconds) * time.Second,
			Open: f.Open, Doubtful: f.Doubtful, Snag: f.Snag > 0.5, Weight: f.Weight,
		})
	}
	slices.SortFunc(x.From, func(a, b LineLearned) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Line, b.Line)) })
	x.From = x.From[:min(len(x.From), fromMax)]
	return x
}

// AcceptInput takes a suggestion for an operation's hours.
type AcceptInput struct {
	OperationID garage.OperationID
	// Version of the operation that the suggestion was read beside, and the
	// hours that were suggested.
	Version int
	Likely  time.Duration
}

// Accept sets an operation's hours to what was suggested; its least and most
// go along in proportion. Lines that were written before are reckoned from now
// on as if they had been estimated so. Errors are those of
// garage.SetHours.
func (s *Service) Accept(ctx context.Context, who actor.Actor, in AcceptInput) (garage.Operation, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return garage.Operation{}, err
	}
	if in.Likely < 3*time.Minute || in.Likely > 200*time.Hour {
		return garage.Operation{}, apperr.Field("likely", "these are no hours for an operation")
	}
	m, err := s.modelNow(ctx)
	if err != nil {
		return garage.Operation{}, err
	}
	return change.Do(ctx, s.db, who, "accept learned hours", in, func(ctx context.Context, tx *change.Tx) (garage.Operation, error) {
		o, err := garage.OperationByID(ctx, tx, in.OperationID)
		if err != nil {
			return o, err
		}
		f := float64(in.Likely) / float64(max(o.Likely, time.Minute))
		was, is, err := garage.SetHours(ctx, tx, in.OperationID, in.Version, scaled(o.Low, f), in.Likely, scaled(o.High, f))
		if err != nil {
			return is, err
		}
		_, err = tx.Exec(ctx, `insert into outlook_accepted (operation_id, was_minutes, now_minutes, lines, by_staff, at) values ($1, $2, $3, $4, nullif($5::bigint, 0), $6)`,
			in.OperationID, int(max(was.Likely, time.Minute)/time.Minute), int(in.Likely/time.Minute), len(m.lessons.Lines), who.StaffID, tx.At)
		if err != nil {
			return is, fmt.Errorf("accept learned hours: %w", err)
		}
		return is, nil
	})
}

func scaled(d time.Duration, f float64) time.Duration {
	return time.Duration(float64(d) * f).Round(time.Minute)
}

func noRow(err error) bool { return errors.Is(err, pgx.ErrNoRows) }
