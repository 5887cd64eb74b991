package dayend_test

import (
	"testing"
	"time"

	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/workday"
)

// The nights on which the clocks change: in the United Kingdom by the Summer
// Time Order 2002, in the United States by the Energy Policy Act of 2005, on
// Lord Howe Island by half an hour (IANA time zone database).
func TestADayIsTheGaragesDayWhenTheClocksChange(t *testing.T) {
	for _, c := range []struct {
		zone string
		day  workday.Day
		// night is how long it is from 22:00 of the day before to 06:00, and
		// early how much of that falls on the day itself.
		night, early time.Duration
	}{
		{"Europe/London", workday.Must(2026, time.March, 29), 7 * time.Hour, 5 * time.Hour},
		{"Europe/London", workday.Must(2026, time.October, 25), 9 * time.Hour, 7 * time.Hour},
		{"America/New_York", workday.Must(2027, time.March, 14), 7 * time.Hour, 5 * time.Hour},
		{"America/New_York", workday.Must(2026, time.November, 1), 9 * time.Hour, 7 * time.Hour},
		{"Australia/Lord_Howe", workday.Must(2026, time.April, 5), 8*time.Hour + 30*time.Minute, 6*time.Hour + 30*time.Minute},
		{"Europe/London", workday.Must(2026, time.October, 24), 8 * time.Hour, 6 * time.Hour},
	} {
		t.Run(c.zone+" "+c.day.String(), func(t *testing.T) {
			r := open(t)
			r.move(c.zone)
			before := c.day.AddDays(-1)
			r.Garage.Day = before
			r.at(12, 0)
			s := r.Book(cardtest.Free("Night work", 8*time.Hour))
			r.Agree(s.ID)
			s = r.Sheet(s.ID)
			r.at(22, 0)
			r.on(r.Posy, s.Lines[0])
			r.Garage.Day = c.day
			r.at(6, 0)
			r.corrected(c.night) // who works through the night puts it in by hand
			r.tick(r.Posy, s.Lines[0])
			r.at(23, 59)

			first, second, after := r.end(before), r.end(c.day), r.end(c.day.AddDays(1))
			if first.OnDay.Time != 2*time.Hour || second.OnDay.Time != c.early || after.OnDay.Time != 0 {
				t.Errorf("the night is %v, %v and %v", first.OnDay.Time, second.OnDay.Time, after.OnDay.Time)
			}
			// Every hour costs 18.00, and the line ends on the day itself.
			if first.OnDay.Cost != 36_00 || second.Earlier.Cost != 36_00 || second.Labour.ActualTime != c.night {
				t.Errorf("two hours before midnight cost %v, then carried %v; the line took %v", first.OnDay.Cost, second.Earlier.Cost, second.Labour.ActualTime)
			}
			if w := r.whole(s.ID); w.Labour != second.Labour || w.OnDay.Cost != first.OnDay.Cost+second.OnDay.Cost {
				t.Errorf("the whole is %+v, the two days cost %v and %v", w.Totals, first.OnDay.Cost, second.OnDay.Cost)
			}
			if c := r.card(second, s.ID); c.Standing != dayend.StillHere || len(c.Done) != 1 {
				t.Errorf("at the end of the day the card is %+v", c)
			}
			if got := second.Hours.Ratios.Utilisation.Part; got != c.early {
				t.Errorf("worked %v of the day", got)
			}
		})
	}
}

// corrected ends Posy's open clocking now, as somebody does who looks at it
// in the morning, and checks how long it took.
func (r *rig) corrected(want time.Duration) {
	r.Helper()
	k, ok, err := r.clocks.Current(r.Context(), r.Posy)
	r.OK(err)
	if !ok {
		r.Fatal("Posy is on nothing")
	}
	got, err := r.clocks.Correct(r.Context(), r.Posy, clocking.CorrectInput{
		ClockingID: k.ID, Version: k.Version, From: k.From, To: r.Clock, Reason: "worked through the night",
	})
	r.OK(err)
	if took := got.To.Sub(got.From); took != want {
		r.Errorf("the night took %v, want %v", took, want)
	}
}

// A clocking at 01:30 comes twice on the night the clocks go back; both are on
// the day, and last what they really lasted.
func TestTheHourThatComesTwiceCountsTwice(t *testing.T) {
	r := open(t)
	r.Garage.Day = workday.Must(2026, time.October, 25)
	r.Clock = time.Date(2026, 10, 25, 0, 15, 0, 0, time.UTC) // 01:15 summer time
	s := r.Book(cardtest.Free("Night work", 8*time.Hour))
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.on(r.Posy, s.Lines[0])
	r.Clock = time.Date(2026, 10, 25, 1, 15, 0, 0, time.UTC) // 01:15 again
	r.off(r.Posy)
	if d := r.today(); d.OnDay.Time != time.Hour || d.OnDay.Cost != 18_00 {
		t.Errorf("from 01:15 to 01:15 are %+v", d.OnDay)
	}
}

