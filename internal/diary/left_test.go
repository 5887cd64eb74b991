package diary_test

import (
	"testing"
	"time"

	"rampside/internal/clocking"
	"rampside/internal/diary"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/workday"
)

func TestALineDoneOnAnEarlierDayTakesNothingOfToday(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Exhaust", 3*time.Hour), cardtest.Free("Bulb", 30*time.Minute))
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.work(r.Posy, s.Lines[0], clock(10, 0), clock(11, 0)) // quicker than was likely
	r.tick(r.Posy, s.Lines[0])
	if b := r.find(r.today(), s.ID); b.Hours != 210*time.Minute || b.Left != 30*time.Minute {
		t.Errorf("on its day the card takes %v, %v left", b.Hours, b.Left)
	}
	r.Garage.Day = r.Garage.Day.AddDays(1)
	r.at(clock(9, 0))
	if b := r.find(r.today(), s.ID); b.Hours != 30*time.Minute || b.Left != 30*time.Minute || b.Done != 1 || b.Lines != 2 {
		t.Errorf("the day after it takes %v, %v left, %d of %d", b.Hours, b.Left, b.Done, b.Lines)
	}
}

func TestWhatIsPutOffIsNotWaitedFor(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Exhaust", time.Hour), cardtest.Free("Sills", time.Hour), cardtest.Free("Horn", time.Hour))
	for i := range 3 {
		r.part(s, i, jobcard.PartTerms{Name: "part", Supply: jobcard.Ordered})
	}
	_, err := r.Cards.Answer(t.Context(), r.Desk, jobcard.ConsentInput{
		CardID: s.ID, Lines: []jobcard.LineID{s.Lines[0].ID}, Answer: jobcard.Agreed, SaidBy: "Odette Marlowe", How: "by phone",
	})
	r.OK(err)
	r.waits(s.ID, "the customer's answer to 2 lines", "part, ordered, no day given", "part, ordered, no day given", "part, ordered, no day given")
	_, err = r.clocks.Defer(t.Context(), r.Posy, clocking.DeferInput{LineID: s.Lines[1].ID, Reason: "too wet"})
	r.OK(err)
	r.GoAhead(s.Lines[2].ID)
	r.tick(r.Posy, s.Lines[2])
	r.waits(s.ID, "the customer's answer to 1 line", "part, ordered, no day given")
	r.tick(r.Posy, s.Lines[0])
	r.waits(s.ID, "the customer's answer to 1 line")
}

func TestACheckOfALineThatWasOpenedAgainIsWaitedForAnew(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Brakes))
	r.Agree(s.ID)
	check := func() {
		_, err := r.Cards.SecondCheck(t.Context(), r.Bram, jobcard.CheckInput{LineID: s.Lines[0].ID, TorqueNm: 110})
		r.OK(err)
	}
	r.tick(r.Posy, s.Lines[0])
	check()
	r.waits(s.ID, "somebody to say that it is ready")
	_, err := r.clocks.Reopen(t.Context(), r.Posy, clocking.ReasonInput{LineID: s.Lines[0].ID, Reason: "it squeals"})
	r.OK(err)
	r.tick(r.Posy, s.Lines[0])
	r.waits(s.ID, "a second person's check of “Front brake pads”")
}

func TestAClockingThatWasStruckOutIsNoWork(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Exhaust", time.Hour))
	r.Agree(s.ID)
	r.at(clock(9, 0))
	on, err := r.clocks.ClockOn(t.Context(), r.Posy, clocking.OnInput{LineID: s.Lines[0].ID})
	r.OK(err)
	r.at(clock(9, 30))
	_, err = r.clocks.ClockOff(t.Context(), r.Posy, clocking.OffInput{})
	r.OK(err)
	if b := r.find(r.today(), s.ID); b.Left != 30*time.Minute {
		t.Errorf("%v are left after half an hour", b.Left)
	}
	k, err := r.clocks.ByID(t.Context(), r.Posy, on.ClockingID)
	r.OK(err)
	_, err = r.clocks.Correct(t.Context(), r.Posy, clocking.CorrectInput{ClockingID: k.ID, Version: k.Version, Void: true, Reason: "the wrong card"})
	r.OK(err)
	if b := r.find(r.today(), s.ID); b.Left != time.Hour || b.Waits[0].For != diary.ForNothing {
		t.Errorf("%v are left, and it waits for %+v", b.Left, b.Waits)
	}
}

// At five in the morning in UTC it is still the evening before on Samoa.
func TestTodayMayBeTheDayBeforeThatOfUTC(t *testing.T) {
	r := open(t)
	set, err := garage.Load(t.Context(), r.DB.Pool)
	r.OK(err)
	set.ZoneName = "Pacific/Pago_Pago"
	_, err = r.Settings.SaveSettings(t.Context(), r.Owner, set)
	r.OK(err)
	sunday := r.Garage.Day.AddDays(-1)
	s := r.booked(sunday, 0, 0, cardtest.Op(r.Service))
	r.Clock = time.Date(2026, 10, 5, 5, 0, 0, 0, time.UTC)
	r.stage(s.ID, jobcard.OnSite)
	r.Agree(s.ID)
	r.tick(r.Posy, s.Lines[0])
	r.stage(s.ID, jobcard.Ready)
	r.stage(s.ID, jobcard.Collected)
	got, err := r.diary.Day(t.Context(), r.Desk, workday.Day{})
	r.OK(err)
	if got.Today != sunday || len(got.Days[0].Bookings) != 1 || got.Days[0].Bookings[0].Card != s.ID {
		t.Errorf("it is %s, with %+v", got.Today, got.Days[0].Bookings)
	}
}
