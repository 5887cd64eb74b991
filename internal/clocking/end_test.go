package clocking_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

func TestASlipOfTheFingerCountsForNothingAndIsOnRecord(t *testing.T) {
	s := clocktest.Open(t)
	card, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[0])
	on := s.On(t, s.Posy, ls[1]) // in the same microsecond
	s.Pass(999 * time.Millisecond)
	back := s.On(t, s.Posy, ls[0])
	if n := s.Count(t, `select count(*) from clocking where voided`); n != 2 {
		t.Errorf("%d voided", n)
	}
	d, err := s.Clock.OnDay(t.Context(), s.Posy, clocking.DayQuery{StaffID: s.Posy.StaffID})
	clocktest.Ok(t, err)
	x := d.Corrections[on.ClockingID]
	if len(x) != 1 || !x[0].Voided || x[0].By != "" || x[0].Reason != "lasted less than a second" || !x[0].Was.To.IsZero() {
		t.Errorf("%+v", x)
	}
	s.Pass(time.Second)
	if _, err := s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[0]}); err != nil {
		t.Fatal(err)
	}
	k, err := s.Clock.ByID(t.Context(), s.Posy, back.ClockingID)
	if err != nil || k.Voided || k.Span(s.Now()).Elapsed() != time.Second {
		t.Errorf("a second counts: %+v, %v", k, err)
	}
	if w := s.Sheet(t, card).Clocked[ls[0]].Worked; w != time.Second {
		t.Errorf("worked %v", w)
	}
}

func TestAClockThatGoesBackBreaksNothing(t *testing.T) {
	s := clocktest.Open(t)
	_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	_, err := s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{})
	clocktest.Ok(t, err)
	s.Pass(-2 * time.Second) // another server, a little slow
	on := s.On(t, s.Posy, ls[1])
	k, err := s.Clock.ByID(t.Context(), s.Posy, on.ClockingID)
	if err != nil || !k.From.Equal(clocktest.At(clocktest.Today, "9:00")) {
		t.Errorf("it goes on where the last one ended: %+v, %v", k, err)
	}
	// Ending it before it began makes it nothing.
	if _, err := s.Clock.ClockOff(t.Context(), s.Posy, clocking.OffInput{}); err != nil {
		t.Error(err)
	}
	s.Pass(-30 * time.Minute) // somebody set the clock back
	_, err = s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[1]})
	wants(t, err, apperr.Conflict, "goes beyond this moment")
}

var overnight = []struct {
	name            string
	from, to, until string // the times of the garage's clock; to is on the next day
}{
	{"in the morning it ended with the shift", "10:00", "8:05", "17:00"},
	{"begun after the shift, when the garage closed", "17:10", "8:05", "17:30"},
	{"begun after closing, with the day", "19:00", "8:05", "24:00"},
	{"late work goes on past midnight", "22:30", "0:45", ""},
}

func TestAClockingLeftOvernightEndsWhereItMostLikelyDid(t *testing.T) {
	next := clocktest.Today.AddDays(1)
	for _, c := range overnight {
		t.Run(c.name, func(t *testing.T) {
			s := clocktest.Open(t)
			plan(t, s, "8:30", "17:00")
			_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
			s.Set(clocktest.At(clocktest.Today, c.from))
			on := s.On(t, s.Posy, ls[0])
			s.Set(clocktest.At(next, c.to))
			s.On(t, s.Posy, ls[1])
			want := s.Now()
			switch c.until {
			case "":
			case "24:00":
				want = clocktest.At(next, "0:00")
			default:
				want = clocktest.At(clocktest.Today, c.until)
			}
			k, err := s.Clock.ByID(t.Context(), s.Posy, on.ClockingID)
			if err != nil || !k.To.Equal(want) {
				t.Errorf("it ended %v, want %v, %v", k.To, want, err)
			}
			corrections := 1
			if c.until == "" {
				corrections = 0
			}
			if n := s.Count(t, `select count(*) from clocking_correction where by_staff is null and reason like 'left on overnight%'`); n != corrections {
				t.Errorf("%d corrections on record", n)
			}
		})
	}
}

