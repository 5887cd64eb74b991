package clocking_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// wants checks that err is of a kind and says some words.
func wants(t *testing.T, err error, kind apperr.Kind, words string) {
	t.Helper()
	if !apperr.Is(err, kind) || !strings.Contains(err.Error(), words) {
		t.Errorf("got %v, want kind %d saying %q", err, kind, words)
	}
}

// wantsField checks that err is Invalid with a message at the field.
func wantsField(t *testing.T, err error, field, words string) {
	t.Helper()
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid || !strings.Contains(e.Fields[field], words) || e.Fields[field] == "" {
		t.Errorf("got %v, want %q at %s", err, words, field)
	}
}

func TestClockingOnLeavesTheFormerLine(t *testing.T) {
	s := clocktest.Open(t)
	c1, a := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	c2, b := s.Car(t, s.Line("Oil change"))

	first := s.On(t, s.Posy, a[0])
	if first.CardID != c1 || first.LineID != a[0] || first.Left != 0 {
		t.Errorf("%+v", first)
	}
	sh := s.Sheet(t, c1)
	if l, _ := sh.Line(a[0]); l.WorkState != jobcard.InHand || sh.Stage != jobcard.InWork {
		t.Errorf("the line is %s and the card %s", l.WorkState, sh.Stage)
	}
	if !slices.Equal(sh.Clocked[a[0]].On, []actor.StaffID{s.Posy.StaffID}) {
		t.Errorf("on it are %v", sh.Clocked[a[0]].On)
	}

	s.Pass(45 * time.Minute)
	if on := s.On(t, s.Posy, b[0]); on.Left != a[0] || on.CardID != c2 {
		t.Errorf("%+v", on)
	}
	sh = s.Sheet(t, c1)
	if l, _ := sh.Line(a[0]); l.WorkState != jobcard.Open {
		t.Errorf("the line that was left is %s", l.WorkState)
	}
	if got := sh.Clocked[a[0]]; got.Worked != 45*time.Minute || len(got.On) != 0 {
		t.Errorf("%+v", got)
	}

	s.Pass(30 * time.Minute)
	off, err := s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{})
	if err != nil || off.LineID != b[0] {
		t.Errorf("%+v, %v", off, err)
	}
	if off, err := s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{}); err != nil || off != (clocking.Off{}) {
		t.Errorf("clocking off twice gives %+v, %v", off, err)
	}
	if _, on, err := s.Clock.Current(t.Context(), s.Posy); on || err != nil {
		t.Errorf("still on: %v, %v", on, err)
	}
}

func TestALineGoesOnWhileSomebodyElseIsOnIt(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	s.On(t, s.Bram, ls[0])
	s.Pass(time.Hour)
	if _, err := s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{}); err != nil {
		t.Fatal(err)
	}
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.InHand {
		t.Errorf("with Bram still on it the line is %s", l.WorkState)
	}
	s.Pass(time.Hour)
	done, err := s.Clock.Tick(t.Context(), s.Bram, clocking.LineInput{LineID: ls[0]})
	if err != nil || !slices.Equal(done.Off, []actor.StaffID{s.Bram.StaffID}) {
		t.Errorf("%+v, %v", done, err)
	}
	sh := s.Sheet(t, card)
	if l, _ := sh.Line(ls[0]); l.WorkState != jobcard.Done || l.DoneBy != s.Bram.StaffID {
		t.Errorf("the line is %s by %d", l.WorkState, l.DoneBy)
	}
	if sh.Clocked[ls[0]].Worked != 3*time.Hour {
		t.Errorf("an hour and two hours make %v", sh.Clocked[ls[0]].Worked)
	}
}

func TestTappingTheLineOneIsOnChangesNothing(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	first := s.On(t, s.Posy, ls[0])
	s.Pass(time.Minute)
	if again := s.On(t, s.Posy, ls[0]); again.ClockingID != first.ClockingID {
		t.Errorf("%+v after %+v", again, first)
	}
	if n := s.Count(t, `select count(*) from event where kind = 'clocked on'`); n != 1 {
		t.Errorf("%d events", n)
	}
}

func TestClockingOnPutsSomebodyInAndGoingHomeEndsBoth(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	if n := s.Count(t, `select count(*) from attendance where upper_inf(during) and staff_id = $1`, s.Posy.StaffID); n != 1 {
		t.Errorf("%d attendances", n)
	}
	s.Pass(2 * time.Hour)
	if _, err := s.Clock.GoHome(t.Context(), s.Posy, clocking.OffInput{}); err != nil {
		t.Fatal(err)
	}
	if n := s.Count(t, `select count(*) from attendance where upper_inf(during)`); n != 0 {
		t.Error("they are still in")
	}
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.Open {
		t.Errorf("the line is %s", l.WorkState)
	}
	_, err := s.Clock.GoHome(t.Context(), s.Posy, clocking.OffInput{})
	wants(t, err, apperr.Conflict, "not signed in to work")
}

