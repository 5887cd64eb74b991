package jobcard_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
)

// in runs f on a locked line as somebody's change.
func in(t *testing.T, g *cardtest.Garage, who actor.Actor, id jobcard.LineID, f func(context.Context, *change.Tx, jobcard.Card, jobcard.Line) error) error {
	t.Helper()
	_, err := change.Do(t.Context(), g.DB, who, "test", id, func(ctx context.Context, tx *change.Tx) (int, error) {
		c, l, err := jobcard.LockLine(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		return 0, f(ctx, tx, c, l)
	})
	return err
}

func tick(t *testing.T, g *cardtest.Garage, who actor.Actor, id jobcard.LineID) {
	t.Helper()
	g.OK(in(t, g, who, id, jobcard.Tick))
}

// finish ticks and checks all that can be ticked and makes the card ready.
func finish(t *testing.T, g *cardtest.Garage, s *jobcard.Sheet) {
	t.Helper()
	for _, l := range g.Sheet(s.ID).Lines {
		if l.Settled() {
			continue
		}
		if !l.MayBeWorkedOn() {
			g.Agree(s.ID)
		}
		tick(t, g, g.Posy, l.ID)
		if l.Safety || l.WheelsOff {
			_, err := g.Cards.SecondCheck(t.Context(), g.Bram, jobcard.CheckInput{LineID: l.ID, TorqueNm: 110})
			g.OK(err)
		}
	}
	_, err := g.Cards.SetStage(t.Context(), g.Desk, jobcard.StageInput{CardID: s.ID, Stage: jobcard.Ready})
	g.OK(err)
}

func TestASafetyLineKeepsTheCardUntilASecondPersonHasChecked(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Brakes))
	g.Agree(s.ID)
	l := s.Lines[0]
	ready := jobcard.StageInput{CardID: s.ID, Stage: jobcard.Ready}
	_, err := g.Cards.SetStage(t.Context(), g.Desk, ready)
	wantFields(t, err, "stage")
	tick(t, g, g.Posy, l.ID)
	_, err = g.Cards.SetStage(t.Context(), g.Desk, ready)
	wantFields(t, err, "stage")
	if _, err := g.Cards.SecondCheck(t.Context(), g.Posy, jobcard.CheckInput{LineID: l.ID, TorqueNm: 110}); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("whoever did the work checked it: %v", err)
	}
	_, err = g.Cards.SecondCheck(t.Context(), g.Bram, jobcard.CheckInput{LineID: l.ID})
	wantFields(t, err, "torque_nm")
	_, err = g.Cards.SecondCheck(t.Context(), g.Bram, jobcard.CheckInput{LineID: l.ID, TorqueNm: 110})
	g.OK(err)
	_, err = g.Cards.SetStage(t.Context(), g.Desk, ready)
	g.OK(err)

	// Opened again, the check no longer counts and the card is in work.
	g.OK(in(t, g, g.Posy, l.ID, func(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line) error {
		return jobcard.OpenAgain(ctx, tx, c, l, "squeals")
	}))
	s = g.Sheet(s.ID)
	if s.Stage != jobcard.InWork || len(s.Checks) != 0 || s.Lines[0].WorkState != jobcard.Open {
		t.Errorf("stage %s, %d checks, line %s", s.Stage, len(s.Checks), s.Lines[0].WorkState)
	}
}

