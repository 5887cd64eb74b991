// Package clocktest is a garage with its people and a clock that tests set,
// for the tests of clocking and of what is built on it.
package clocktest

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg/pgtest"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// Zone is London, whose clocks went forward at 01:00 on 29 March 2026 and back
// at 02:00 on 25 October 2026 (the last Sundays of those months: Summer Time
// Order 2002, and the IANA time zone database).
const Zone = "Europe/London"

// Today is the Monday on which the tests' clock starts, at 08:00.
var Today = workday.Must(2026, time.October, 5)

// Shop is a garage that works every day from 08:30 to 17:30.
type Shop struct {
	DB     *change.DB
	Garage *garage.Service
	Cards  *jobcard.Service
	Clock  *clocking.Service

	Owner, Desk actor.Actor
	Posy, Bram  actor.Actor // technicians
	Labour      garage.LabourTypeID

	now   atomic.Int64 // UnixMicro
	marks atomic.Int64
}

// Open makes a shop on a database of its own.
func Open(t testing.TB) *Shop {
	t.Helper()
	s := &Shop{}
	s.Set(At(Today, "8:00"))
	s.DB = &change.DB{Pool: pgtest.New(t), Now: s.Now, Follow: fitment.Follow}
	s.Garage, s.Cards, s.Clock = garage.New(s.DB), jobcard.New(s.DB), clocking.New(s.DB)
	s.Owner = s.Hire(t, "Wren Calloway", actor.Owner)
	s.Desk = s.Hire(t, "Ines Marlow", actor.Desk)
	s.Posy = s.Hire(t, "Posy Thackeray", actor.Technician)
	s.Bram = s.Hire(t, "Bram Oakes", actor.Technician)
	_, err := s.Garage.SaveSettings(t.Context(), s.Owner, garage.Settings{
		Name: "Saltmarsh Lane Garage", ZoneName: Zone, Currency: "GBP", Opens: Clock("8:30"), Closes: Clock("17:30"),
		WorkDays: []time.Weekday{1, 2, 3, 4, 5, 6, 0}, StandardCostRate: 1800, DefaultMarkupBP: 3000, VATRounding: money.PerDocument,
	})
	Ok(t, err)
	labour, err := s.Garage.SaveLabourType(t.Context(), s.Owner, garage.LabourTypeInput{Name: "Mechanical", Rate: 6600, Active: true})
	Ok(t, err)
	s.Labour = labour.ID
	return s
}

// Now is the shop's clock.
func (s *Shop) Now() time.Time { return time.UnixMicro(s.now.Load()).UTC() }

// Set puts the shop's clock to a moment.
func (s *Shop) Set(t time.Time) { s.now.Store(t.UnixMicro()) }

// Pass lets time pass.
func (s *Shop) Pass(d time.Duration) { s.now.Add(d.Microseconds()) }

// Hire adds somebody to the staff, at £18.00 an hour.
func (s *Shop) Hire(t testing.TB, name string, role actor.Role) actor.Actor {
	t.Helper()
	who := actor.Actor{Name: name, Role: role, Via: actor.ViaPage, Device: "the test"}
	Ok(t, s.DB.Pool.QueryRow(t.Context(), `insert into staff (name, role, cost_rate_minor, created_at) values ($1, $2, 1800, $3) returning id`,
		name, role, s.Now()).Scan(&who.StaffID))
	return who
}

// Line is a line of a usual kind: an hour, to be done.
func (s *Shop) Line(title string) jobcard.NewLine {
	return jobcard.NewLine{LineTerms: jobcard.LineTerms{
		Title: title, MustDo: true, LabourType: s.Labour,
		Estimate: hours.Estimate{Low: 30 * time.Minute, Likely: time.Hour, High: 2 * time.Hour},
	}}
}

// Car brings a car in, on site, with lines that the customer agreed to. It
// gives the card and its lines in order.
func (s *Shop) Car(t testing.TB, lines ...jobcard.NewLine) (jobcard.CardID, []jobcard.LineID) {
	t.Helper()
	return s.Book(t, jobcard.Booking{Lines: lines, Here: true, Visit: jobcard.Visit{PromisedAt: At(Today, "16:30")}}, true)
}

