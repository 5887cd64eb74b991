package garageweb_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"rampside/internal/roster"
	"rampside/web/ui"
)

func (s *site) cell(who int64, day int) string {
	return "shift." + ui.Itoa(who) + "." + ui.Itoa(int64(day))
}

func TestShiftsAreTypedIntoOneTable(t *testing.T) {
	s := newSite(t)
	const path = "/garage/hours"
	posy := int64(s.Posy.StaffID)
	v := s.get(path).form(path, s.cell(posy, 0), "8.30 to 17.30, 60", s.cell(posy, 5), "9-12")
	s.post(path, v).went(path)
	v = s.get(path).form(path)
	if v.Get(s.cell(posy, 0)) != "08:30-17:30, 60" || v.Get(s.cell(posy, 5)) != "09:00-12:00" || v.Get(s.cell(posy, 1)) != "" {
		t.Errorf("%v", v)
	}
	got, err := roster.Available(t.Context(), s.DB.Pool, s.Day, s.Day.AddDays(6))
	if s.OK(err); got[s.Day] != 8*time.Hour || got[s.Day.AddDays(5)] != 0 { // closed on Saturdays
		t.Errorf("%v", got)
	}
	a := s.post(path, s.get(path).form(path, s.cell(posy, 1), "nine to five", s.cell(posy, 2), "17:30-08:30"))
	a.refused(s.cell(posy, 1))
	a.refused(s.cell(posy, 2))
	if kept := a.form(path); kept.Get(s.cell(posy, 1)) != "nine to five" || kept.Get(s.cell(posy, 0)) != "08:30-17:30, 60" {
		t.Errorf("%v", kept)
	}
}

func TestShiftsChangedMeanwhileAreShownCellByCell(t *testing.T) {
	s := newSite(t)
	const path = "/garage/hours"
	posy, bram := int64(s.Posy.StaffID), int64(s.Bram.StaffID)
	late := s.get(path).form(path, s.cell(posy, 0), "8-16", s.cell(bram, 0), "8-12")
	s.post(path, s.get(path).form(path, s.cell(posy, 0), "10-18")).went(path)
	a := s.post(path, late)
	if a.Status != http.StatusConflict {
		t.Fatalf("%d", a.Status)
	}
	a.has("Posy Thackeray, Monday", "10:00-18:00", "Bram Oakes, Monday")
	s.post(path, a.form(path)).went(path)
	v := s.get(path).form(path)
	if v.Get(s.cell(posy, 0)) != "08:00-16:00" || v.Get(s.cell(bram, 0)) != "08:00-12:00" {
		t.Errorf("%v", v)
	}
}

func TestAnAbsenceIsNotedAndTakenBack(t *testing.T) {
	s := newSite(t)
	const path, away = "/garage/hours", "/garage/hours/away"
	s.post(away, s.get(path).form(away)).refused("staff")
	s.post(away, s.get(path).form(away, "staff", ui.Itoa(s.Bram.StaffID), "from", "2026-10-12", "to", "2026-10-09")).refused("to")
	s.post(away, s.get(path).form(away, "staff", ui.Itoa(s.Bram.StaffID), "from", "12/10/2026", "to", "14/10/2026", "reason", "course")).went(path)
	s.post(away, s.get(path).form(away, "staff", ui.Itoa(s.Posy.StaffID), "from", "13/10/2026")).went(path) // one day
	a := s.get(path)
	a.has("Bram Oakes Monday 12 October 2026 to Wednesday 14 October 2026 course", "Posy Thackeray Tuesday 13 October 2026")
	s.post(away+"/remove", a.form(away+"/remove")).went(path)
	if n := s.count(`select count(*) from absence`); n != 1 {
		t.Errorf("%d days left", n)
	}
}