// plan gives Posy the same shift every day.
func plan(t *testing.T, s *clocktest.Shop, from, to string) {
	t.Helper()
	_, version, err := roster.Shifts(t.Context(), s.DB.Pool)
	clocktest.Ok(t, err)
	w := roster.Week{StaffID: s.Posy.StaffID}
	for i := range w.Days {
		w.Days[i] = &workday.Shift{Start: clocktest.Clock(from), End: clocktest.Clock(to), Break: 30 * time.Minute}
	}
	clocktest.Ok(t, roster.New(s.DB).SaveShifts(t.Context(), s.Owner, roster.ShiftsInput{Version: version, Weeks: []roster.Week{w}}))
}

func TestAForgottenClockingIsNoticedAtClosingTime(t *testing.T) {
	s := clocktest.Open(t)
	plan(t, s, "8:30", "17:00")
	_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[0])
	s.On(t, s.Bram, ls[1])
	s.Set(clocktest.At(clocktest.Today, "17:30"))
	if f, err := s.Clock.Forgotten(t.Context(), s.Posy); err != nil || len(f) != 0 {
		t.Errorf("at closing time sharp: %+v, %v", f, err)
	}
	s.Pass(time.Second)
	f, err := s.Clock.Forgotten(t.Context(), s.Posy)
	if err != nil || len(f) != 1 || f[0].StaffID != s.Posy.StaffID || !f[0].Likely.Equal(clocktest.At(clocktest.Today, "17:00")) {
		t.Errorf("%+v, %v", f, err)
	}
	all, err := s.Clock.Forgotten(t.Context(), s.Desk)
	if err != nil || len(all) != 2 || all[1].Name != "Bram Oakes" || !all[1].Likely.Equal(clocktest.At(clocktest.Today, "17:30")) {
		t.Errorf("the desk sees %+v, %v", all, err)
	}
	// As it is offered, so it is corrected.
	k := f[0]
	_, err = s.Clock.Correct(t.Context(), s.Posy, clocking.CorrectInput{
		ClockingID: k.ID, Version: k.Version, From: k.From, To: k.Likely, Reason: "forgot to clock off",
	})
	clocktest.Ok(t, err)
	if f, err := s.Clock.Forgotten(t.Context(), s.Posy); err != nil || len(f) != 0 {
		t.Errorf("corrected, and still %+v, %v", f, err)
	}
	if n := s.Count(t, `select count(*) from line where id = $1 and work_state = 'open'`, ls[0]); n != 1 {
		t.Error("the line is not at rest")
	}
}