// Book takes a new car in for today; agreed tells whether the customer has
// said yes to everything.
func (s *Shop) Book(t testing.TB, b jobcard.Booking, agreed bool) (jobcard.CardID, []jobcard.LineID) {
	t.Helper()
	n := s.marks.Add(1)
	b.NewVehicle = &vehicle.Input{Mark: fmt.Sprintf("ZZ%02d TST", n%90+10), Make: "Corvane", Model: "Alder", Colour: "blue"}
	b.NewCustomer = &customer.Input{Name: "Ottoline Reave", Phone: "01632 960123"}
	if b.BookedFor.IsZero() {
		b.BookedFor = Today
	}
	c, err := s.Cards.Book(t.Context(), s.Desk, b)
	Ok(t, err)
	if agreed {
		s.Agree(t, c.CardID)
	}
	sh := s.Sheet(t, c.CardID)
	ids := make([]jobcard.LineID, len(sh.Lines))
	for i, l := range sh.Lines {
		ids[i] = l.ID
	}
	return c.CardID, ids
}

// Agree records the customer's yes to all that is asked.
func (s *Shop) Agree(t testing.TB, card jobcard.CardID) {
	t.Helper()
	_, err := s.Cards.Answer(t.Context(), s.Desk, jobcard.ConsentInput{
		CardID: card, Answer: jobcard.Agreed, SaidBy: "Ottoline Reave", How: "by phone",
	})
	Ok(t, err)
}

// Part puts a part on a line of a card. A line that was agreed to without it
// is to be asked again.
func (s *Shop) Part(t testing.TB, card jobcard.CardID, line jobcard.LineID, name string, supply jobcard.Supply) jobcard.PartID {
	t.Helper()
	c, err := s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{CardID: card, PartTerms: jobcard.PartTerms{
		LineID: line, Name: name, Number: "SL-100", Qty: 1000, Cost: 1250, Supply: supply, DueAt: At(Today, "14:30"),
	}})
	Ok(t, err)
	return c.PartID
}

// Fits has somebody find by hand that a part fits.
func (s *Shop) Fits(t testing.TB, card jobcard.CardID, id jobcard.PartID) {
	t.Helper()
	p, ok := s.Sheet(t, card).Part(id)
	if !ok {
		t.Fatalf("part %d is not on card %d", id, card)
	}
	_, err := s.Cards.SetVerdict(t.Context(), s.Posy, jobcard.VerdictInput{PartID: id, Version: p.Version, Verdict: jobcard.Fits, Note: "beside the old one"})
	Ok(t, err)
}

// Sheet reads a card as the owner sees it.
func (s *Shop) Sheet(t testing.TB, id jobcard.CardID) *jobcard.Sheet {
	t.Helper()
	sh, err := s.Cards.Sheet(t.Context(), s.Owner, id)
	Ok(t, err)
	return sh
}

// LineOf reads one line of a card.
func (s *Shop) LineOf(t testing.TB, card jobcard.CardID, id jobcard.LineID) jobcard.Line {
	t.Helper()
	l, ok := s.Sheet(t, card).Line(id)
	if !ok {
		t.Fatalf("line %d is not on card %d", id, card)
	}
	return l
}

// On clocks somebody on to a line.
func (s *Shop) On(t testing.TB, who actor.Actor, id jobcard.LineID) clocking.On {
	t.Helper()
	on, err := s.Clock.ClockOn(t.Context(), who, clocking.OnInput{LineID: id})
	Ok(t, err)
	return on
}

// Count reads a number from the database.
func (s *Shop) Count(t testing.TB, sql string, args ...any) int {
	t.Helper()
	var n int
	Ok(t, s.DB.Pool.QueryRow(t.Context(), sql, args...).Scan(&n))
	return n
}

// Clock reads a time of day.
func Clock(s string) workday.Clock {
	c, err := workday.ParseClock(s)
	if err != nil {
		panic(err)
	}
	return c
}

// At is a moment by the garage's clock.
func At(d workday.Day, s string) time.Time {
	loc, err := workday.Zone(Zone)
	if err != nil {
		panic(err)
	}
	return workday.At(d, Clock(s), loc)
}

// Ok stops the test at an error.
func Ok(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