func TestADearerPriceAsksAgainAndACheaperOneDoesNot(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	g.Agree(s.ID)
	l := g.Sheet(s.ID).Lines[0]
	edit := func(likely time.Duration) jobcard.Line {
		l = g.Sheet(s.ID).Lines[0]
		_, err := g.Cards.EditLine(t.Context(), g.Desk, jobcard.EditLineInput{LineID: l.ID, Version: l.Version, LineTerms: jobcard.LineTerms{
			Title: l.Title, MustDo: true, Estimate: hours.One(likely),
		}})
		g.OK(err)
		return g.Sheet(s.ID).Lines[0]
	}
	if l = edit(90 * time.Minute); l.Consent != jobcard.Agreed {
		t.Errorf("a cheaper line is %s", l.Consent)
	}
	if l = edit(97 * time.Minute); l.Consent != jobcard.Asked || *l.AgreedNet != 9600 {
		t.Errorf("a dearer line is %s, agreed at %d", l.Consent, *l.AgreedNet)
	}
	g.Agree(s.ID)
	price := money.Minor(1)
	_, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: jobcard.PartTerms{
		LineID: l.ID, Name: "Washer", Qty: 1000, Price: &price,
	}})
	g.OK(err)
	if l = g.Sheet(s.ID).Lines[0]; l.Consent != jobcard.Asked {
		t.Errorf("with a part for a penny more it is %s", l.Consent)
	}
}

func TestAWrongPartGoesBackAndIsNeededAgainAtTheSamePrice(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Brakes))
	_, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: jobcard.PartTerms{
		LineID: s.Lines[0].ID, Name: "Pads", Number: "EM-2201", Qty: 1000, Cost: 3000, Supply: jobcard.Arrived,
	}})
	g.OK(err)
	g.Agree(s.ID)
	before := g.Sheet(s.ID)
	report := jobcard.SnagInput{LineID: before.Lines[0].ID, PartID: before.Parts[0].ID, Kind: jobcard.WrongPart, Note: "for the larger disc"}
	g.OK(report.Clean())
	g.OK(in(t, g, g.Posy, report.LineID, func(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line) error {
		_, err := jobcard.ReportSnag(ctx, tx, c, l, report)
		return err
	}))
	s = g.Sheet(s.ID)
	if s.Lines[0].WorkState != jobcard.Waiting || s.Lines[0].Consent != jobcard.Agreed {
		t.Errorf("the line is %s and %s", s.Lines[0].WorkState, s.Lines[0].Consent)
	}
	if len(s.Parts) != 2 || s.Parts[0].Supply != jobcard.GoingBack || s.Parts[0].Verdict != jobcard.DoesNotFit || s.Parts[1].Supply != jobcard.Needed || s.Parts[1].Number != "" {
		t.Fatalf("parts: %+v", s.Parts)
	}
	if s.Quote.All.Gross != before.Quote.All.Gross {
		t.Errorf("the price went from %d to %d", before.Quote.All.Gross, s.Quote.All.Gross)
	}
	_, err = g.Cards.SetSupply(t.Context(), g.Posy, jobcard.SupplyInput{PartID: s.Parts[1].ID, Version: s.Parts[1].Version, Supply: jobcard.Arrived})
	g.OK(err)
	if l := g.Sheet(s.ID).Lines[0]; l.WorkState != jobcard.Open {
		t.Errorf("with its part here the line is %s", l.WorkState)
	}
}

func TestFoundWorkBecomesALineToBeAskedWithItsFinding(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	report := jobcard.SnagInput{LineID: s.Lines[0].ID, Kind: jobcard.FoundFault, Found: &jobcard.Found{
		Title: "Rear brake pipe corroded", Estimate: hours.One(time.Hour), Severity: jobcard.Major, Measured: "0.4 mm left", Limit: "0.7 mm",
	}}
	g.OK(report.Clean())
	var led jobcard.LineID
	g.OK(in(t, g, g.Posy, report.LineID, func(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line) (err error) {
		led, err = jobcard.ReportSnag(ctx, tx, c, l, report)
		return err
	}))
	s = g.Sheet(s.ID)
	l, ok := s.Line(led)
	if !ok || l.Consent != jobcard.Asked || l.FoundOn != s.Lines[0].ID || len(s.Findings) != 1 || s.Findings[0].Proposed != led {
		t.Errorf("found line %+v, findings %+v", l, s.Findings)
	}
	if s.Lines[0].WorkState != jobcard.Open {
		t.Errorf("the line it was found on is %s", s.Lines[0].WorkState)
	}
}

