package floor_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/floor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
)

const me, other actor.StaffID = 1, 2

func at(clock string) time.Time { return clocktest.At(clocktest.Today, clock) }

func snapshot(lines ...floor.Line) floor.Snapshot {
	s := floor.Snapshot{
		Garage: garage.Settings{ZoneName: clocktest.Zone, Closes: clocktest.Clock("17:30")},
		Now:    at("10:00"), Me: me, Staff: map[actor.StaffID]string{me: "Posy", other: "Bram"},
		Cars: map[jobcard.CardID]floor.Car{
			1: {CardID: 1, Mark: "ZZ10 TST", PromisedAt: at("16:30")},
			2: {CardID: 2, Mark: "ZZ11 TST", PromisedAt: at("12:00")},
			3: {CardID: 3, Mark: "ZZ12 TST"},
		},
	}
	for i, l := range lines {
		if l.ID == 0 {
			l.ID = jobcard.LineID(i + 1)
		}
		if l.CardID == 0 {
			l.CardID = 1
		}
		if l.Title == "" {
			l.Title = fmt.Sprintf("line %d", l.ID)
		}
		l.Position = i + 1
		s.Lines = append(s.Lines, l)
	}
	return s
}

func agreed() floor.Line {
	return floor.Line{Consent: jobcard.Agreed, WorkState: jobcard.Open, MustDo: true}
}

func with(change func(*floor.Line)) floor.Line {
	l := agreed()
	change(&l)
	return l
}

func ids(items []floor.Item) []jobcard.LineID {
	out := []jobcard.LineID{}
	for _, it := range items {
		out = append(out, it.ID)
	}
	return out
}

func TestTheNextLineIsChosenByWhatWeighsMost(t *testing.T) {
	plan := floor.Make(snapshot(
		/* 1 */ with(func(l *floor.Line) { l.MustDo = false }),
		/* 2 */ with(func(l *floor.Line) { l.CardID = 3 }), // no promise
		/* 3 */ agreed(), // 16:30
		/* 4 */ with(func(l *floor.Line) { l.CardID = 2 }), // 12:00
		/* 5 */ with(func(l *floor.Line) { l.CardID = 2; l.AssignedTo = other }),
		/* 6 */ with(func(l *floor.Line) { l.AssignedTo = me }),
		/* 7 */ with(func(l *floor.Line) { l.After = []jobcard.LineID{3} }),
		/* 8 */ with(func(l *floor.Line) { l.CardID = 3; l.Hands = []floor.Hand{{StaffID: me, Worked: time.Minute}} }),
		/* 9 */ with(func(l *floor.Line) { l.MustDo = false; l.Hands = []floor.Hand{{StaffID: me}} }),
		/* 10 */ with(func(l *floor.Line) {
			l.CardID = 2
			l.Parts = []floor.Part{{Name: "Housing", Supply: jobcard.Arrived, Verdict: jobcard.DoesNotFit, Held: true}}
		}),
	))
	want := []jobcard.LineID{8, 4, 6, 3, 2, 5, 9, 1, 10, 7}
	if got := ids(plan.Next); !slices.Equal(got, want) {
		t.Errorf("next are %v, want %v", got, want)
	}
}

