package floorweb_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

func at(clock string) time.Time { return clocktest.At(clocktest.Today, clock) }

func path(id jobcard.LineID, more string) string { return fmt.Sprintf("/floor/lines/%d%s", id, more) }

func TestOneTapClocksOnOneTicksAndTwoSnag(t *testing.T) {
	s := newSite(t)
	card, ls := s.Book(t, jobcard.Booking{
		Here: true, Lines: []jobcard.NewLine{s.Line("Thermostat housing"), s.Line("Wiper arms")},
		Visit: jobcard.Visit{PromisedAt: at("16:30"), CustomerWords: "It never gets warm."},
	}, false)
	part := s.Part(t, card, ls[0], "Housing", jobcard.Arrived)
	s.Agree(t, card)

	page := s.get("posy", "/floor")
	s.see(page, http.StatusOK, "Posy Thackeray", "not signed in", "You are not clocked on", "Next",
		"Thermostat housing", "must do · promised 16:30, 1.0 h", "Check that Housing fits", "Clock on", "Wiper arms")
	if page.Find("main").AttrOr("data-live", "") != "garage" {
		t.Error("the floor does not follow the garage")
	}
	// One tap.
	s.done(s.post("posy", path(ls[0], "/on")), "/floor")
	s.Pass(36 * time.Minute)
	s.see(s.get("posy", "/floor"), http.StatusOK, "is in.", "In your hands", "Thermostat housing", "Since 08:00 · 0.6 h of 1.0 h",
		"Tick it done", "Snag", "Clock off", "Next", "Wiper arms")
	s.see(s.get("bram", "/floor"), http.StatusOK, "Next", "Wiper arms", "In hand now", "Thermostat housing", "Posy Thackeray since 08:00.", "Join in")
	// Two taps: the first one only looks.
	snag := s.get("posy", path(ls[0], "/snag"))
	s.see(snag, http.StatusOK, "Wrong part: Housing", "It goes back", "A part is missing: Housing", "The job has grown", "Found a fault", "Blocked by something else")
	form := snag.Find("button:contains('Wrong part: Housing')").Closest("form")
	pairs := []string{}
	for _, name := range []string{"key", "kind", "part"} {
		pairs = append(pairs, name, form.Find("input[name='"+name+"']").AttrOr("value", ""))
	}
	s.done(s.post("posy", form.AttrOr("action", ""), pairs...), path(ls[0], ""))
	if p, _ := s.Sheet(t, card).Part(part); p.Supply != jobcard.GoingBack {
		t.Errorf("the part is %s", p.Supply)
	}
	s.see(s.get("posy", "/floor"), http.StatusOK, "You are not clocked on", "Waiting on parts", "Thermostat housing", "Wrong part.", "Housing is needed.")
	// One tap.
	s.done(s.post("posy", path(ls[1], "/on")), "/floor")
	s.Pass(time.Hour)
	s.done(s.post("posy", path(ls[1], "/tick")), "/floor")
	if l := s.LineOf(t, card, ls[1]); l.WorkState != jobcard.Done {
		t.Errorf("the line is %s", l.WorkState)
	}
}

