package clocking_test

import (
	"slices"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
)

func TestATickClocksEverybodyOffTheLine(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[0])
	s.On(t, s.Bram, ls[0])
	s.Pass(20 * time.Minute)
	done, err := s.Clock.Tick(t.Context(), s.Desk, clocking.LineInput{LineID: ls[0]})
	if err != nil || len(done.Off) != 2 || done.CardID != card {
		t.Errorf("%+v, %v", done, err)
	}
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during)`); n != 0 {
		t.Errorf("%d are still on", n)
	}
	_, err = s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[0]})
	wants(t, err, apperr.Conflict, "done already")
	// What nobody was clocked on to may be ticked too.
	if _, err := s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[1]}); err != nil {
		t.Error(err)
	}
}

func TestATickThatIsRefusedLeavesEverybodyOn(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[1])
	for _, l := range ls {
		s.Pass(time.Minute)
		_, err := s.Clock.Tick(t.Context(), s.Bram, clocking.LineInput{LineID: l})
		clocktest.Ok(t, err)
	}
	_, err := s.Cards.SetStage(t.Context(), s.Desk, jobcard.StageInput{CardID: card, Stage: jobcard.Ready})
	clocktest.Ok(t, err)
	_, err = s.Clock.Reopen(t.Context(), s.Posy, clocking.ReasonInput{LineID: ls[0], Reason: "it rattles"})
	clocktest.Ok(t, err)
	if sh := s.Sheet(t, card); sh.Stage != jobcard.InWork {
		t.Errorf("with a line open again the card is %s", sh.Stage)
	}
	s.On(t, s.Posy, ls[0])
	// Somebody struck the card's stage by hand: the tick is refused whole.
	_, err = s.DB.Pool.Exec(t.Context(), `update card set stage = 'booked' where id = $1`, card)
	clocktest.Ok(t, err)
	_, err = s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[0]})
	wants(t, err, apperr.Conflict, "nothing on it can be ticked")
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during)`); n != 1 {
		t.Errorf("%d are on", n)
	}
}

func TestDeferringAndWaitingEndTheWorkAndSayWhy(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[0])
	s.Pass(10 * time.Minute)
	_, err := s.Clock.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: ls[0], Reason: "  no ramp   free ", DecidedBy: "Ottoline Reave"})
	clocktest.Ok(t, err)
	l := s.LineOf(t, card, ls[0])
	if l.WorkState != jobcard.Deferred || l.StateReason != "no ramp free" || l.DecidedBy != "Ottoline Reave" {
		t.Errorf("%+v", l)
	}
	s.On(t, s.Posy, ls[1])
	s.Pass(10 * time.Minute)
	done, err := s.Clock.Wait(t.Context(), s.Bram, clocking.ReasonInput{LineID: ls[1], Reason: "arms are not in stock"})
	if err != nil || !slices.Equal(done.Off, []actor.StaffID{s.Posy.StaffID}) {
		t.Errorf("%+v, %v", done, err)
	}
	if l := s.LineOf(t, card, ls[1]); l.WorkState != jobcard.Waiting || l.StateReason != "arms are not in stock" {
		t.Errorf("%+v", l)
	}
	_, err = s.Clock.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: ls[1], Reason: " "})
	wantsField(t, err, "reason", "the reason")
	_, err = s.Clock.Wait(t.Context(), s.Posy, clocking.ReasonInput{LineID: ls[1]})
	wantsField(t, err, "reason", "the reason")
	_, err = s.Clock.Reopen(t.Context(), s.Posy, clocking.ReasonInput{LineID: ls[1], Reason: "\x00"})
	wantsField(t, err, "reason", "cannot be printed")
	// Whoever decides by default is whoever says so.
	_, err = s.Clock.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: ls[1], Reason: "no time"})
	clocktest.Ok(t, err)
	if l := s.LineOf(t, card, ls[1]); l.DecidedBy != "Posy Thackeray" {
		t.Errorf("decided by %q", l.DecidedBy)
	}
}

func TestALineInHandNeedsNoOpening(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	_, err := s.Clock.Reopen(t.Context(), s.Bram, clocking.ReasonInput{LineID: ls[0], Reason: "why not"})
	wants(t, err, apperr.Conflict, "in hand")
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.InHand {
		t.Errorf("the line is %s", l.WorkState)
	}
}