func TestEveryListHoldsItsLines(t *testing.T) {
	on := func(who actor.StaffID) []floor.Hand {
		return []floor.Hand{{StaffID: who, Since: at("9:00"), Worked: time.Hour}}
	}
	plan := floor.Make(snapshot(
		/* 1 */ with(func(l *floor.Line) { l.WorkState = jobcard.InHand; l.Hands = on(me) }),
		/* 2 */ with(func(l *floor.Line) { l.WorkState = jobcard.InHand; l.Hands = on(other) }),
		/* 3 */ with(func(l *floor.Line) { l.WorkState = jobcard.Waiting }),
		/* 4 */ with(func(l *floor.Line) { l.Consent = jobcard.Asked }),
		/* 5 */ with(func(l *floor.Line) { l.WorkState = jobcard.Deferred }),
		/* 6 */ with(func(l *floor.Line) { l.WorkState = jobcard.Done; l.Safety = true; l.DoneBy = me }),
		/* 7 */ with(func(l *floor.Line) { l.WorkState = jobcard.Done; l.WheelsOff = true; l.DoneBy = other }),
		/* 8 */ with(func(l *floor.Line) { l.WorkState = jobcard.Done; l.Safety = true; l.Checked = true }),
		/* 9 */ with(func(l *floor.Line) { l.WorkState = jobcard.Done }),
		/* 10 */ with(func(l *floor.Line) { l.Consent = jobcard.Declined }),
		/* 11 */ agreed(),
	))
	for name, c := range map[string]struct{ got, want []jobcard.LineID }{
		"next": {ids(plan.Next), []jobcard.LineID{11}}, "in hand": {ids(plan.InHand), []jobcard.LineID{2}},
		"waiting": {ids(plan.Waiting), []jobcard.LineID{3}}, "not agreed": {ids(plan.NotAgreed), []jobcard.LineID{4}},
		"deferred": {ids(plan.Deferred), []jobcard.LineID{5}}, "to check": {ids(plan.ToCheck), []jobcard.LineID{6, 7}},
	} {
		if !slices.Equal(c.got, c.want) {
			t.Errorf("%s: %v, want %v", name, c.got, c.want)
		}
	}
	if plan.Mine == nil || plan.Mine.ID != 1 || !plan.MySince().Equal(at("9:00")) || plan.Forgotten {
		t.Errorf("mine is %+v", plan.Mine)
	}
	if !plan.ToCheck[0].OwnWork || plan.ToCheck[1].OwnWork {
		t.Error("one's own work is not told from others'")
	}
	if who := plan.Who(plan.InHand[0].Line); !slices.Equal(who, []string{"Bram since 09:00"}) {
		t.Errorf("%v", who)
	}
}

func TestTheReasonsAreInWords(t *testing.T) {
	part := func(p floor.Part) []floor.Part { return []floor.Part{p} }
	plan := floor.Make(snapshot(
		/* 1 */ with(func(l *floor.Line) { l.Title = "Timing belt"; l.AssignedTo = me; l.CardID = 2 }),
		/* 2 */ with(func(l *floor.Line) { l.Title = "Set the valves"; l.After = []jobcard.LineID{1}; l.CardID = 2 }),
		/* 3 */ with(func(l *floor.Line) {
			l.MustDo = false
			l.Parts = part(floor.Part{Name: "Kit", Supply: jobcard.Ordered, DueAt: at("14:30")})
		}),
		/* 4 */ with(func(l *floor.Line) {
			l.Parts = part(floor.Part{Name: "Seal", Supply: jobcard.Needed})
			l.Blocked = "blocked: ramp 2 is taken"
		}),
		/* 5 */ with(func(l *floor.Line) {
			l.Parts = part(floor.Part{Name: "Arm", Supply: jobcard.Ordered, DueAt: at("9:00")})
			l.AssignedTo = other
		}),
		/* 6 */ with(func(l *floor.Line) {
			l.CardID = 3
			l.Parts = part(floor.Part{Name: "Pads", Supply: jobcard.Arrived, Verdict: jobcard.Unchecked, Held: true})
			l.Hands = []floor.Hand{{StaffID: other, Worked: time.Hour}}
		}),
		/* 7 */ with(func(l *floor.Line) {
			l.Parts = []floor.Part{{Name: "Old one", Supply: jobcard.GoingBack, Verdict: jobcard.DoesNotFit}, {Name: "New one", Supply: jobcard.Fitted, Verdict: jobcard.Unchecked}}
			l.Hands = []floor.Hand{{StaffID: me, Worked: time.Hour}}
		}),
	))
	byID := map[jobcard.LineID]floor.Item{}
	for _, it := range plan.Next {
		byID[it.ID] = it
	}
	for _, c := range []struct {
		id                   jobcard.LineID
		why, hinders, lookAt string
		outOfTurn            bool
	}{
		{1, "must do; meant for you; promised 12:00; “Set the valves” waits for it", "", "", false},
		{2, "must do; promised 12:00", "comes after “Timing belt”", "", true},
		{3, "if there is time; promised 16:30", "Kit is ordered, due 14:30", "", false},
		{4, "must do; promised 16:30", "Seal is needed; blocked: ramp 2 is taken", "", false},
		{5, "must do; meant for Bram; promised 16:30", "Arm is ordered, was due 09:00", "", false},
		{6, "must do; Bram began it; no promise", "", "check that Pads fits before the old one comes off", false},
		{7, "must do; you began it; promised 16:30", "", "", false},
	} {
		it := byID[c.id]
		if got := strings.Join(it.Why, "; "); got != c.why {
			t.Errorf("line %d: because %q, want %q", c.id, got, c.why)
		}
		if got := strings.Join(it.Hindrances, "; "); got != c.hinders || it.OutOfTurn != c.outOfTurn {
			t.Errorf("line %d: hindered by %q (%v), want %q", c.id, got, it.OutOfTurn, c.hinders)
		}
		if got := strings.Join(it.Looks, "; "); got != c.lookAt {
			t.Errorf("line %d: look at %q, want %q", c.id, got, c.lookAt)
		}
	}
	late := snapshot(agreed())
	late.Now = at("16:31")
	if why := floor.Make(late).Next[0].Why; !slices.Contains(why, "promised 16:30, which has passed") {
		t.Errorf("%v", why)
	}
	late.Now = at("16:00").AddDate(0, 0, -1)
	if why := floor.Make(late).Next[0].Why; !slices.Contains(why, "promised Mon 5 Oct 16:30") {
		t.Errorf("%v", why)
	}
}