func TestCautionsStandBeforeTheFirstClocking(t *testing.T) {
	s := newSite(t)
	brakes := s.Line("Front pads")
	brakes.Cautions = []caution.Key{caution.Brakes}
	_, ls := s.Book(t, jobcard.Booking{Here: true, Lines: []jobcard.NewLine{brakes, brakes},
		Facts: []vehicle.FactInput{{Key: "fuel", Value: "electric", Source: vehicle.FromCar}}}, true)
	page := s.get("posy", "/floor")
	s.see(page, http.StatusOK, "Front pads", "Brakes and clutch", "air line", "Source: HSE", "High voltage", caution.Sentence, "I have read these: clock on", "Cautions to read, then clock on")
	if n := page.Find("details.fold").Length(); n != 1 {
		t.Errorf("%d cautions are folded: those of the next line stand open", n)
	}
	// A plain tap without the word that they were read leads to them.
	read := s.post("posy", path(ls[0], "/on"), "back", path(ls[0], ""))
	s.see(read, http.StatusConflict, "Read this first", "Before you start “Front pads”", "High voltage", "I have read these: clock on")
	form := read.Find("button:contains('I have read these')").Closest("form")
	pairs := []string{"key", form.Find("input[name=key]").AttrOr("value", ""), "back", form.Find("input[name=back]").AttrOr("value", "")}
	for _, n := range form.Find("input[name=caution]").Nodes {
		for _, a := range n.Attr {
			if a.Key == "value" {
				pairs = append(pairs, "caution", a.Val)
			}
		}
	}
	s.done(s.post("posy", form.AttrOr("action", ""), pairs...), path(ls[0], ""))
	if n := s.Count(t, `select cardinality(cautions) from caution_read`); n != 2 {
		t.Errorf("%d read", n)
	}
	// Seen again on the line's own page, with nothing more to say.
	s.see(s.get("posy", path(ls[0], "")), http.StatusOK, "Front pads", "Clock off", "Cautions", "High voltage", caution.Sentence)
	s.see(s.post("bram", path(ls[0], "/on"), "caution", "made up"), http.StatusUnprocessableEntity, "Choose cautions from the list")
}

func TestALinesPageTellsWhatATechnicianNeeds(t *testing.T) {
	s := newSite(t)
	first := s.Line("Drain the coolant")
	second := s.Line("Thermostat housing")
	second.Note = "look at the hose too"
	card, ls := s.Book(t, jobcard.Booking{
		Here: true, Lines: []jobcard.NewLine{first, second},
		Facts: []vehicle.FactInput{{Key: "engine_code", Value: "CJBA", Source: vehicle.FromPlate}, {Key: "fuel", Value: "petrol", Source: vehicle.FromCar}, {Key: "fuel", Value: "electric", Source: vehicle.Assumed}},
		Visit: jobcard.Visit{PromisedAt: at("16:30"), CustomerWords: "It never gets warm."},
	}, false)
	s.Part(t, card, ls[1], "Housing", jobcard.Ordered)
	s.Agree(t, card)
	_, err := s.Cards.SetOrder(t.Context(), s.Desk, jobcard.OrderInput{LineID: ls[1], After: ls[0]})
	clocktest.Ok(t, err)
	page := s.get("posy", path(ls[1], ""))
	s.see(page, http.StatusOK, "Thermostat housing", "Corvane Alder", "promised 16:30", "must do", "open", "agreed", "0.0 h of 1.0 h",
		"if all goes well", "0.5 h", "Comes after “Drain the coolant”", "Put it off", "Wait for parts")
	s.see(page, http.StatusOK, "What the customer says", "It never gets warm.", "Parts", "ordered", "Housing", "SL-100", "due 14:30",
		"unchecked", "It is here", "Does it fit?", "Fits any car", "Look at the hose too.", "Photos", "photos of", "The car",
		"Engine code", "CJBA", "maker's plate", "Fuel", "sources differ")
	s.seeNot(page, "Clock on", "£", "12.50", "66")
	if live := page.Find("main").AttrOr("data-live", ""); live != fmt.Sprintf("card:%d", card) {
		t.Errorf("the page follows %q", live)
	}
	// Out of turn is refused even when it is tried.
	s.see(s.post("posy", path(ls[1], "/on")), http.StatusConflict, "comes after “Drain the coolant”")
}

