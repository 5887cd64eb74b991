package clocking_test

import (
	"errors"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/workday"
)

// morning gives Posy a clocking from 08:00 to 09:00 on the first line and one
// from 09:00 on, still open at 10:00, on the second.
func morning(t *testing.T) (*clocktest.Shop, clocking.Clocking, clocking.Clocking) {
	t.Helper()
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	a := s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	b := s.On(t, s.Posy, ls[1])
	s.Pass(time.Hour)
	ka, err := s.Clock.ByID(t.Context(), s.Posy, a.ClockingID)
	clocktest.Ok(t, err)
	kb, err := s.Clock.ByID(t.Context(), s.Posy, b.ClockingID)
	clocktest.Ok(t, err)
	return s, ka, kb
}

func at(clock string) time.Time { return clocktest.At(clocktest.Today, clock) }

func correction(k clocking.Clocking, from, to string) clocking.CorrectInput {
	in := clocking.CorrectInput{ClockingID: k.ID, Version: k.Version, From: at(from), Reason: "tapped too late"}
	if to != "" {
		in.To = at(to)
	}
	return in
}

func TestACorrectionKeepsWhatItWasAndWhy(t *testing.T) {
	s, k, _ := morning(t)
	got, err := s.Clock.Correct(t.Context(), s.Posy, correction(k, "7:50", "8:40"))
	if err != nil || !got.From.Equal(at("7:50")) || !got.To.Equal(at("8:40")) || got.Version != k.Version+1 {
		t.Fatalf("%+v, %v", got, err)
	}
	if now, err := s.Clock.ByID(t.Context(), s.Posy, k.ID); err != nil || now != got {
		t.Errorf("kept is %+v, given was %+v, %v", now, got, err)
	}
	d, err := s.Clock.OnDay(t.Context(), s.Posy, clocking.DayQuery{StaffID: s.Posy.StaffID})
	clocktest.Ok(t, err)
	want := clocking.Correction{
		ClockingID: k.ID, Was: workday.Span{From: at("8:00").UTC(), To: at("9:00").UTC()},
		Became: workday.Span{From: at("7:50").UTC(), To: at("8:40").UTC()}, Reason: "tapped too late", By: "Posy Thackeray", At: s.Now(),
	}
	x := d.Corrections[k.ID]
	if len(x) != 1 || !x[0].At.Equal(want.At) || !same(x[0].Was, want.Was) || !same(x[0].Became, want.Became) || x[0].Reason != want.Reason || x[0].By != want.By {
		t.Errorf("on record: %+v", x)
	}
	if n := s.Count(t, `select count(*) from event where kind = 'clocking corrected' and detail->>'reason' = 'tapped too late'`); n != 1 {
		t.Errorf("%d events", n)
	}
	_, err = s.DB.Pool.Exec(t.Context(), `update clocking_correction set reason = 'never mind'`)
	if err == nil {
		t.Error("the record of corrections could be changed")
	}
	if d.Worked(s.Posy.StaffID) != 50*time.Minute+time.Hour {
		t.Errorf("worked %v", d.Worked(s.Posy.StaffID))
	}
}

func same(a, b workday.Span) bool { return a.From.Equal(b.From) && a.To.Equal(b.To) }

func TestWhatIsWrongWithACorrectionIsSaidAtTheField(t *testing.T) {
	s, closed, open := morning(t)
	bare := correction(closed, "8:00", "8:30")
	bare.Reason = "  "
	noStart := correction(closed, "8:00", "8:30")
	noStart.From = time.Time{}
	long := correction(closed, "8:00", "9:00")
	long.From = long.To.Add(-24*time.Hour - time.Second)
	for _, c := range []struct {
		in           clocking.CorrectInput
		field, words string
	}{
		{bare, "reason", "the reason"},
		{noStart, "from", "when the work began"},
		{correction(closed, "8:00", "7:30"), "to", "must end after it began"},
		{correction(closed, "8:00", "8:00"), "to", "must end after it began"},
		{correction(closed, "8:00", "10:01"), "to", "still to come"},
		{correction(open, "10:01", "10:01"), "from", "still to come"},
		{correction(open, "10:01", ""), "from", "still to come"},
		{long, "to", "24 hours"},
		{correction(closed, "8:00", ""), "to", "when the work ended"},
		// What overlaps the database refuses.
		{correction(closed, "8:00", "9:30"), "to", "this overlaps the clocking on “Wipers” from 09:00 to now"},
		{correction(open, "8:30", ""), "from", "this overlaps the clocking on “Clutch” from 08:00 to 09:00"},
		{correction(open, "8:59", "9:30"), "from", "this overlaps the clocking on “Clutch”"},
	} {
		_, err := s.Clock.Correct(t.Context(), s.Posy, c.in)
		wantsField(t, err, c.field, c.words)
	}
	if n := s.Count(t, `select count(*) from clocking_correction`); n != 0 {
		t.Errorf("%d corrections on record", n)
	}
}