func TestCautionsAlreadyReadAreNotAskedForAgain(t *testing.T) {
	plan := floor.Make(snapshot(with(func(l *floor.Line) {
		l.Cautions = []caution.Key{caution.Brakes, caution.Lifting, caution.HighVoltage}
		l.Read = []caution.Key{caution.Brakes}
	})))
	if got := plan.Next[0].Unread; !slices.Equal(got, []caution.Key{caution.Lifting, caution.HighVoltage}) {
		t.Errorf("still to read: %v", got)
	}
}

func TestWorkGoingOnAfterClosingIsCalledForgotten(t *testing.T) {
	s := snapshot(with(func(l *floor.Line) { l.Hands = []floor.Hand{{StaffID: me, Since: at("9:00")}} }))
	s.Now = at("17:31")
	if !floor.Make(s).Forgotten {
		t.Error("it was not noticed")
	}
}

var anyLine = rapid.Custom(func(t *rapid.T) floor.Line {
	staff := rapid.SampledFrom([]actor.StaffID{0, me, other})
	l := floor.Line{
		CardID:     jobcard.CardID(rapid.IntRange(1, 3).Draw(t, "card")),
		MustDo:     rapid.Bool().Draw(t, "must do"),
		Consent:    rapid.SampledFrom([]jobcard.Consent{jobcard.Agreed, jobcard.Agreed, jobcard.Asked, jobcard.Declined}).Draw(t, "consent"),
		WorkState:  rapid.SampledFrom([]jobcard.WorkState{jobcard.Open, jobcard.Open, jobcard.Open, jobcard.Done, jobcard.Deferred, jobcard.Waiting}).Draw(t, "state"),
		AssignedTo: staff.Draw(t, "assigned"),
		Safety:     rapid.Bool().Draw(t, "safety"),
		Checked:    rapid.Bool().Draw(t, "checked"),
	}
	if who := staff.Draw(t, "hand"); who != 0 {
		h := floor.Hand{StaffID: who, Worked: time.Minute}
		if rapid.Bool().Draw(t, "on") && l.WorkState == jobcard.Open && l.Consent != jobcard.Declined {
			h.Since, l.WorkState = at("9:00"), jobcard.InHand
		}
		l.Hands = []floor.Hand{h}
	}
	if rapid.IntRange(0, 3).Draw(t, "part") == 0 {
		l.Parts = []floor.Part{{Name: "part", Supply: rapid.SampledFrom(jobcard.Supplies).Draw(t, "supply"),
			Verdict: rapid.SampledFrom(jobcard.Verdicts).Draw(t, "verdict")}}
	}
	return l
})