func TestWhatCannotBeWorkedOnIsRefusedInWords(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Done already"), s.Line("Put off"), s.Line("Struck"), s.Line("Left"))
	_, ahead := s.Book(t, jobcard.Booking{Lines: []jobcard.NewLine{s.Line("Not here yet")}}, true)
	_, asked := s.Book(t, jobcard.Booking{Lines: []jobcard.NewLine{s.Line("Not agreed yet")}, Here: true}, false)
	no, declined := s.Book(t, jobcard.Booking{Lines: []jobcard.NewLine{s.Line("Refused")}, Here: true}, false)
	_, err := s.Cards.Answer(t.Context(), s.Desk, jobcard.ConsentInput{CardID: no, Answer: jobcard.Declined, SaidBy: "Ottoline Reave", How: "by phone"})
	clocktest.Ok(t, err)
	_, err = s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[0]})
	clocktest.Ok(t, err)
	_, err = s.Clock.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: ls[1], Reason: "no time"})
	clocktest.Ok(t, err)
	_, err = s.Cards.StrikeLine(t.Context(), s.Desk, jobcard.StrikeInput{LineID: ls[2], Version: s.LineOf(t, card, ls[2]).Version, Reason: "entered twice"})
	clocktest.Ok(t, err)

	for _, c := range []struct {
		line  jobcard.LineID
		kind  apperr.Kind
		words string
	}{
		{ls[0], apperr.Conflict, "a line that is done cannot become in hand"},
		{ls[1], apperr.Conflict, "a line that is deferred"},
		{ls[2], apperr.Conflict, "struck out"},
		{ahead[0], apperr.Conflict, "the car is not here"},
		{declined[0], apperr.Conflict, "the customer declined this line"},
		{999_999, apperr.NotFound, "there is no such line"},
		{-1, apperr.NotFound, "there is no such line"},
	} {
		_, err := s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: c.line})
		wants(t, err, c.kind, c.words)
	}
	// What the customer has not been asked yet waits for them, or for a reason.
	_, err = s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: asked[0]})
	wants(t, err, apperr.Conflict, "the customer has not said yes")
	if n, ok := jobcard.NotAgreedOf(err); !ok || n.LineID != asked[0] || n.Again {
		t.Errorf("the error tells of %+v", n)
	}
	_, err = s.Cards.GoAhead(t.Context(), s.Desk, jobcard.AheadInput{LineID: asked[0], Reason: "it is on the ramp, and they are on a ship"})
	clocktest.Ok(t, err)
	s.On(t, s.Posy, asked[0])
	if n := s.Count(t, `select count(*) from clocking`); n != 1 {
		t.Errorf("%d clockings: a refused one left something behind", n)
	}
}

func TestALineComesAfterTheOneItMustFollow(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Timing belt"), s.Line("Set the valves"), s.Line("Road test"))
	for _, o := range []jobcard.OrderInput{{LineID: ls[1], After: ls[0]}, {LineID: ls[2], After: ls[1]}} {
		_, err := s.Cards.SetOrder(t.Context(), s.Desk, o)
		clocktest.Ok(t, err)
	}
	_, err := s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[1]})
	wants(t, err, apperr.Conflict, "“Set the valves” comes after “Timing belt”, which is not finished")
	_, err = s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[0]})
	clocktest.Ok(t, err)
	s.On(t, s.Posy, ls[1])
	// A line put off holds nobody up: it is not done at this visit.
	_, err = s.Clock.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: ls[1], Reason: "tool broken"})
	clocktest.Ok(t, err)
	s.On(t, s.Posy, ls[2])
}