func TestACorrectionMadeFromAnOldVersionShowsHowItStands(t *testing.T) {
	s, k, _ := morning(t)
	now, err := s.Clock.Correct(t.Context(), s.Posy, correction(k, "8:10", "9:00"))
	clocktest.Ok(t, err)
	_, err = s.Clock.Correct(t.Context(), s.Owner, correction(k, "8:20", "9:00"))
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict {
		t.Fatal(err)
	}
	if cur, ok := e.Current.(clocking.Clocking); !ok || !cur.From.Equal(now.From) || cur.Version != now.Version {
		t.Errorf("it stands as %+v", e.Current)
	}
}

func TestOnesOwnClockingsMayBeCorrectedAndOthersOnlyWithTheRight(t *testing.T) {
	s, k, _ := morning(t)
	for _, who := range []actor.Actor{s.Bram, s.Desk} {
		_, err := s.Clock.Correct(t.Context(), who, correction(k, "8:10", "9:00"))
		wants(t, err, apperr.Forbidden, "Posy Thackeray's clocking")
	}
	if _, err := s.Clock.Correct(t.Context(), s.Owner, correction(k, "8:10", "9:00")); err != nil {
		t.Error(err)
	}
	_, err := s.Clock.ByID(t.Context(), s.Bram, k.ID)
	wants(t, err, apperr.Forbidden, "somebody else's")
	if _, err := s.Clock.ByID(t.Context(), s.Desk, k.ID); err != nil {
		t.Error(err)
	}
	_, err = s.Clock.OnDay(t.Context(), s.Bram, clocking.DayQuery{StaffID: s.Posy.StaffID})
	wants(t, err, apperr.Forbidden, "your own")
	_, err = s.Clock.OnDay(t.Context(), s.Bram, clocking.DayQuery{})
	wants(t, err, apperr.Forbidden, "your own")
	if d, err := s.Clock.OnDay(t.Context(), s.Desk, clocking.DayQuery{}); err != nil || len(d.Clockings) != 2 {
		t.Errorf("%+v, %v", d.Clockings, err)
	}
	_, err = s.Clock.Correct(t.Context(), s.Owner, clocking.CorrectInput{ClockingID: 9999, Version: 1, From: at("8:00"), To: at("9:00"), Reason: "x"})
	wants(t, err, apperr.NotFound, "no such clocking")
}

func TestAClockingThatNeverHappenedIsStruckOutAndStaysOnRecord(t *testing.T) {
	s, closed, open := morning(t)
	for _, k := range []clocking.Clocking{closed, open} {
		got, err := s.Clock.Correct(t.Context(), s.Posy, clocking.CorrectInput{ClockingID: k.ID, Version: k.Version, Void: true, Reason: "wrong line"})
		if err != nil || !got.Voided || got.Open() {
			t.Fatalf("%+v, %v", got, err)
		}
		_, err = s.Clock.Correct(t.Context(), s.Posy, clocking.CorrectInput{ClockingID: k.ID, Version: got.Version, Void: true, Reason: "again"})
		wants(t, err, apperr.Conflict, "struck out")
	}
	if n := s.Count(t, `select count(*) from line where work_state = 'in hand'`); n != 0 {
		t.Error("a line is in hand with nobody on it")
	}
	d, err := s.Clock.OnDay(t.Context(), s.Posy, clocking.DayQuery{StaffID: s.Posy.StaffID})
	if err != nil || len(d.Clockings) != 2 || d.Worked(s.Posy.StaffID) != 0 || len(d.Corrections) != 2 {
		t.Errorf("%+v, %v", d, err)
	}
	// Its time is free again.
	s.Set(at("10:00"))
	s.On(t, s.Posy, closed.LineID)
}

func TestAnOpenClockingMayBeginEarlierAndGoOn(t *testing.T) {
	s, _, open := morning(t)
	got, err := s.Clock.Correct(t.Context(), s.Posy, correction(open, "9:15", ""))
	if err != nil || !got.Open() || !got.From.Equal(at("9:15")) {
		t.Fatalf("%+v, %v", got, err)
	}
	if n := s.Count(t, `select count(*) from line where work_state = 'in hand' and id = $1`, open.LineID); n != 1 {
		t.Error("the line is not in hand any more")
	}
}
