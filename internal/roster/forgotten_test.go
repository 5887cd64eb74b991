package roster_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

func (h *house) forgotten(t *testing.T) []roster.Forgotten {
	t.Helper()
	all, err := roster.ForgottenAt(t.Context(), h.db.Pool, h.now)
	h.ok(t, err)
	return all
}

func TestAnAttendanceOpenPastClosingIsForgotten(t *testing.T) {
	h := open(t)
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:00", "16:00", 30*time.Minute))})
	h.arrive(t, h.posy, at(monday, "08:00"))
	h.arrive(t, h.bram, at(monday, "18:00")) // after closing: an evening of work
	for _, c := range []struct {
		now    time.Time
		names  []string
		likely []time.Time
	}{
		{at(monday, "17:30"), nil, nil},
		{at(monday, "17:31"), []string{"Posy Thackeray"}, []time.Time{at(monday, "16:00")}},
		{at(monday, "23:59"), []string{"Posy Thackeray"}, []time.Time{at(monday, "16:00")}},
		{at(monday.AddDays(1), "00:00"), []string{"Posy Thackeray", "Bram Oakes"}, []time.Time{at(monday, "16:00"), at(monday, "18:01")}},
	} {
		h.now = c.now
		got := h.forgotten(t)
		if len(got) != len(c.names) {
			t.Errorf("at %v: %+v", c.now, got)
			continue
		}
		for i := range got {
			if got[i].Name != c.names[i] || !got[i].Likely.Equal(c.likely[i]) {
				t.Errorf("at %v: %s until %v, want %s until %v", c.now, got[i].Name, got[i].Likely, c.names[i], c.likely[i])
			}
		}
	}
	// What they were in that day goes to when they most likely left.
	if got := h.attended(t, h.posy, monday); got.In != 8*time.Hour || got.Attended != 7*time.Hour+30*time.Minute || !got.Open || !got.Forgotten {
		t.Errorf("%+v", got)
	}
}

// The garage closes at 17:30 by its own clock: 16:30 UTC on the Saturday,
// 17:30 UTC on the Sunday that the clocks go back, the other way in March.
func TestClosingTimeIsByTheGaragesClockWhenTheClocksChange(t *testing.T) {
	for d, utc := range map[workday.Day]int{forward: 16, forward.AddDays(-1): 17, back: 17, back.AddDays(-1): 16} {
		h := open(t)
		y, m, dom := d.Date()
		closing := time.Date(y, m, dom, utc, 30, 0, 0, time.UTC)
		h.arrive(t, h.posy, closing.Add(-4*time.Hour))
		h.now = closing
		if got := h.forgotten(t); len(got) != 0 {
			t.Errorf("%s: forgotten at closing time", d)
		}
		h.now = closing.Add(time.Second)
		if got := h.forgotten(t); len(got) != 1 || !got[0].Likely.Equal(closing) {
			t.Errorf("%s: %+v", d, got)
		}
	}
}

func TestTheLastClockingSaysTheyWereThereThatLong(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.clocked(t, h.posy, at(monday, "17:00"), at(monday, "18:10"))
	h.now = at(monday.AddDays(1), "08:00")
	if got := h.forgotten(t); len(got) != 1 || !got[0].Likely.Equal(at(monday, "18:10")) {
		t.Errorf("%+v", got)
	}
	if got := h.attended(t, h.posy, monday); got.In != 9*time.Hour+40*time.Minute {
		t.Errorf("%v", got.In)
	}
}

func TestComingInAgainEndsTheForgottenDayOnRecord(t *testing.T) {
	h := open(t)
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:00", "16:00", 30*time.Minute))})
	first := h.arrive(t, h.posy, at(monday, "08:00"))
	second := h.arrive(t, h.posy, at(monday.AddDays(1), "08:05"))
	if second.ID == first.ID || !second.From.Equal(at(monday.AddDays(1), "08:05")) {
		t.Errorf("%+v", second)
	}
	a, err := roster.ByID(t.Context(), h.db.Pool, first.ID)
	h.ok(t, err)
	if !a.To.Equal(at(monday, "16:00")) || a.Break != 30*time.Minute || !a.Corrected {
		t.Errorf("%+v", a)
	}
	if got := h.forgotten(t); len(got) != 0 {
		t.Errorf("still forgotten: %+v", got)
	}
	var n int
	h.scan(t, &n, `select count(*) from event where kind = 'attendance ended afterwards' and detail->'is'->>'to' = '2026-10-05T15:00:00Z'`)
	if n != 1 {
		t.Errorf("%d events", n)
	}
}

func TestWhoForgotYesterdayCannotSimplyLeaveToday(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "08:00"))
	h.now = at(monday.AddDays(1), "09:00")
	_, err := h.Leave(t.Context(), h.posy)
	kind(t, err, apperr.Conflict)
	// A night's work ends after midnight.
	h.arrive(t, h.bram, at(monday, "17:00"))
	h.leave(t, h.bram, at(monday.AddDays(1), "01:30"))
}