// The days are those of the IANA time zone database for London, see
// clocktest.Zone: 17:30 is 16:30 UTC in summer and 17:30 UTC in winter.
func TestClosingTimeIsByTheGaragesClockOnTheDaysTheClocksChange(t *testing.T) {
	set := garage.Settings{ZoneName: clocktest.Zone, Closes: clocktest.Clock("17:30")}
	utc := func(s string) time.Time {
		m, err := time.Parse("2006-01-02 15:04", s)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	for _, c := range []struct {
		from, not, forgotten, likely string // UTC
	}{
		{"2026-03-28 10:00", "2026-03-28 17:30", "2026-03-28 17:31", "2026-03-28 17:30"},
		{"2026-03-29 08:00", "2026-03-29 16:30", "2026-03-29 16:31", "2026-03-29 16:30"},
		{"2026-10-24 08:00", "2026-10-24 16:30", "2026-10-24 16:31", "2026-10-24 16:30"},
		{"2026-10-25 08:00", "2026-10-25 17:30", "2026-10-25 17:31", "2026-10-25 17:30"},
		// The night of the change itself: 23:30 before a day of 23 or 25 hours
		// belongs to the day before it.
		{"2026-03-28 23:30", "2026-03-29 00:00", "2026-03-29 00:01", "2026-03-29 00:00"},
		{"2026-10-24 22:30", "2026-10-24 23:00", "2026-10-24 23:01", "2026-10-24 23:00"},
		// 00:30 in summer time is still the day before in UTC.
		{"2026-10-24 23:30", "2026-10-25 17:30", "2026-10-25 17:31", "2026-10-25 17:30"},
		// Begun after closing: when the day is over, which is 25 hours long.
		{"2026-10-25 18:00", "2026-10-26 00:00", "2026-10-26 00:01", "2026-10-26 00:00"},
	} {
		from := utc(c.from)
		if clocking.Forgot(set, from, utc(c.not)) || !clocking.Forgot(set, from, utc(c.forgotten)) {
			t.Errorf("from %s: forgotten %v at %s and %v at %s", c.from,
				clocking.Forgot(set, from, utc(c.not)), c.not, clocking.Forgot(set, from, utc(c.forgotten)), c.forgotten)
		}
		if got := clocking.LikelyEnd(set, nil, from, utc("2026-12-01 00:00")); !got.Equal(utc(c.likely)) {
			t.Errorf("from %s: ended %v, want %s", c.from, got.UTC(), c.likely)
		}
	}
	if got := clocking.LikelyEnd(set, nil, utc("2026-10-05 08:00"), utc("2026-10-05 09:00")); !got.Equal(utc("2026-10-05 09:00")) {
		t.Errorf("nothing ends after now: %v", got)
	}
}

func TestADaysWorkIsTheGaragesDayWhenTheClocksChange(t *testing.T) {
	s := clocktest.Open(t)
	set, err := garage.Load(t.Context(), s.DB.Pool)
	clocktest.Ok(t, err)
	for _, c := range []struct {
		day   workday.Day
		hours time.Duration
	}{{workday.Must(2026, time.March, 29), 23}, {workday.Must(2026, time.October, 25), 25}, {workday.Must(2026, time.October, 26), 24}} {
		// A clocking over three days, of which the middle one is looked at.
		start, end := workday.Bounds(c.day, set.Location())
		s.Set(start.Add(-2 * time.Hour))
		card, ls := s.Book(t, jobcard.Booking{
			Here: true, Lines: []jobcard.NewLine{s.Line("Night work")}, Visit: jobcard.Visit{BookedFor: c.day},
		}, true)
		_, err := s.DB.Pool.Exec(t.Context(), `insert into clocking (staff_id, line_id, during, cost_rate_minor) values ($1, $2, tstzrange($3, $4), 1800)`,
			s.Posy.StaffID, ls[0], start.Add(-time.Hour), end.Add(time.Hour))
		clocktest.Ok(t, err)
		ws, err := clocking.Worked(t.Context(), s.DB.Pool, set, c.day, end.Add(2*time.Hour))
		if err != nil || len(ws) != 1 || ws[0].Span.Elapsed() != c.hours*time.Hour || ws[0].CostRate != 1800 || ws[0].CardID != card {
			t.Errorf("%v: %+v, %v", c.day, ws, err)
		}
		whole, err := clocking.WorkedOnCards(t.Context(), s.DB.Pool, set, end.Add(2*time.Hour), card)
		if err != nil || len(whole) != 1 || whole[0].Span.Elapsed() != (c.hours+2)*time.Hour {
			t.Errorf("%v: %+v, %v", c.day, whole, err)
		}
		_, err = s.DB.Pool.Exec(t.Context(), `update clocking set voided = true where id = $1`, ws[0].ID)
		clocktest.Ok(t, err)
	}
}

func TestWorkForgottenCountsUpToItsLikelyEnd(t *testing.T) {
	s := clocktest.Open(t)
	plan(t, s, "8:30", "17:00")
	set, err := garage.Load(t.Context(), s.DB.Pool)
	clocktest.Ok(t, err)
	_, ls := s.Car(t, s.Line("Clutch"))
	s.Set(clocktest.At(clocktest.Today, "15:00"))
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	ws, err := clocking.Worked(t.Context(), s.DB.Pool, set, clocktest.Today, s.Now())
	if err != nil || len(ws) != 1 || !ws[0].Open || ws[0].Forgotten || ws[0].Span.Elapsed() != time.Hour {
		t.Errorf("%+v, %v", ws, err)
	}
	s.Set(clocktest.At(clocktest.Today.AddDays(2), "9:00"))
	ws, err = clocking.Worked(t.Context(), s.DB.Pool, set, clocktest.Today, s.Now())
	if err != nil || len(ws) != 1 || !ws[0].Forgotten || ws[0].Span.Elapsed() != 2*time.Hour {
		t.Errorf("%+v, %v", ws, err)
	}
	// It is no work of the days after.
	ws, err = clocking.Worked(t.Context(), s.DB.Pool, set, clocktest.Today.AddDays(1), s.Now())
	if err != nil || len(ws) != 0 {
		t.Errorf("%+v, %v", ws, err)
	}
}