func TestAWrongPartStopsTheLine(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Thermostat"))
	p := s.Part(t, card, ls[0], "Thermostat housing", jobcard.Arrived)
	s.Agree(t, card)
	s.On(t, s.Posy, ls[0])
	s.Pass(25 * time.Minute)
	got, err := s.Clock.Snag(t.Context(), s.Posy, jobcard.SnagInput{LineID: ls[0], PartID: p, Kind: jobcard.WrongPart, Note: "for the other engine"})
	if err != nil || !slices.Equal(got.Off, []actor.StaffID{s.Posy.StaffID}) || got.LedTo != 0 {
		t.Errorf("%+v, %v", got, err)
	}
	sh := s.Sheet(t, card)
	if l, _ := sh.Line(ls[0]); l.WorkState != jobcard.Waiting || l.StateReason != "wrong part: for the other engine" {
		t.Errorf("%s: %s", l.WorkState, l.StateReason)
	}
	if bad, _ := sh.Part(p); bad.Supply != jobcard.GoingBack || bad.Verdict != jobcard.DoesNotFit {
		t.Errorf("the wrong one is %s, %s", bad.Supply, bad.Verdict)
	}
	if n := len(sh.PartsOf(ls[0])); n != 2 {
		t.Errorf("%d parts: the same is needed again", n)
	}
	if sh.Clocked[ls[0]].Worked != 25*time.Minute || len(sh.Clocked[ls[0]].On) != 0 {
		t.Errorf("%+v", sh.Clocked[ls[0]])
	}
}

func TestFoundWorkBecomesALineToBeAskedAndTheWorkGoesOn(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Service"))
	s.On(t, s.Posy, ls[0])
	in := jobcard.SnagInput{LineID: ls[0], Kind: jobcard.FoundFault, Found: &jobcard.Found{
		Title: " Rear pads at 2 mm ", Estimate: hours.One(time.Hour), Severity: jobcard.Major, Measured: "2 mm",
	}}
	got, err := s.Clock.Snag(t.Context(), s.Posy, in)
	if err != nil || got.LedTo == 0 || len(got.Off) != 0 {
		t.Fatalf("%+v, %v", got, err)
	}
	if in.Found.Title != " Rear pads at 2 mm " {
		t.Error("the caller's own input was changed")
	}
	l := s.LineOf(t, card, got.LedTo)
	if l.Title != "Rear pads at 2 mm" || l.Consent != jobcard.Asked || l.FoundOn != ls[0] {
		t.Errorf("%+v", l)
	}
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during) and line_id = $1`, ls[0]); n != 1 {
		t.Error("the work did not go on")
	}
	_, err = s.Clock.Snag(t.Context(), s.Posy, jobcard.SnagInput{LineID: ls[0], Kind: jobcard.FoundFault})
	wantsField(t, err, "found.title", "what was found")
	_, err = s.Clock.Snag(t.Context(), s.Posy, jobcard.SnagInput{LineID: ls[0], Kind: "boredom"})
	wantsField(t, err, "kind", "what the snag is")
}

func TestABlockedLineRests(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Minute)
	if _, err := s.Clock.Snag(t.Context(), s.Posy, jobcard.SnagInput{LineID: ls[0], Kind: jobcard.Blocked, Note: "ramp 2 is taken"}); err != nil {
		t.Fatal(err)
	}
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.Open {
		t.Errorf("the line is %s", l.WorkState)
	}
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during)`); n != 0 {
		t.Errorf("%d are on", n)
	}
}

func TestNobodyWithoutTheRightMovesALine(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	nobody := actor.Actor{}
	id := ls[0]
	_, tick := s.Clock.Tick(t.Context(), nobody, clocking.LineInput{LineID: id})
	_, put := s.Clock.Defer(t.Context(), nobody, clocking.DeferInput{LineID: id})
	_, wait := s.Clock.Wait(t.Context(), nobody, clocking.ReasonInput{LineID: id})
	_, again := s.Clock.Reopen(t.Context(), nobody, clocking.ReasonInput{LineID: id})
	_, snag := s.Clock.Snag(t.Context(), nobody, jobcard.SnagInput{LineID: id})
	_, off := s.Clock.ClockOff(t.Context(), nobody, clocking.OffInput{})
	_, home := s.Clock.GoHome(t.Context(), nobody, clocking.OffInput{})
	_, read := s.Clock.ReadCautions(t.Context(), nobody, clocking.ReadInput{LineID: id})
	_, fix := s.Clock.Correct(t.Context(), nobody, clocking.CorrectInput{ClockingID: 1})
	_, day := s.Clock.OnDay(t.Context(), nobody, clocking.DayQuery{})
	_, lost := s.Clock.Forgotten(t.Context(), nobody)
	_, one := s.Clock.ByID(t.Context(), nobody, 1)
	_, _, current := s.Clock.Current(t.Context(), nobody)
	_, cautions := s.Clock.Cautions(t.Context(), nobody, id)
	for i, err := range []error{tick, put, wait, again, snag, off, home, read, fix, day, lost, one, current, cautions} {
		if !apperr.Is(err, apperr.Unsigned) {
			t.Errorf("%d: %v", i, err)
		}
	}
}