// anySnapshot draws a floor on which the technician is on at most one line.
func anySnapshot(t *rapid.T) floor.Snapshot {
	s := snapshot(rapid.SliceOfN(anyLine, 0, 12).Draw(t, "lines")...)
	mine := false
	for i := range s.Lines {
		l := &s.Lines[i]
		if on := l.On(); len(on) > 0 && on[0].StaffID == me {
			if mine {
				l.Hands[0].StaffID = other
			}
			mine = true
		}
		if i > 0 && rapid.IntRange(0, 3).Draw(t, "ordered") == 0 {
			l.After = []jobcard.LineID{s.Lines[rapid.IntRange(0, i-1).Draw(t, "after")].ID}
		}
	}
	return s
}

func TestEveryLineToDoStandsInOneListAndNothingElseDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySnapshot(t)
		p := floor.Make(s)
		seen := map[jobcard.LineID]int{}
		for _, list := range [][]floor.Item{p.Next, p.InHand, p.Waiting, p.ToCheck, p.NotAgreed, p.Deferred} {
			for _, it := range list {
				seen[it.ID]++
			}
		}
		if p.Mine != nil {
			seen[p.Mine.ID]++
		}
		for _, l := range s.Lines {
			want := 1
			if l.WorkState == jobcard.Done && (!l.Safety || l.Checked) || l.Consent == jobcard.Declined && l.WorkState != jobcard.Done && l.WorkState != jobcard.Deferred {
				want = 0
			}
			if seen[l.ID] != want {
				t.Fatalf("%+v stands in %d lists, want %d", l, seen[l.ID], want)
			}
		}
	})
}

func TestNothingIsOfferedBeforeWhatOutweighsIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := floor.Make(anySnapshot(t))
		begun := func(it floor.Item) bool { return len(it.Hands) > 0 && it.Hands[0].StaffID == me }
		for i := range p.Next {
			for _, after := range p.Next[i+1:] {
				before := p.Next[i]
				free, freeAfter := len(before.Hindrances) == 0, len(after.Hindrances) == 0
				switch {
				case !free && freeAfter:
					t.Fatalf("hindered %+v comes before %+v", before, after)
				case free != freeAfter:
				case !before.MustDo && after.MustDo:
					t.Fatalf("if-time %+v comes before must-do %+v", before, after)
				case before.MustDo != after.MustDo:
				case !begun(before) && begun(after):
					t.Fatalf("%+v comes before what was begun, %+v", before, after)
				case begun(before) != begun(after):
				case before.AssignedTo == other && after.AssignedTo != other:
					t.Fatalf("another's %+v comes before %+v", before, after)
				case before.AssignedTo == other || after.AssignedTo == other:
				case !after.Car.PromisedAt.IsZero() && (before.Car.PromisedAt.IsZero() || after.Car.PromisedAt.Before(before.Car.PromisedAt)):
					t.Fatalf("%+v comes before %+v, which is promised sooner", before, after)
				}
			}
			if it := p.Next[i]; it.Consent != jobcard.Agreed || it.OutOfTurn && len(it.Hindrances) == 0 || len(it.Why) == 0 {
				t.Fatalf("%+v", it)
			}
		}
	})
}

func TestTheSameFloorGivesTheSamePlanInWhateverOrderItIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySnapshot(t)
		for i := range s.Lines {
			s.Lines[i].After = nil // who waits for whom is named by the first of them read
		}
		a := floor.Make(s)
		shuffled := s
		shuffled.Lines = rapid.Permutation(s.Lines).Draw(t, "order")
		b := floor.Make(shuffled)
		a.Snapshot, b.Snapshot = floor.Snapshot{}, floor.Snapshot{}
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("%+v\n%+v", a, b)
		}
	})
}
