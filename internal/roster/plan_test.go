package roster_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

func TestTheHoursThereAreAreShiftsLessBreaksAbsencesAndClosedDays(t *testing.T) {
	h := open(t)
	set, err := garage.Load(t.Context(), h.db.Pool)
	h.ok(t, err)
	set.WorkDays = []time.Weekday{1, 2, 3, 4, 5}
	_, err = garage.New(h.db).SaveSettings(t.Context(), h.owner, set)
	h.ok(t, err)
	h.plan(t,
		roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))},
		roster.Week{StaffID: h.bram.StaffID, Days: [7]*workday.Shift{nil, shift("08:30", "12:30", 15*time.Minute)}},
		roster.Week{StaffID: h.owner.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))}) // no technician: not sold
	h.ok(t, h.AddAbsence(t.Context(), h.owner, roster.AbsenceInput{StaffID: h.posy.StaffID, From: monday.AddDays(2), To: monday.AddDays(3), Reason: "course"}))
	got, err := roster.Available(t.Context(), h.db.Pool, monday, monday.AddDays(6))
	h.ok(t, err)
	for i, want := range []time.Duration{8 * time.Hour, 11*time.Hour + 45*time.Minute, 0, 0, 8 * time.Hour, 0, 0} {
		if d := monday.AddDays(i); got[d] != want {
			t.Errorf("%s: %v, want %v", d.Short(), got[d], want)
		}
	}
	if len(got) != 7 {
		t.Errorf("%d days", len(got))
	}
	wednesday := roster.AbsenceInput{StaffID: h.posy.StaffID, From: monday.AddDays(2), To: monday.AddDays(2)}
	h.ok(t, h.RemoveAbsence(t.Context(), h.owner, wednesday))
	kind(t, h.RemoveAbsence(t.Context(), h.owner, wednesday), apperr.NotFound)
	got, err = roster.Available(t.Context(), h.db.Pool, monday.AddDays(2), monday.AddDays(2))
	if h.ok(t, err); got[monday.AddDays(2)] != 8*time.Hour {
		t.Errorf("back from the absence: %v", got)
	}
	_, err = h.db.Pool.Exec(t.Context(), `update staff set active = false where id = $1`, h.bram.StaffID)
	h.ok(t, err)
	got, err = roster.Available(t.Context(), h.db.Pool, monday.AddDays(1), monday.AddDays(1))
	if h.ok(t, err); got[monday.AddDays(1)] != 8*time.Hour {
		t.Errorf("somebody who left still has hours: %v", got)
	}
}

func TestAShiftOverTheChangeOfTheClocksHasTheHoursThereReallyAre(t *testing.T) {
	h := open(t)
	h.plan(t,
		roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("00:00", "08:00", 30*time.Minute))},
		roster.Week{StaffID: h.bram.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))})
	for d, want := range map[workday.Day]time.Duration{
		forward:             7*time.Hour - 30*time.Minute + 8*time.Hour,
		back:                9*time.Hour - 30*time.Minute + 8*time.Hour,
		forward.AddDays(-1): 8*time.Hour - 30*time.Minute + 8*time.Hour,
	} {
		got, err := roster.Available(t.Context(), h.db.Pool, d, d)
		if h.ok(t, err); got[d] != want {
			t.Errorf("%s: %v, want %v", d, got[d], want)
		}
	}
}

func TestAPlanCoversAtMostFourHundredDays(t *testing.T) {
	h := open(t)
	for _, c := range [][2]workday.Day{{monday, monday.AddDays(400)}, {monday, monday.AddDays(-1)}, {{}, monday}} {
		_, err := roster.Available(t.Context(), h.db.Pool, c[0], c[1])
		kind(t, err, apperr.Invalid)
	}
	if got, err := roster.Available(t.Context(), h.db.Pool, monday, monday.AddDays(399)); err != nil || len(got) != 400 {
		t.Errorf("%d days, %v", len(got), err)
	}
}

func TestWhatIsWrongWithAShiftIsSaidAtItsDay(t *testing.T) {
	h := open(t)
	for name, s := range map[string]*workday.Shift{
		"backwards":    shift("17:30", "08:30", 0),
		"no time":      shift("08:30", "08:30", 0),
		"all break":    shift("08:30", "09:30", time.Hour),
		"less than no": shift("08:30", "09:30", -time.Minute),
		"seconds":      shift("08:30", "09:30", time.Second),
		"no clock":     {Start: 1500, End: 1600},
		"long break":   shift("00:00", "23:59", 8*time.Hour+time.Minute),
	} {
		w := roster.Week{StaffID: h.posy.StaffID}
		w.Days[3] = s
		err := h.SaveShifts(t.Context(), h.owner, roster.ShiftsInput{Weeks: []roster.Week{w}})
		t.Run(name, func(t *testing.T) { wants(t, err, fmt.Sprintf("shift.%d.3", h.posy.StaffID)) })
	}
	_, version, _ := roster.Shifts(t.Context(), h.db.Pool)
	kind(t, h.SaveShifts(t.Context(), h.owner, roster.ShiftsInput{Version: version, Weeks: []roster.Week{{StaffID: 1 << 60}}}), apperr.Invalid)
	kind(t, h.SaveShifts(t.Context(), h.owner, roster.ShiftsInput{Weeks: make([]roster.Week, 201)}), apperr.Invalid)
}