func TestThereIsNoMoneyOnTheFloor(t *testing.T) {
	s := newSite(t)
	card, ls := s.Book(t, jobcard.Booking{Here: true, Lines: []jobcard.NewLine{s.Line("Clutch")}}, false)
	p := s.Part(t, card, ls[0], "Clutch kit", jobcard.Arrived)
	s.Agree(t, card)
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	k, _, err := s.Clock.Current(t.Context(), s.Posy)
	clocktest.Ok(t, err)
	for _, path := range []string{
		"/floor", path(ls[0], ""), path(ls[0], "/snag"), path(ls[0], "/snag/wrong-part"), path(ls[0], "/snag/job-has-grown"), path(ls[0], "/defer"),
		path(ls[0], fmt.Sprintf("/parts/%d", p)), "/floor/clockings", fmt.Sprintf("/floor/clockings/%d", k.ID),
	} {
		page := s.get("posy", path)
		html, err := page.Html()
		clocktest.Ok(t, err)
		// The rate, the cost and the price of the shop, in pence and in pounds.
		for _, money := range []string{"£", "66.00", "6600", "12.50", "1250", "18.00", "1800", "16.25"} {
			if strings.Contains(html, money) {
				t.Errorf("%s shows %q", path, money)
			}
		}
		if page.status != http.StatusOK {
			t.Errorf("%s: %d", path, page.status)
		}
	}
}

func TestWhatIsNotAgreedIsPlainlySo(t *testing.T) {
	s := newSite(t)
	card, ls := s.Book(t, jobcard.Booking{Here: true, Lines: []jobcard.NewLine{s.Line("Exhaust hanger")}}, false)
	s.see(s.get("posy", "/floor"), http.StatusOK, "Nothing that is agreed waits for you", "Not agreed yet", "so they wait", "Exhaust hanger", "The customer has not said yes: the desk asks them.")
	s.seeNot(s.get("posy", "/floor"), "Clock on")
	line := s.get("posy", path(ls[0], ""))
	s.see(line, http.StatusOK, "Not agreed yet. The customer has not said yes", "Ask, on the card")
	s.seeNot(line, "Clock on")
	s.seeNot(line, "Tick it done")
	for _, act := range []string{"/on", "/tick"} {
		s.see(s.post("posy", path(ls[0], act)), http.StatusConflict, "you cannot", "the customer has not said yes to it", "Back to the line", "Ask, on the card")
	}
	_, err := s.Cards.GoAhead(t.Context(), s.Desk, jobcard.AheadInput{LineID: ls[0], Reason: "they are on a ship"})
	if err != nil {
		t.Fatal(err)
	}
	s.see(s.get("posy", "/floor"), http.StatusOK, "Next", "not agreed, go ahead because they are on a ship", "Clock on")
	s.done(s.post("posy", path(ls[0], "/on")), "/floor")
	s.see(s.get("posy", path(ls[0], "")), http.StatusOK, "Not agreed. It goes ahead all the same, says Ines Marlow: they are on a ship.")
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.InHand {
		t.Errorf("the line is %s", l.WorkState)
	}
}

func TestASecondPersonChecksWithATorque(t *testing.T) {
	s := newSite(t)
	wheels := s.Line("Front pads")
	wheels.WheelsOff = true
	card, ls := s.Car(t, wheels)
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	s.done(s.post("posy", path(ls[0], "/tick"), "back", path(ls[0], "")), path(ls[0], ""))
	own := s.get("posy", "/floor")
	s.see(own, http.StatusOK, "To be checked by a second person", "Front pads", "somebody else has to check it")
	s.seeNot(own, "Check it")
	s.seeNot(s.get("posy", path(ls[0], "")), "Check it")
	s.see(s.post("posy", path(ls[0], "/check"), "torque_nm", "120"), http.StatusForbidden, "somebody else must check it")
	s.see(s.get("bram", "/floor"), http.StatusOK, "To be checked", "Front pads", "Check it")
	s.see(s.get("bram", path(ls[0], "/check")), http.StatusOK, "Wheel torque, Nm")
	for in, words := range map[string]string{"": "give the torque", "lots": "a torque in Nm", "NaN": "a torque in Nm", "0x7": "a torque in Nm", "-5": "between 1 and 2000", "9000": "between 1 and 2000", "0": "a torque in Nm"} {
		a := s.post("bram", path(ls[0], "/check"), "torque_nm", in, "note", "left front")
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.text("main .field-problem"), strings.ToUpper(words[:1])+words[1:]) && !strings.Contains(a.text("main .field-problem"), words) {
			t.Errorf("%q: %d, %q", in, a.status, a.text("main .field-problem"))
		}
		if a.Find("textarea").Text() != "left front" {
			t.Errorf("%q: the note is lost", in)
		}
	}
	s.done(s.post("bram", path(ls[0], "/check"), "torque_nm", "110,5 Nm"), path(ls[0], ""))
	s.see(s.get("bram", path(ls[0], "")), http.StatusOK, "Checked by Bram Oakes at 09:00, wheels at 110.5 Nm.")
	s.done(s.post("posy", path(ls[0], "/reopen"), "reason", "it squeaks"), path(ls[0], ""))
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.Open {
		t.Errorf("the line is %s", l.WorkState)
	}
}

