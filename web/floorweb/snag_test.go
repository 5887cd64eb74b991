package floorweb_test

import (
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"rampside/internal/clocking/clocktest"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

func TestAJobThatHasGrownIsAskedInTwoTaps(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Minute)
	form := s.get("posy", path(ls[0], "/snag")).Find("button:contains('The job has grown')").Closest("form")
	var pairs []string
	for _, name := range []string{"key", "kind", "found.title", "found.low", "found.likely", "found.high"} {
		pairs = append(pairs, name, form.Find("input[name='"+name+"']").AttrOr("value", ""))
	}
	s.done(s.post("posy", form.AttrOr("action", ""), pairs...), path(ls[0], ""))
	lines := s.Sheet(t, card).Lines
	more := lines[len(lines)-1]
	if more.Title != "More work: Clutch" || more.Consent != jobcard.Asked || more.Estimate.Likely != time.Hour || more.FoundOn != ls[0] {
		t.Errorf("%+v", more)
	}
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.InHand {
		t.Errorf("the line itself is %s", l.WorkState)
	}
	// A long title still leaves room.
	long := s.Line(strings.Repeat("é", 119))
	card, ls = s.Car(t, long)
	form = s.get("posy", path(ls[0], "/snag")).Find("button:contains('The job has grown')").Closest("form")
	title := form.Find("input[name='found.title']").AttrOr("value", "")
	s.done(s.post("posy", path(ls[0], "/snag"), "kind", "job has grown", "found.title", title, "found.likely", "1.0"), path(ls[0], ""))
	if n := len(s.Sheet(t, card).Lines); n != 2 {
		t.Errorf("%d lines", n)
	}
}

func TestAFaultFoundIsDescribedAndAsked(t *testing.T) {
	s := newSite(t)
	op, err := s.Garage.SaveOperation(t.Context(), s.Owner, garage.OperationInput{
		Name: "Rear pads, renew", LabourTypeID: s.Labour, Low: 40 * time.Minute, Likely: time.Hour, High: 2 * time.Hour, VATCode: money.Standard, Active: true,
	})
	clocktest.Ok(t, err)
	card, ls := s.Car(t, s.Line("Service"))
	page := s.get("posy", path(ls[0], "/snag/found-a-fault"))
	s.see(page, http.StatusOK, "Found a fault", "What was found", "Hours at best", "Hours as a rule", "Hours at worst", "How bad", "Dangerous", "Advisory", "Measured", "Limit", "Note", "Report it")
	if page.Find("datalist option[value='Rear pads, renew']").Length() != 1 {
		t.Error("the operations are not offered")
	}
	post := path(ls[0], "/snag")
	a := s.post("posy", post, "kind", "found a fault", "note", "by the spring", "found.measured", "2 mm", "found.severity", "major")
	s.see(a, http.StatusUnprocessableEntity, "Found a fault")
	if a.Find("textarea[name=note]").Text() != "by the spring" || a.Find("input[name='found.measured']").AttrOr("value", "") != "2 mm" ||
		a.Find("input[name='found.severity'][checked]").AttrOr("value", "") != "major" || a.text(".field-problem") == "" {
		t.Error("what was typed is lost")
	}
	s.done(s.post("posy", post, "kind", "found a fault", "found.title", "rear PADS, renew", "found.severity", "major", "found.measured", "2 mm", "found.limit", "3 mm"), path(ls[0], ""))
	lines := s.Sheet(t, card).Lines
	got := lines[len(lines)-1]
	if got.OperationID != op.ID || got.Estimate.Likely != time.Hour || got.Estimate.Low != 40*time.Minute || got.Consent != jobcard.Asked {
		t.Errorf("%+v", got)
	}
	s.see(s.get("posy", path(got.ID, "")), http.StatusOK, "Not agreed yet", "Found (major): rear PADS, renew, measured 2 mm, limit 3 mm.")
	s.see(s.get("posy", path(ls[0], "")), http.StatusOK, "Notes", "Found (major)", "Posy Thackeray at 08:00: found a fault.")
}