func TestLinesThatWouldWaitForOneAnotherAreRefused(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Free("a", time.Hour), cardtest.Free("b", time.Hour), cardtest.Free("c", time.Hour))
	a, b, c := s.Lines[0].ID, s.Lines[1].ID, s.Lines[2].ID
	put := func(line, after jobcard.LineID) error {
		_, err := g.Cards.SetOrder(t.Context(), g.Desk, jobcard.OrderInput{LineID: line, After: after})
		return err
	}
	g.OK(put(b, a))
	g.OK(put(c, b))
	wantFields(t, put(a, c), "after")
	wantFields(t, put(a, a), "after")
	wantFields(t, put(a, 999_999), "after")
	s = g.Sheet(s.ID)
	if h := s.Hindrances(s.Lines[2]); len(h) != 1 || h[0] != "after “b”" {
		t.Errorf("c is hindered by %q", h)
	}
}

func TestALineMovesToAPlaceAndTheOthersCloseUp(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Free("a", 0), cardtest.Free("b", 0), cardtest.Free("c", 0), cardtest.Free("d", 0))
	for _, c := range []struct {
		line, place int
		want        string
	}{{0, 3, "b c a d"}, {3, 1, "d a b c"}, {1, 2, "a b c d"}, {0, 60, "b c d a"}} {
		id := s.Lines[c.line].ID
		_, err := g.Cards.MoveLine(t.Context(), g.Desk, jobcard.MoveInput{LineID: id, Position: c.place})
		g.OK(err)
		got := ""
		for i, l := range g.Sheet(s.ID).Lines {
			got += " " + l.Title
			if l.Position != i+1 {
				t.Errorf("%s stands at %d, want %d", l.Title, l.Position, i+1)
			}
		}
		if got[1:] != c.want {
			t.Errorf("line %d to place %d gives%s, want %s", c.line, c.place, got, c.want)
		}
		for i, l := range s.Lines { // and back again
			_, err := g.Cards.MoveLine(t.Context(), g.Desk, jobcard.MoveInput{LineID: l.ID, Position: i + 1})
			g.OK(err)
		}
	}
}

// Many editors of one card at once, and no update lost.
func TestFiftyEditorsOfOneCardLoseNothing(t *testing.T) {
	const editors, saves = 50, 40
	g := cardtest.Open(t)
	s := g.Book(cardtest.Free("count", 0))
	id := s.Lines[0].ID
	var stale, saved atomic.Int64
	var wg sync.WaitGroup
	for e := range editors {
		wg.Go(func() {
			l := s.Lines[0]
			for n := 0; n < saves; {
				done, err := g.Cards.EditLine(t.Context(), g.Desk, jobcard.EditLineInput{LineID: id, Version: l.Version, LineTerms: jobcard.LineTerms{
					Title: "count", Note: fmt.Sprintf("%s%d ", l.Note[max(0, len(l.Note)-1000):], e),
				}})
				var refused *apperr.Error
				switch {
				case err == nil:
					saved.Add(1)
					n++
					l.Version = done.Version
				case errors.As(err, &refused) && refused.Kind == apperr.Conflict:
					now, ok := refused.Current.(jobcard.Line)
					if !ok || now.Version <= l.Version {
						t.Errorf("a refusal of version %d shows %+v", l.Version, refused.Current)
						return
					}
					l = now
					stale.Add(1)
					// A person reads both versions before saving again.
					time.Sleep(rand.N(40 * time.Millisecond))
				default:
					t.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	l := g.Sheet(s.ID).Lines[0]
	if saved.Load() != editors*saves || l.Version != editors*saves+1 {
		t.Errorf("%d saves, version %d: want %d and one more", saved.Load(), l.Version, editors*saves)
	}
	t.Logf("%d saves, %d stale edits refused", saved.Load(), stale.Load())
}