func TestPuttingOffNeedsAReasonAndKeepsWhatWasTyped(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	a := s.post("posy", path(ls[0], "/defer"), "reason", " ", "decided_by", "Ottoline Reave")
	s.see(a, http.StatusUnprocessableEntity, "Put it off")
	if a.text(".field-problem") == "" || a.Find("input[name=decided_by]").AttrOr("value", "") != "Ottoline Reave" {
		t.Errorf("%q, %q", a.text(".field-problem"), a.Find("input[name=decided_by]").AttrOr("value", ""))
	}
	s.done(s.post("posy", path(ls[0], "/defer"), "reason", "no time today", "decided_by", "Ottoline Reave"), path(ls[0], ""))
	s.see(s.get("posy", path(ls[0], "")), http.StatusOK, "deferred", "Put off: no time today, decided by Ottoline Reave.", "Open it again")
	s.see(s.get("posy", "/floor"), http.StatusOK, "Deferred at this visit", "Clutch", "No time today (Ottoline Reave).")
	s.done(s.post("ines", path(ls[1], "/wait"), "reason", "arms"), path(ls[1], ""))
	if l := s.LineOf(t, card, ls[1]); l.WorkState != jobcard.Waiting {
		t.Errorf("the line is %s", l.WorkState)
	}
	s.see(s.post("posy", path(ls[1], "/wait"), "reason", "again"), http.StatusConflict, "waiting on parts already")
	s.see(s.post("posy", path(ls[1], "/reopen")), http.StatusUnprocessableEntity, "Open it again")
}

func TestADoubleTapIsOneChange(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	key := "0123456789abcdef-tap"
	for range 2 {
		s.done(s.post("posy", path(ls[0], "/on"), "key", key), "/floor")
	}
	if n := s.Count(t, `select count(*) from clocking`); n != 1 {
		t.Errorf("%d clockings", n)
	}
	s.Pass(time.Minute)
	for range 2 {
		s.done(s.post("posy", path(ls[0], "/tick"), "key", key+"2"), "/floor")
	}
	s.see(s.send("posy", http.MethodPost, path(ls[0], "/on"), nil), http.StatusUnprocessableEntity, "without the key")
}

func TestGoingHomeClocksOffAndSignsOut(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Hour)
	s.see(s.get("posy", "/floor"), http.StatusOK, "Going home")
	s.done(s.post("posy", "/floor/home"), "/floor")
	if n := s.Count(t, `select count(*) from attendance where upper_inf(during)`); n != 0 {
		t.Error("still in")
	}
	page := s.get("posy", "/floor")
	s.seeNot(page, "Going home")
	s.see(s.post("posy", "/floor/home"), http.StatusConflict, "not signed in to work")
	s.see(page, http.StatusOK, "I am in")
	s.done(s.post("posy", "/floor/here"), "/floor")
	s.done(s.post("posy", "/floor/here"), "/floor") // another press changes nothing
	if n := s.Count(t, `select count(*) from attendance where upper_inf(during)`); n != 1 {
		t.Errorf("%d open attendances", n)
	}
	s.see(s.get("posy", "/floor"), http.StatusOK, "Going home")
	s.done(s.post("posy", "/floor/off", "back", "//elsewhere.example/"), "/")
}