func TestSayingMoreAboutASnag(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Thermostat"))
	first := s.Part(t, card, ls[0], "Housing", jobcard.Arrived)
	second := s.Part(t, card, ls[0], "Gasket", jobcard.Ordered)
	s.Agree(t, card)
	page := s.get("posy", path(ls[0], "/snag"))
	s.see(page, http.StatusOK, "Wrong part: Housing", "Wrong part: Gasket", "A part is missing: Housing", "A part is missing: Gasket", "Say more first")
	details := s.get("posy", path(ls[0], "/snag/wrong-part"))
	s.see(details, http.StatusOK, "The wrong part", "Which part", "Housing", "Gasket", "Put this line off to another visit")
	if details.Find("option[selected]").Text() != "Housing" {
		t.Errorf("offered first is %q", details.Find("option[selected]").Text())
	}
	s.done(s.post("posy", path(ls[0], "/snag"), "kind", "wrong part", "part", itoa(second), "note", "too thick", "defer", "yes", "decided_by", "Ottoline Reave"), path(ls[0], ""))
	l := s.LineOf(t, card, ls[0])
	if l.WorkState != jobcard.Deferred || l.StateReason != "wrong part: too thick" || l.DecidedBy != "Ottoline Reave" {
		t.Errorf("%+v", l)
	}
	if p, _ := s.Sheet(t, card).Part(second); p.Supply != jobcard.GoingBack {
		t.Errorf("the gasket is %s", p.Supply)
	}
	if p, _ := s.Sheet(t, card).Part(first); p.Supply != jobcard.Arrived {
		t.Errorf("the housing is %s", p.Supply)
	}
	s.see(s.get("posy", path(ls[0], "/snag")), http.StatusOK, "there is nothing to report")
}

func TestASnagOfAnotherLinesPartIsRefusedAtTheField(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Thermostat"), s.Line("Wipers"))
	p := s.Part(t, card, ls[1], "Arms", jobcard.Arrived)
	a := s.post("posy", path(ls[0], "/snag"), "kind", "wrong part", "part", itoa(p))
	s.see(a, http.StatusUnprocessableEntity, "This part is not on the line")
	s.see(s.post("posy", path(ls[0], "/snag"), "kind", "wrong part", "part", "999999"), http.StatusNotFound, "There is no such part")
	s.see(s.post("posy", path(ls[0], "/snag"), "kind", "boredom"), http.StatusUnprocessableEntity)
	s.see(s.post("posy", path(ls[0], "/snag")), http.StatusUnprocessableEntity, "say what the snag is")
}

func itoa[T ~int64](id T) string { return strconv.FormatInt(int64(id), 10) }

// hostile is what nobody should type, and somebody will.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `'; drop table line; --`, "../../../etc/passwd", "\x00", "a\x00b", "\xff\xfe",
	strings.Repeat("x", 5000), "\u202Egnp.exe", "-1", "1e309", "99999999999999999999", "{{.}}", "%s%n", " ",
}

func TestHostileWordsNeverBreakAPage(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	p := s.Part(t, card, ls[0], "Kit", jobcard.Arrived)
	s.Agree(t, card)
	on := s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	forms := map[string][]string{
		path(ls[0], "/on"):                        {"caution", "back"},
		path(ls[0], "/tick"):                      {"version"},
		path(ls[0], "/defer"):                     {"reason", "decided_by"},
		path(ls[0], "/wait"):                      {"reason"},
		path(ls[0], "/reopen"):                    {"reason"},
		path(ls[0], "/check"):                     {"torque_nm", "note"},
		path(ls[0], "/snag"):                      {"kind", "part", "note", "found.title", "found.likely", "found.low", "found.high", "found.severity", "found.measured", "found.limit", "defer", "decided_by"},
		path(ls[0], "/parts/"+itoa(p)+"/fit"):     {"verdict", "note", "version"},
		path(ls[0], "/parts/"+itoa(p)+"/arrived"): {"version"},
		"/floor/clockings/" + itoa(on.ClockingID): {"from", "to", "reason", "version", "void"},
	}
	good := map[string]string{
		"kind": "found a fault", "reason": "because", "verdict": "does not fit", "note": "n", "from": "2026-10-05T08:00", "to": "2026-10-05T08:30",
		"found.title": "More", "found.likely": "1", "version": "1", "torque_nm": "120",
	}
	for path, fields := range forms {
		for _, field := range fields {
			for _, word := range hostile {
				pairs := []string{field, word}
				for _, other := range fields {
					if other != field && good[other] != "" {
						pairs = append(pairs, other, good[other])
					}
				}
				a := s.post("posy", path, pairs...)
				if a.status >= 500 || a.status == http.StatusOK {
					t.Errorf("%s with %s = %.30q: %d", path, field, word, a.status)
				}
				if html, _ := a.Html(); strings.Contains(html, "<script>alert") || strings.Contains(html, "<img src=x") {
					t.Errorf("%s with %s = %.30q: it is in the page as it came", path, field, word)
				}
				if a.location != "" && !strings.HasPrefix(a.location, "/") {
					t.Errorf("%s with %s = %.30q: leads to %q", path, field, word, a.location)
				}
			}
		}
	}
	// What was taken is shown as words.
	for _, page := range []string{"/floor", path(ls[0], ""), path(ls[0], "/snag"), "/floor/clockings"} {
		a := s.get("posy", page)
		if html, _ := a.Html(); a.status != http.StatusOK || strings.Contains(html, "<script>alert") || strings.Contains(html, "<img src=x") {
			t.Errorf("%s: %d", page, a.status)
		}
	}
}
