package diary_test

import (
	"testing"
	"time"

	"rampside/internal/diary"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// sums checks that a room's figures are the sums of what they open to.
func (r *rig) sums(room diary.Room) {
	r.Helper()
	var booked, left, there, leftThere time.Duration
	for _, j := range room.Jobs {
		booked += j.Hours
		left += j.Left
	}
	for _, h := range room.Hands {
		there += h.Hours
		leftThere += h.Left
	}
	if booked != room.Booked || left != room.Left || there != room.There || leftThere != room.LeftThere {
		r.Errorf("%+v does not add up", room)
	}
}

func TestHoursBookedStandAgainstTheHoursThereAre(t *testing.T) {
	r := open(t)
	d := r.Garage.Day.AddDays(1)
	for range 5 {
		r.booked(d, clock(8, 30), 0, cardtest.Op(r.Service))
	}
	room := r.day(r.Desk, d).Room
	r.sums(room)
	// Five services of 1.6 h against two shifts of eight hours: 8/16 = 50 %.
	if room.Booked != 8*time.Hour || room.There != 16*time.Hour || room.Full().String() != "50% (8.0 h / 16.0 h)" || room.Free() != 8*time.Hour {
		t.Errorf("the room is %+v, %s", room, room.Full())
	}
	r.OK(r.roster.AddAbsence(t.Context(), r.Owner, roster.AbsenceInput{StaffID: r.Bram.StaffID, From: d, To: d, Reason: "leave"}))
	r.booked(d, clock(8, 30), 0, cardtest.Op(r.Service))
	room = r.day(r.Desk, d).Room
	r.sums(room)
	if room.Full().String() != "120% (9.6 h / 8.0 h)" || room.Free() != -96*time.Minute {
		t.Errorf("with one away the room is %s, free %v", room.Full(), room.Free())
	}
	sunday := r.Garage.Day.AddDays(6)
	r.booked(sunday, clock(8, 30), 0, cardtest.Op(r.Service))
	room = r.day(r.Desk, sunday).Room
	if room.There != 0 || room.Full().String() != "not available (1.6 h / 0.0 h)" {
		t.Errorf("on a Sunday there are %s", room.Full())
	}
}

func TestTodayShowsWhatIsLeftOfTheDay(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service))
	for _, c := range []struct {
		now  workday.Clock
		left time.Duration
	}{
		{clock(7, 0), 16 * time.Hour},
		{clock(9, 30), 14 * time.Hour},
		{clock(12, 44), 2 * (3*time.Hour + 46*time.Minute)},
		{clock(12, 45), 2 * (4*time.Hour + 15*time.Minute)}, // the break counts as taken in the middle
		{clock(16, 0), 2 * time.Hour},
		{clock(18, 0), 0},
	} {
		r.at(c.now)
		room := r.today().Room
		r.sums(room)
		if room.LeftThere != c.left || room.There != 16*time.Hour || !room.Today {
			t.Errorf("at %s %v are left of %v", c.now, room.LeftThere, room.There)
		}
	}
	r.Agree(s.ID)
	r.work(r.Posy, s.Lines[0], clock(9, 0), clock(9, 36))
	if room := r.today().Room; room.Left != time.Hour || room.Booked != 96*time.Minute {
		t.Errorf("after 0.6 h of 1.6 h: %v of %v", room.Left, room.Booked)
	}
	if room := r.day(r.Desk, r.Garage.Day.AddDays(1)).Room; room.Today || room.Left != 0 || room.LeftThere != 0 {
		t.Errorf("tomorrow shows what is left of today: %+v", room)
	}
}

// The night of 28 to 29 March 2026 loses 01:00 to 02:00 in the United
// Kingdom, that of 24 to 25 October gains it back (the Summer Time Order
// 2002); so a shift from 00:00 to 06:00 is five hours, and then seven.
func TestHoursThereAreFollowTheClocks(t *testing.T) {
	r := open(t)
	set, err := garage.Load(t.Context(), r.DB.Pool)
	r.OK(err)
	set.WorkDays = append(set.WorkDays, time.Sunday)
	_, err = r.Settings.SaveSettings(t.Context(), r.Owner, set)
	r.OK(err)
	_, version, err := roster.Shifts(t.Context(), r.DB.Pool)
	r.OK(err)
	night := roster.Week{StaffID: r.Posy.StaffID}
	night.Days[6] = &workday.Shift{Start: 0, End: 6 * 60}
	off := roster.Week{StaffID: r.Bram.StaffID}
	r.OK(r.roster.SaveShifts(t.Context(), r.Owner, roster.ShiftsInput{Version: version, Weeks: []roster.Week{night, off}}))
	for day, want := range map[workday.Day]time.Duration{
		workday.Must(2026, time.March, 29):   5 * time.Hour,
		workday.Must(2026, time.October, 25): 7 * time.Hour,
		workday.Must(2026, time.March, 22):   6 * time.Hour,
	} {
		if room := r.day(r.Desk, day).Room; room.There != want {
			t.Errorf("on %s there are %v, want %v", day, room.There, want)
		}
	}
}

func TestTodayIsTheGaragesDayAndNotTheServers(t *testing.T) {
	r := open(t)
	s := r.booked(r.Garage.Day.AddDays(1), clock(8, 30), 0, cardtest.Op(r.Service))
	r.Clock = time.Date(2026, 10, 5, 23, 30, 0, 0, time.UTC) // 00:30 on the 6th by the clocks in the garage
	got, err := r.diary.Day(t.Context(), r.Desk, workday.Day{})
	r.OK(err)
	if got.Today != r.Garage.Day.AddDays(1) || len(got.Days[0].Bookings) != 1 || got.Days[0].Bookings[0].Card != s.ID {
		t.Errorf("at half past midnight it is %s with %+v", got.Today, got.Days[0].Bookings)
	}
	for zone, day := range map[string]workday.Day{"Pacific/Kiritimati": workday.Must(2026, time.October, 6), "Pacific/Pago_Pago": workday.Must(2026, time.October, 5)} {
		set, err := garage.Load(t.Context(), r.DB.Pool)
		r.OK(err)
		set.ZoneName = zone
		_, err = r.Settings.SaveSettings(t.Context(), r.Owner, set)
		r.OK(err)
		got, err := r.diary.Day(t.Context(), r.Desk, workday.Day{})
		r.OK(err)
		if got.Today != day || len(got.Days) != 1 || got.Days[0].Day != day {
			t.Errorf("in %s it is %s, and the diary is open at %s", zone, got.Today, got.Days[0].Day)
		}
	}
}

func TestACardThatNeverCameCanStillBeFoundInTheDiary(t *testing.T) {
	r := open(t)
	s := r.booked(r.Garage.Day.AddDays(-30), clock(8, 30), 0, cardtest.Op(r.Service))
	if d := r.today(); len(d.Missed) != 1 || d.Missed[0].Card != s.ID {
		t.Errorf("missed: %+v", d.Missed)
	}
	r.stage(s.ID, jobcard.Cancelled)
	if d := r.today(); len(d.Missed) != 0 {
		t.Errorf("still missed after it was cancelled: %+v", d.Missed)
	}
}