// Midnight of the garage is not that of UTC: 23:30 UTC in summer is the next
// day in the United Kingdom.
func TestTheDayEndsAtTheGaragesMidnight(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Late work", 2*time.Hour))
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.Clock = time.Date(2026, 10, 5, 22, 30, 0, 0, time.UTC)
	r.on(r.Posy, s.Lines[0])
	r.Clock = time.Date(2026, 10, 5, 23, 30, 0, 0, time.UTC)
	r.tick(r.Posy, s.Lines[0])
	today := r.today()
	if today.Day != workday.Must(2026, time.October, 6) || today.OnDay.Time != 30*time.Minute || today.Labour.ActualTime != time.Hour {
		t.Errorf("it is %s, with %v worked and a line of %v", today.Day, today.OnDay.Time, today.Labour.ActualTime)
	}
	if y := r.end(workday.Must(2026, time.October, 5)); y.OnDay.Time != 30*time.Minute || y.Labour.ActualTime != 0 || !y.Over {
		t.Errorf("the day before has %+v", y.Totals)
	}
}

// Far from Greenwich the garage's day has hours of three days in UTC.
func TestTheSmallHoursOfFarZonesAreOnTheirDay(t *testing.T) {
	for _, c := range []struct {
		zone string
		hour int
	}{{"Pacific/Auckland", 0}, {"Pacific/Kiritimati", 0}, {"Pacific/Pago_Pago", 23}} {
		r := open(t)
		r.move(c.zone)
		day := r.Garage.Day
		r.at(c.hour, 5)
		s := r.Book(cardtest.Free("Bulb", 30*time.Minute))
		r.Agree(s.ID)
		s = r.Sheet(s.ID)
		r.work(r.Posy, s.Lines[0], c.hour, 10, 20)
		r.tick(r.Posy, s.Lines[0])
		r.stage(s.ID, jobcard.Ready)
		r.stage(s.ID, jobcard.Collected)
		r.Clock = r.Clock.AddDate(0, 0, 10)
		if d := r.end(day); d.OnDay.Time != 20*time.Minute || len(d.Cards) != 1 || d.Cards[0].Standing != dayend.Collected {
			t.Errorf("%s: %+v", c.zone, d)
		}
		for _, other := range []int{-1, 1} {
			if d := r.end(day.AddDays(other)); len(d.Cards) != 0 {
				t.Errorf("%s: the card is also on %s", c.zone, d.Day)
			}
		}
	}
}

// Leap day, and the night into another year.
func TestLeapDayAndNewYearAreDaysLikeAnyOther(t *testing.T) {
	for _, d := range []workday.Day{workday.Must(2028, time.February, 28), workday.Must(2028, time.February, 29), workday.Must(2027, time.December, 31)} {
		r := open(t)
		r.Garage.Day = d
		r.at(12, 0)
		s := r.Book(cardtest.Free("Late work", 2*time.Hour))
		r.Agree(s.ID)
		s = r.Sheet(s.ID)
		r.at(23, 0)
		r.on(r.Posy, s.Lines[0])
		r.Clock = r.Clock.Add(2 * time.Hour)
		r.tick(r.Posy, s.Lines[0])
		for i := range 2 {
			if got := r.end(d.AddDays(i)); got.OnDay.Time != time.Hour {
				t.Errorf("%s has %v", d.AddDays(i), got.OnDay.Time)
			}
		}
	}
}

// The server's clock may be set back while work goes on: what was recorded
// stays, and what seems to lie ahead counts for nothing yet.
func TestAClockThatJumpsBackAnHourTakesNothingAway(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Exhaust", 2*time.Hour), cardtest.Free("Bulb", time.Hour))
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.work(r.Posy, s.Lines[0], 10, 0, 60)
	r.tick(r.Posy, s.Lines[0])
	r.on(r.Bram, s.Lines[1])
	before := r.today()
	r.at(10, 0)
	after := r.today()
	if after.Totals != before.Totals || after.OnDay.Time != time.Hour || r.card(after, s.ID).Standing != dayend.StillHere {
		t.Errorf("an hour earlier the day is %+v, it was %+v", after.Totals, before.Totals)
	}
	r.at(12, 0)
	if d := r.today(); d.OnDay.Time != 2*time.Hour {
		t.Errorf("at noon %v are worked", d.OnDay.Time)
	}
}