func TestWhoWasInIsShownWithItsBreaksAndPutRight(t *testing.T) {
	s := newSite(t)
	const path = "/garage/hours"
	s.post(path, s.get(path).form(path, s.cell(int64(s.Posy.StaffID), 0), "08:30-17:30, 60"))
	done := s.in(s.Posy, "08:30", "16:30")
	open := s.in(s.Bram, "09:00", "")
	s.Clock = time.Date(2026, 10, 5, 17, 0, 0, 0, time.UTC) // 18:00 summer time, after closing
	a := s.get(path)
	a.has("Still signed in after closing", "Bram Oakes, Mon 5 Oct, 09:00 until now; most likely left at 17:30", "still in after closing",
		"Posy Thackeray 08:30 to 16:30 1.0 h 7.0 h")

	at := "/attendance/" + ui.Itoa(open.ID)
	v := s.get(at).form(at, "to", "2026-10-05T17:15", "reason", "")
	s.post(at, v).refused("reason")
	v = again(v)
	v.Set("reason", "left by the back door")
	s.post(at, v).went(path)
	s.get(path).has("Bram Oakes Mon 5 Oct 09:00 to 17:15", "put in afterwards")
	if n := s.count(`select count(*) from event where kind = 'attendance corrected' and detail->>'reason' = 'left by the back door'`); n != 1 {
		t.Errorf("%d on record", n)
	}

	// A late edit shows both.
	at = "/attendance/" + ui.Itoa(done.ID)
	late := s.get(at).form(at, "to", "2026-10-05T17:00", "reason", "stayed on")
	s.post(at, s.get(at).form(at, "break", "30", "reason", "short break")).went(path)
	b := s.post(at, late)
	if b.Status != http.StatusConflict {
		t.Fatalf("%d", b.Status)
	}
	b.has("2026-10-05T16:30", "30")
	s.post(at, b.form(at)).went(path)
	s.get(path).has("Posy Thackeray Mon 5 Oct 08:30 to 17:00 1.0 h")
}

func TestATechnicianPutsTheirOwnTimeRightAndNobodyElses(t *testing.T) {
	s := newSite(t)
	mine := s.in(s.Posy, "08:30", "16:30")
	at := "/attendance/" + ui.Itoa(mine.ID)
	a := s.do("posy", http.MethodGet, at, nil)
	v := a.form(at, "to", "2026-10-05T16:00", "reason", "typed the wrong hour")
	if b := s.do("bram", http.MethodPost, at, v); b.Status != http.StatusForbidden {
		t.Errorf("somebody else: %d", b.Status)
	}
	s.do("posy", http.MethodPost, at, again(v)).went("/")
	if n := s.count(`select count(*) from attendance where upper(during) = '2026-10-05 15:00+00'`); n != 1 {
		t.Error("not put right")
	}
}

// What the field shows to the minute keeps its seconds unless it is changed.
func TestATimeThatIsNotChangedKeepsItsSeconds(t *testing.T) {
	s := newSite(t)
	mine := s.in(s.Posy, "08:30", "16:30")
	s.exec(`update attendance set during = tstzrange(lower(during) + interval '41 seconds', upper(during))`)
	at := "/attendance/" + ui.Itoa(mine.ID)
	s.post(at, s.get(at).form(at, "to", "2026-10-05T16:20", "reason", "early")).went("/garage/hours")
	if n := s.count(`select count(*) from attendance where lower(during) = '2026-10-05 07:30:41+00' and upper(during) = '2026-10-05 15:20+00'`); n != 1 {
		t.Error("the seconds were lost")
	}
}

func TestATimeThatWasNeverNotedIsAdded(t *testing.T) {
	s := newSite(t)
	const path = "/attendance/new"
	blank := s.post(path, s.get(path).form(path))
	for _, field := range []string{"staff", "from", "to", "reason"} {
		blank.refused(field)
	}
	s.Clock = time.Date(2026, 10, 5, 17, 0, 0, 0, time.UTC)
	v := s.get(path).form(path, "staff", ui.Itoa(s.Bram.StaffID), "from", "2026-10-05T08:30", "to", "2026-10-05T12:00", "reason", "tablet was flat")
	s.post(path, v).went("/garage/hours")
	a := s.get("/garage/hours")
	a.has("Bram Oakes 08:30 to 12:00 0.0 h 3.5 h")
	if a := s.post(path, again(v)); a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.problem("from"), "in at that time already") {
		t.Errorf("%d %s", a.Status, a.text(".problems"))
	}
	v = again(v)
	v.Set("from", "2026-03-29T01:30") // the clocks skip it
	s.post(path, v).refused("from")
}