func TestAForgottenClockingIsOfferedForCorrection(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	s.Set(at("8:00").Add(17 * time.Second))
	s.On(t, s.Posy, ls[0])
	s.Set(at("18:10"))
	s.see(s.get("posy", "/floor"), http.StatusOK, "The garage has closed since you clocked on")
	page := s.get("posy", "/floor/clockings")
	s.see(page, http.StatusOK, "My clockings", "Monday 5 October 2026", "Still open although the garage has closed", "Clutch", "since 08:00", "End it at 17:30", "On lines that day", "10.17 h")
	form := page.Find("button:contains('End it at')").Closest("form")
	var pairs []string
	for _, name := range []string{"key", "version", "from", "to", "reason", "back"} {
		pairs = append(pairs, name, form.Find("input[name="+name+"]").AttrOr("value", ""))
	}
	s.done(s.post("posy", form.AttrOr("action", ""), pairs...), "/floor/clockings")
	s.see(s.get("posy", "/floor/clockings"), http.StatusOK, "08:00", "17:30", "9.5 h", "Was from 08:00 on, became 08:00 to 17:30: forgot to clock off (Posy Thackeray, 18:10).")
	k := s.Count(t, `select id from clocking`)
	var from time.Time
	clocktest.Ok(t, s.DB.Pool.QueryRow(t.Context(), `select lower(during) from clocking`).Scan(&from))
	if from.Second() != 17 {
		t.Errorf("a start that nobody touched was moved to %v", from)
	}

	edit := fmt.Sprintf("/floor/clockings/%d", k)
	s.see(s.get("posy", edit), http.StatusOK, "Correct a clocking", "Posy Thackeray on “Clutch”", "It never happened")
	a := s.post("posy", edit, "version", "2", "from", "2026-10-05T09:00", "to", "2026-10-05T08:00", "reason", "mistyped")
	s.see(a, http.StatusUnprocessableEntity, "The work must end after it began")
	if a.Find("input[name=reason]").AttrOr("value", "") != "mistyped" {
		t.Error("the reason is lost")
	}
	s.see(s.post("posy", edit, "version", "2", "from", "soon", "to", "2026-10-05T08:00", "reason", "x"), http.StatusUnprocessableEntity, "A date and a time, please")
	s.see(s.post("posy", edit, "version", "1", "from", "2026-10-05T09:00", "to", "2026-10-05T10:00", "reason", "x"), http.StatusConflict, "As it stands now", "2026-10-05T17:30", "Save mine over it")
	s.see(s.post("bram", edit, "version", "2", "void", "yes", "reason", "spite"), http.StatusForbidden, "somebody else's clocking")
	s.see(s.get("bram", edit), http.StatusForbidden, "somebody else's clocking")
	s.see(s.post("ines", edit, "version", "2", "void", "yes", "reason", "tidy"), http.StatusForbidden, "only they or the owner")
	s.done(s.post("wren", edit, "version", "2", "void", "yes", "reason", "was at home"), "/clockings")
	s.see(s.get("posy", "/floor/clockings"), http.StatusOK, "struck out", "Was 08:00 to 17:30, struck out: was at home (Wren Calloway, 18:10).", "0.0 h")
}

func TestTheDeskSeesEverybodysDayAndTechniciansTheirOwn(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	s.On(t, s.Posy, ls[0])
	s.On(t, s.Bram, ls[1])
	s.Pass(90 * time.Minute)
	s.see(s.get("ines", "/clockings"), http.StatusOK, "Clockings", "Bram Oakes", "1.5 h", "Wipers", "Posy Thackeray", "Clutch")
	s.see(s.get("posy", "/clockings"), http.StatusForbidden, "may not see margins")
	mine := s.get("posy", "/floor/clockings")
	s.see(mine, http.StatusOK, "Clutch")
	s.seeNot(mine, "Wipers", "Bram")
	s.see(s.get("posy", "/floor/clockings?day=2026-10-04"), http.StatusOK, "Sunday 4 October 2026", "Nobody was clocked on", "")
	s.see(s.get("posy", "/floor/clockings?day=someday"), http.StatusUnprocessableEntity)
}

