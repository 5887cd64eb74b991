package diary_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/diary"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

func TestADayListsItsCarsInTheOrderTheyComeIn(t *testing.T) {
	r := open(t)
	any := r.booked(r.Garage.Day, 0, 0, cardtest.Op(r.Service))
	late := r.booked(r.Garage.Day, clock(11, 0), clock(16, 40), cardtest.Op(r.Service))
	early := r.booked(r.Garage.Day, clock(8, 30), clock(17, 0), cardtest.Op(r.Service), cardtest.Op(r.Check))
	other := r.booked(r.Garage.Day.AddDays(1), clock(8, 30), 0, cardtest.Op(r.Service))
	gone := r.booked(r.Garage.Day, clock(9, 0), 0, cardtest.Op(r.Service))
	r.stage(gone.ID, jobcard.Cancelled)

	d := r.day(r.Desk, r.Garage.Day)
	var ids []jobcard.CardID
	for _, b := range d.Bookings {
		ids = append(ids, b.Card)
	}
	if !slices.Equal(ids, []jobcard.CardID{early.ID, late.ID, any.ID}) {
		t.Errorf("cards %v, want %v: neither the other day's %d nor the cancelled %d", ids, []jobcard.CardID{early.ID, late.ID, any.ID}, other.ID, gone.ID)
	}
	b := r.find(d, early.ID)
	if b.Mark != "BD51 SMR" || b.Car != "Brisling Tern" || b.Customer != "Odette Marlowe" || b.Phone != "01632 960123" ||
		b.Stage != jobcard.Booked || b.Lines != 2 || b.Done != 0 || b.Hours != 126*time.Minute || b.Left != 126*time.Minute {
		t.Errorf("the booking reads %+v", b)
	}
	if got := r.day(r.Desk, r.Garage.Day.AddDays(1)); len(got.Bookings) != 1 || got.Bookings[0].Card != other.ID {
		t.Errorf("the next day has %+v", got.Bookings)
	}
}

func TestATechnicianReadsTheDiaryWithoutTelephones(t *testing.T) {
	r := open(t)
	s := r.booked(r.Garage.Day, clock(8, 30), 0, cardtest.Op(r.Service))
	if b := r.find(r.day(r.Posy, r.Garage.Day), s.ID); b.Phone != "" || b.Customer == "" {
		t.Errorf("a technician sees %q of %q", b.Phone, b.Customer)
	}
	if b := r.find(r.day(r.Desk, r.Garage.Day), s.ID); b.Phone == "" {
		t.Error("the desk sees no telephone")
	}
	if _, err := r.diary.Day(t.Context(), actor.Actor{}, r.Garage.Day); !apperr.Is(err, apperr.Unsigned) {
		t.Errorf("nobody reads the diary: %v", err)
	}
}

func TestTheContactsTelephoneComesBeforeTheCustomers(t *testing.T) {
	r := open(t)
	done, err := r.Cards.Book(t.Context(), r.Desk, jobcard.Booking{
		VehicleID: r.Car, Lines: []jobcard.NewLine{cardtest.Op(r.Service)},
		Visit: jobcard.Visit{BookedFor: r.Garage.Day, ContactName: "Perrin Marlowe", ContactPhone: "07700 900321"},
	})
	r.OK(err)
	if b := r.find(r.today(), done.CardID); b.Phone != "07700 900321" {
		t.Errorf("phone %q", b.Phone)
	}
}

func TestACarStillHereFromAnEarlierDayIsOnToday(t *testing.T) {
	r := open(t)
	monday := r.Garage.Day
	over := r.Book(cardtest.Op(r.Service), cardtest.Op(r.Check))
	missed := r.booked(monday, clock(10, 0), 0, cardtest.Op(r.Service))
	r.GoAhead(over.Lines[0].ID)
	r.work(r.Posy, over.Lines[0], clock(10, 0), clock(11, 0))

	r.Garage.Day = monday.AddDays(1)
	r.at(clock(9, 0))
	today := r.today()
	if len(today.Over) != 1 || len(today.Missed) != 1 || len(today.Bookings) != 0 {
		t.Fatalf("today has %d carried over, %d missed, %d booked", len(today.Over), len(today.Missed), len(today.Bookings))
	}
	// 1.6 h and 0.5 h were likely, and an hour of them was worked on Monday.
	if b := r.find(today, over.ID); b.Hours != 66*time.Minute || b.Left != 66*time.Minute {
		t.Errorf("of the card %v is to do today and %v left", b.Hours, b.Left)
	}
	if b := r.find(today, missed.ID); b.Waits[0].Words != "the car: it did not come on Mon 5 Oct" || !b.Waits[0].Late {
		t.Errorf("the car that never came waits for %+v", b.Waits)
	}
	if today.Room.Booked != 66*time.Minute {
		t.Errorf("%v are booked today: what never came takes no hours", today.Room.Booked)
	}
	// What is worked today is off what is left, not off what the day was booked with.
	r.work(r.Posy, over.Lines[0], clock(9, 0), clock(9, 30))
	if b := r.find(r.today(), over.ID); b.Hours != 66*time.Minute || b.Left != 36*time.Minute {
		t.Errorf("after half an hour: %v of the day, %v left", b.Hours, b.Left)
	}
	r.tick(r.Posy, over.Lines[0])
	if b := r.find(r.today(), over.ID); b.Hours != 66*time.Minute || b.Left != 30*time.Minute || b.Done != 1 || b.Lines != 2 {
		t.Errorf("after the tick: %v of the day, %v left, %d of %d", b.Hours, b.Left, b.Done, b.Lines)
	}
	// On Monday itself nothing is carried over, and the whole list counts.
	if d := r.day(r.Desk, monday); len(d.Over) != 0 || len(d.Missed) != 0 || r.find(d, over.ID).Hours != 126*time.Minute {
		t.Errorf("Monday reads %+v", d)
	}
}