func TestACorrectionKeepsBothTimesAndTheReason(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.now = at(monday.AddDays(1), "08:00")
	in := correction(t, h, h.posy, at(monday, "08:15"), at(monday, "17:05"), 45*time.Minute)
	in.Reason = "went home  early"
	got, err := h.Correct(t.Context(), h.posy, in) // one's own
	h.ok(t, err)
	if !got.From.Equal(at(monday, "08:15")) || !got.To.Equal(at(monday, "17:05")) || got.Break != 45*time.Minute || !got.Corrected {
		t.Errorf("%+v", got)
	}
	var raw []byte
	h.scan(t, &raw, `select detail from event where kind = 'attendance corrected' and staff_name = 'Posy Thackeray'`)
	var d struct {
		Was, Is struct{ From, To, Break string }
		Reason  string
	}
	h.ok(t, json.Unmarshal(raw, &d))
	if d.Was.From != "2026-10-05T07:30:00Z" || d.Was.To != "" || d.Is.From != "2026-10-05T07:15:00Z" || d.Is.To != "2026-10-05T16:05:00Z" ||
		d.Is.Break != "45 min" || d.Reason != "went home early" {
		t.Errorf("%s", raw)
	}
	if day := h.attended(t, h.posy, monday); day.Attended != 8*time.Hour+5*time.Minute {
		t.Errorf("%+v", day)
	}
	// From the version it was made from, once.
	_, err = h.Correct(t.Context(), h.posy, in)
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict {
		t.Fatalf("%v", err)
	}
	if cur, ok := e.Current.(roster.Attendance); !ok || !cur.To.Equal(got.To) {
		t.Errorf("%+v", e.Current)
	}
}

func TestATimeThatWasNeverNotedCanBeAdded(t *testing.T) {
	h := open(t)
	h.now = at(monday, "18:00")
	in := roster.CorrectionInput{StaffID: h.bram.StaffID, From: at(monday, "08:30"), To: at(monday, "12:00"), Reason: "tablet was flat"}
	_, err := h.Correct(t.Context(), h.owner, in)
	h.ok(t, err)
	if got := h.attended(t, h.bram, monday); got.Attended != 3*time.Hour+30*time.Minute {
		t.Errorf("%+v", got)
	}
	in.From, in.To = at(monday, "11:00"), at(monday, "13:00")
	_, err = h.Correct(t.Context(), h.owner, in)
	wants(t, err, "from") // in twice at once
	in.StaffID = 999
	_, err = h.Correct(t.Context(), h.owner, in)
	kind(t, err, apperr.NotFound)
}

func TestWhatIsWrongWithACorrectionIsSaidAtTheField(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.clocked(t, h.posy, at(monday, "09:00"), at(monday, "16:00"))
	h.now = at(monday, "18:00")
	good := correction(t, h, h.posy, at(monday, "08:30"), at(monday, "17:30"), 0)
	for name, c := range map[string]struct {
		field string
		spoil func(*roster.CorrectionInput)
	}{
		"no reason":         {"reason", func(in *roster.CorrectionInput) { in.Reason = " " }},
		"bytes":             {"reason", func(in *roster.CorrectionInput) { in.Reason = "\xff" }},
		"no from":           {"from", func(in *roster.CorrectionInput) { in.From = time.Time{} }},
		"no to":             {"to", func(in *roster.CorrectionInput) { in.To = time.Time{} }},
		"backwards":         {"to", func(in *roster.CorrectionInput) { in.To = in.From }},
		"to come":           {"to", func(in *roster.CorrectionInput) { in.To = h.now.Add(time.Second) }},
		"days":              {"to", func(in *roster.CorrectionInput) { in.From = in.To.Add(-25 * time.Hour) }},
		"break below":       {"break", func(in *roster.CorrectionInput) { in.Break = -time.Minute }},
		"all break":         {"break", func(in *roster.CorrectionInput) { in.Break = 9 * time.Hour }},
		"after the work":    {"from", func(in *roster.CorrectionInput) { in.From = at(monday, "09:01") }},
		"before its end":    {"to", func(in *roster.CorrectionInput) { in.To = at(monday, "15:59") }},
		"nobody to add for": {"staff", func(in *roster.CorrectionInput) { in.ID = 0 }},
	} {
		in := good
		c.spoil(&in)
		_, err := h.Correct(t.Context(), h.owner, in)
		t.Run(name, func(t *testing.T) { wants(t, err, c.field) })
	}
	missing := good
	missing.ID = 999
	_, err := h.Correct(t.Context(), h.owner, missing)
	kind(t, err, apperr.NotFound)
	_, err = h.Correct(t.Context(), h.owner, good)
	h.ok(t, err)
}

func TestOnesOwnTimesMayBeCorrectedAndOthersOnlyWithTheRight(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "08:30"))
	h.now = at(monday, "18:00")
	in := correction(t, h, h.posy, at(monday, "08:30"), at(monday, "17:30"), 0)
	_, err := h.Correct(t.Context(), h.bram, in)
	kind(t, err, apperr.Forbidden)
	_, err = h.Correct(t.Context(), h.bram, roster.CorrectionInput{StaffID: h.posy.StaffID, From: at(monday, "06:00"), To: at(monday, "07:00"), Reason: "r"})
	kind(t, err, apperr.Forbidden)
	_, err = h.Correct(t.Context(), actor.Actor{}, in)
	kind(t, err, apperr.Unsigned)
	_, err = h.Correct(t.Context(), h.posy, in)
	h.ok(t, err)
}

func TestTheDaysOfAStretchAreListedByTheGaragesDay(t *testing.T) {
	h := open(t)
	h.arrive(t, h.posy, at(monday, "23:30"))
	h.leave(t, h.posy, at(monday.AddDays(1), "00:30"))
	set := garageSettings(t, h)
	for d, want := range map[workday.Day]int{monday.AddDays(-1): 0, monday: 1, monday.AddDays(1): 1, monday.AddDays(2): 0} {
		got, err := roster.Between(t.Context(), h.db.Pool, set, d, d, 10)
		if h.ok(t, err); len(got) != want {
			t.Errorf("%s: %d", d, len(got))
		}
	}
}