func TestNobodyGetsFurtherThanTheirSignIn(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	for _, d := range s.kit.Declared() {
		if !strings.HasPrefix(d.Pattern, "/floor") && d.Pattern != "/clockings" {
			continue
		}
		p := strings.NewReplacer("{line}", fmt.Sprint(ls[0]), "{part}", "1", "{clocking}", "1", "{kind}", "blocked").Replace(d.Pattern)
		a := s.send("", d.Method, p, nil)
		if d.Method == http.MethodGet && (a.status != http.StatusSeeOther || !strings.HasPrefix(a.location, "/sign-in")) ||
			d.Method == http.MethodPost && a.status != http.StatusUnauthorized {
			t.Errorf("%s %s answers a stranger %d %s", d.Method, p, a.status, a.location)
		}
	}
	for _, p := range []string{"/floor/lines/99999", "/floor/lines/x", "/floor/lines/-1", path(ls[0], "/snag/boredom"), path(ls[0], "/parts/9"), "/floor/clockings/9", "/floor/clockings/0x1"} {
		if a := s.get("posy", p); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", p, a.status)
		}
	}
	for _, p := range []string{"/floor/lines/99999/on", "/floor/lines/99999/tick", "/floor/lines/99999/snag", path(ls[0], "/parts/9/fit"), path(ls[0], "/parts/9/arrived"), "/floor/clockings/9"} {
		if a := s.post("posy", p, "kind", string(jobcard.Blocked), "verdict", "fits", "reason", "x", "from", "2026-10-05T08:00", "to", "2026-10-05T08:10"); a.status != http.StatusNotFound {
			t.Errorf("post %s: %d: %s", p, a.status, a.text("main"))
		}
	}
}

func TestPartsAreJudgedByHand(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Clutch"))
	p := s.Part(t, card, ls[0], "Clutch kit", jobcard.Ordered)
	s.Agree(t, card)
	_, err := s.Clock.Wait(t.Context(), s.Posy, clocking.ReasonInput{LineID: ls[0], Reason: "the kit"})
	clocktest.Ok(t, err)
	at := path(ls[0], fmt.Sprintf("/parts/%d", p))
	s.done(s.post("posy", at+"/arrived", "version", fmt.Sprint(partOf(t, s, card, p).Version)), path(ls[0], ""))
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.Open {
		t.Errorf("with its part here the line is %s", l.WorkState)
	}
	s.see(s.get("posy", at), http.StatusOK, "Does it fit?", "Clutch kit", "SL-100", "By what you can tell")
	v := fmt.Sprint(partOf(t, s, card, p).Version)
	a := s.post("posy", at+"/fit", "version", v, "verdict", string(jobcard.DoesNotFit))
	s.see(a, http.StatusUnprocessableEntity, "why it does not fit")
	s.see(s.post("posy", at+"/fit", "version", v), http.StatusUnprocessableEntity, "Please choose one")
	s.see(s.post("posy", at+"/fit", "version", v, "verdict", string(jobcard.Fits)), http.StatusUnprocessableEntity, "how you can tell that it fits")
	s.done(s.post("posy", at+"/fit", "version", v, "verdict", string(jobcard.Fits), "note", "spline by spline"), path(ls[0], ""))
	s.see(s.get("posy", path(ls[0], "")), http.StatusOK, "Clutch kit", "fits", "Posy Thackeray")
	s.see(s.post("bram", at+"/fit", "version", v, "verdict", string(jobcard.CannotTell), "note", "no number on it"), http.StatusConflict,
		"Both versions", "Does it fit", "fits", "no number on it", "Save mine over it")
	s.see(s.post("posy", at+"/arrived", "version", v), http.StatusConflict, "changed this part")
}

func partOf(t *testing.T, s *site, card jobcard.CardID, id jobcard.PartID) jobcard.Part {
	t.Helper()
	p, ok := s.Sheet(t, card).Part(id)
	if !ok {
		t.Fatalf("part %d is gone", id)
	}
	return p
}