func TestLinesThatWillNotBeDoneTakeNoHours(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service), cardtest.Op(r.Check), cardtest.Free("Wax the sills", time.Hour), cardtest.Free("Bulb", 12*time.Minute))
	_, err := r.Cards.Answer(t.Context(), r.Desk, jobcard.ConsentInput{
		CardID: s.ID, Lines: []jobcard.LineID{s.Lines[2].ID}, Answer: jobcard.Declined, SaidBy: "Odette Marlowe", How: "by phone",
	})
	r.OK(err)
	_, err = r.Cards.StrikeLine(t.Context(), r.Desk, jobcard.StrikeInput{LineID: s.Lines[3].ID, Version: s.Lines[3].Version, Reason: "it works"})
	r.OK(err)
	_, err = r.Cards.EditVisit(t.Context(), r.Desk, jobcard.EditVisitInput{CardID: s.ID, Version: r.Sheet(s.ID).Version, Visit: jobcard.Visit{BookedFor: r.Garage.Day}})
	r.OK(err)
	b := r.find(r.today(), s.ID)
	if b.Lines != 2 || b.Hours != 126*time.Minute {
		t.Errorf("%d lines of %v", b.Lines, b.Hours)
	}
	var sum time.Duration
	for _, h := range b.Shares {
		sum += h.Takes
	}
	if sum != b.Hours {
		t.Errorf("the lines add up to %v and not to %v", sum, b.Hours)
	}
}

func TestAWeekIsSevenDaysFromMonday(t *testing.T) {
	r := open(t)
	r.booked(r.Garage.Day.AddDays(6), clock(9, 0), 0, cardtest.Op(r.Service))
	over := r.Book(cardtest.Op(r.Service))
	r.Garage.Day = r.Garage.Day.AddDays(2)
	r.at(clock(9, 0))
	w, err := r.diary.Week(t.Context(), r.Desk, workday.Day{})
	r.OK(err)
	if len(w.Days) != 7 || w.Days[0].Day != workday.Must(2026, time.October, 5) || w.Today != w.Days[2].Day {
		t.Fatalf("the week has %d days from %s", len(w.Days), w.Days[0].Day)
	}
	if len(w.Days[6].Bookings) != 1 || w.Days[6].Works || !w.Days[0].Works {
		t.Errorf("Sunday reads %+v", w.Days[6])
	}
	if len(w.Days[2].Over) != 1 || w.Days[2].Over[0].Card != over.ID || len(w.Days[0].Bookings) != 1 {
		t.Errorf("what is carried over stands on %+v", w.Days)
	}
	next, err := r.diary.Week(t.Context(), r.Desk, r.Garage.Day.AddDays(7))
	r.OK(err)
	if next.Days[0].Day != workday.Must(2026, time.October, 12) || len(next.Days[2].Over) != 0 {
		t.Errorf("the next week reads %+v", next.Days)
	}
}

// counting counts round trips.
type counting struct {
	pg.Querier
	trips int
}

func (c *counting) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	c.trips++
	return c.Querier.Query(ctx, sql, args...)
}

func (c *counting) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	c.trips++
	return c.Querier.QueryRow(ctx, sql, args...)
}

func (c *counting) SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults {
	c.trips++
	return c.Querier.SendBatch(ctx, b)
}

func TestTheDiaryIsOneRoundTrip(t *testing.T) {
	r := open(t)
	r.Book(cardtest.Op(r.Service))
	for _, d := range []workday.Day{{}, r.Garage.Day} {
		q := &counting{Querier: r.DB.Pool}
		got, err := diary.Load(t.Context(), q, d, func(d workday.Day) (from, to workday.Day) { return d, d }, r.Clock)
		r.OK(err)
		if q.trips != 1 || len(got.Days) != 1 || len(got.Days[0].Bookings) != 1 {
			t.Errorf("%d round trips for %+v", q.trips, got.Days)
		}
	}
}