func TestShiftsAreReadBackAsTheyWereSavedAndOnRecord(t *testing.T) {
	h := open(t)
	days := [7]*workday.Shift{0: shift("07:00", "15:00", 30*time.Minute), 6: shift("10:00", "12:00", 0)}
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: days})
	weeks, _, err := roster.Shifts(t.Context(), h.db.Pool)
	h.ok(t, err)
	if len(weeks) != 3 || weeks[1].Name != "Posy Thackeray" || weeks[1].Role != actor.Technician {
		t.Fatalf("%+v", weeks)
	}
	for i := range days {
		got, want := weeks[1].Days[i], days[i]
		if (got == nil) != (want == nil) || got != nil && *got != *want {
			t.Errorf("%s: %v, want %v", roster.Weekday(i), got, want)
		}
		if weeks[0].Days[i] != nil || weeks[2].Days[i] != nil {
			t.Error("somebody else got a shift")
		}
	}
	var detail string
	h.scan(t, &detail, `select detail::text from event where kind = 'shifts changed' and subject = 'Posy Thackeray'`)
	want := `{"Monday": {"is": "07:00 to 15:00, breaks 30 min", "was": "off"}, "Sunday": {"is": "10:00 to 12:00, breaks 0 min", "was": "off"}}`
	if detail != want {
		t.Errorf("on record: %s", detail)
	}
	// The same again changes nothing and says nothing; a day off removes one.
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: days})
	days[6] = nil
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: days})
	var events, rows int
	h.scan(t, &events, `select count(*) from event where kind = 'shifts changed'`)
	h.scan(t, &rows, `select count(*) from shift_pattern`)
	if events != 2 || rows != 1 {
		t.Errorf("%d events, %d rows", events, rows)
	}
}

func TestOfManyEditsOfTheSameShiftsOneWins(t *testing.T) {
	h := open(t)
	_, version, err := roster.Shifts(t.Context(), h.db.Pool)
	h.ok(t, err)
	var won, stale atomic.Int32
	var wg sync.WaitGroup
	for i := range 12 {
		wg.Go(func() {
			err := h.SaveShifts(context.Background(), h.owner, roster.ShiftsInput{Version: version, Weeks: []roster.Week{
				{StaffID: h.posy.StaffID, Days: everyDay(&workday.Shift{Start: workday.Clock(i), End: 600})},
			}})
			switch {
			case err == nil:
				won.Add(1)
			case apperr.Is(err, apperr.Conflict):
				stale.Add(1)
			default:
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if won.Load() != 1 || stale.Load() != 11 {
		t.Errorf("%d won, %d stale", won.Load(), stale.Load())
	}
}

func TestAnAbsenceIsCheckedAtItsFields(t *testing.T) {
	h := open(t)
	good := roster.AbsenceInput{StaffID: h.posy.StaffID, From: monday, To: monday}
	for field, spoil := range map[string]func(*roster.AbsenceInput){
		"staff":  func(in *roster.AbsenceInput) { in.StaffID = 0 },
		"from":   func(in *roster.AbsenceInput) { in.From = workday.Day{} },
		"to":     func(in *roster.AbsenceInput) { in.To = monday.AddDays(-1) },
		"reason": func(in *roster.AbsenceInput) { in.Reason = "a\x00b" },
	} {
		in := good
		spoil(&in)
		wants(t, h.AddAbsence(t.Context(), h.owner, in), field)
	}
	long := good
	long.To = monday.AddDays(366)
	wants(t, h.AddAbsence(t.Context(), h.owner, long), "to")
	long.To = monday.AddDays(365)
	h.ok(t, h.AddAbsence(t.Context(), h.owner, long))
	unknown := good
	unknown.StaffID = 999
	kind(t, h.AddAbsence(t.Context(), h.owner, unknown), apperr.NotFound)
	// Noted again, a day keeps the newer reason.
	good.Reason = "dentist"
	h.ok(t, h.AddAbsence(t.Context(), h.owner, good))
	all, err := roster.Absences(t.Context(), h.db.Pool, monday, 500)
	h.ok(t, err)
	if len(all) != 366 || all[0].Reason != "dentist" || all[0].Day != monday || all[0].Name != "Posy Thackeray" || all[1].Reason != "" {
		t.Errorf("%d, %+v", len(all), all[0])
	}
}

func TestOnlyTheOwnerMayPlanTheRoster(t *testing.T) {
	h := open(t)
	h.bram.Role = actor.Desk
	for who, want := range map[*actor.Actor]apperr.Kind{&h.posy: apperr.Forbidden, &h.bram: apperr.Forbidden, {}: apperr.Unsigned} {
		kind(t, h.SaveShifts(t.Context(), *who, roster.ShiftsInput{}), want)
		kind(t, h.AddAbsence(t.Context(), *who, roster.AbsenceInput{}), want)
		kind(t, h.RemoveAbsence(t.Context(), *who, roster.AbsenceInput{}), want)
	}
}