func TestCautionsAreReadByEachPersonBeforeTheFirstClocking(t *testing.T) {
	s := clocktest.Open(t)
	brakes := s.Line("Front pads")
	brakes.Cautions = []caution.Key{caution.Brakes, caution.Lifting}
	card, ls := s.Book(t, jobcard.Booking{
		Here: true, Lines: []jobcard.NewLine{brakes},
		Facts: []vehicle.FactInput{{Key: "fuel", Value: "petrol hybrid", Source: vehicle.FromLogbook}},
	}, true)
	all := []caution.Key{caution.Lifting, caution.Brakes, caution.HighVoltage}

	_, err := s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[0]})
	wants(t, err, apperr.Conflict, "read the cautions of “Front pads” first")
	u, ok := clocking.UnreadOf(err)
	if !ok || !slices.Equal(u.Cautions, all) || u.LineID != ls[0] || u.CardID != card || u.Title != "Front pads" {
		t.Errorf("still to be read: %+v, %v", u, ok)
	}
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.Open {
		t.Errorf("refused, the line is %s", l.WorkState)
	}

	// Half of them is not enough, and is not kept when the rest refuses.
	_, err = s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[0], Read: all[:2]})
	if u, ok := clocking.UnreadOf(err); !ok || !slices.Equal(u.Cautions, all[2:]) {
		t.Errorf("still to be read: %+v, %v", u, ok)
	}
	if _, err := s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[0], Read: all}); err != nil {
		t.Fatal(err)
	}
	if n := s.Count(t, `select count(*) from event where kind = 'cautions read' and staff_id = $1`, s.Posy.StaffID); n != 1 {
		t.Errorf("%d events", n)
	}

	// Read once is enough for the same person, not for another.
	s.Pass(time.Hour)
	_, err = s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{})
	clocktest.Ok(t, err)
	s.On(t, s.Posy, ls[0])
	_, err = s.Clock.ClockOn(t.Context(), s.Bram, clocking.OnInput{LineID: ls[0]})
	if _, ok := clocking.UnreadOf(err); !ok {
		t.Errorf("Bram was let on: %v", err)
	}
	// In two steps, and in parts.
	for _, some := range [][]caution.Key{all[:1], all[1:]} {
		_, err = s.Clock.ReadCautions(t.Context(), s.Bram, clocking.ReadInput{LineID: ls[0], Cautions: some})
		clocktest.Ok(t, err)
	}
	got, err := s.Clock.Cautions(t.Context(), s.Bram, ls[0])
	if err != nil || len(got.Unread()) != 0 || !slices.Equal(got.All, all) {
		t.Errorf("%+v, %v", got, err)
	}
	s.On(t, s.Bram, ls[0])
}

func TestANewFactOfTheCarAsksForItsCautionToo(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Tail lamp"))
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	_, err := s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{})
	clocktest.Ok(t, err)
	_, err = s.DB.Pool.Exec(t.Context(), `insert into vehicle_fact (vehicle_id, key, value, source, noted_at)
		select vehicle_id, 'fuel', 'electric', 'car', $2 from card where id = $1`, card, s.Now())
	clocktest.Ok(t, err)
	_, err = s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[0]})
	if u, ok := clocking.UnreadOf(err); !ok || !slices.Equal(u.Cautions, []caution.Key{caution.HighVoltage}) {
		t.Errorf("%+v, %v, %v", u, ok, err)
	}
}

func TestOnlyRealCautionsCanBeRead(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	_, err := s.Clock.ReadCautions(t.Context(), s.Posy, clocking.ReadInput{LineID: ls[0]})
	wantsField(t, err, "caution", "which cautions")
	_, err = s.Clock.ReadCautions(t.Context(), s.Posy, clocking.ReadInput{LineID: ls[0], Cautions: []caution.Key{"<script>"}})
	wantsField(t, err, "caution", "from the list")
	_, err = s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[0], Read: []caution.Key{"\x00"}})
	wantsField(t, err, "caution", "from the list")
}

func TestOnlySomebodyOnTheStaffIsClockedOn(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	in := clocking.OnInput{LineID: ls[0]}
	_, err := s.Clock.ClockOn(t.Context(), actor.Actor{}, in)
	wants(t, err, apperr.Unsigned, "sign in")
	_, err = s.Clock.ClockOn(t.Context(), actor.Command("test"), in)
	wants(t, err, apperr.Forbidden, "on the staff")
	gone := s.Hire(t, "Gone Away", actor.Technician)
	_, err = s.DB.Pool.Exec(t.Context(), `update staff set active = false where id = $1`, gone.StaffID)
	clocktest.Ok(t, err)
	_, err = s.Clock.ClockOn(t.Context(), gone, in)
	wants(t, err, apperr.NotFound, "person on the staff")
}

func TestTheCostOfAnHourIsFrozenWhenTheClockingBegins(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	_, err := s.DB.Pool.Exec(t.Context(), `update staff set cost_rate_minor = 2500 where id = $1`, s.Posy.StaffID)
	clocktest.Ok(t, err)
	if n := s.Count(t, `select cost_rate_minor from clocking`); n != 1800 {
		t.Errorf("an hour costs %d", n)
	}
}
