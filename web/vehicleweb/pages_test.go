package vehicleweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/vehicle"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func (s *site) carPath() string { return "/vehicles/" + ui.Itoa(s.Car) }

func (s *site) keeperPath() string { return "/customers/" + ui.Itoa(s.Keeper) }

// history gives the car a visit with a line left over, and facts that do not
// agree.
func (s *site) history() *jobcard.Sheet {
	s.t.Helper()
	c := s.Book(cardtest.Op(s.Service), cardtest.Op(s.Brakes))
	s.exec(`update line set work_state = 'deferred', state_reason = 'no pads in stock', decided_by = 'Odette Marlowe' where id = $1`, c.Lines[1].ID)
	s.exec(`update card set stage = 'collected', mileage = 42000, customer_words = 'it squeaks' where id = $1`, c.ID)
	for _, f := range []vehicle.FactInput{
		{Key: "engine_code", Value: "K9K 836", Source: vehicle.FromLogbook}, {Key: "engine_code", Value: "K9K 892", Source: vehicle.FromCar},
		{Key: "fuel", Value: "diesel", Source: vehicle.FromLogbook}, {Key: "refrigerant", Value: "R134a", Source: vehicle.FromCar},
	} {
		_, err := s.Vehicles.SetFact(s.t.Context(), s.Posy, vehicle.FactEdit{VehicleID: s.Car, FactInput: f})
		s.OK(err)
	}
	return c
}

func TestTheCarsPageShowsWhatIsKnownAndWhatIsInDoubt(t *testing.T) {
	s := newSite(t)
	c := s.history()
	a := s.get(s.carPath())
	page := a.text("main")
	for _, want := range []string{
		"BD51 SMR Brisling Tern", "VIN 1M8GDM9AXKP042788", "42,000 miles on Monday 5 October 2026", "Odette Marlowe 01632 960123",
		"Sources differ: read off the car outranks logbook. Go and look under the bonnet. Stamped on the block", "Mind: hot coolant.",
		"K9K 892 gone by read off the car 5 Oct 2026, Posy Thackeray", "K9K 836 contradicts logbook 5 Oct 2026", "diesel logbook",
		"Air-conditioning gas", "deferred Front brake pads no pads in stock, decided by Odette Marlowe", "0 of 2 done it squeaks",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not on the page", want)
		}
	}
	if got := a.text("#facts ~ .scroll strong"); got != "K9K 892 diesel R134a" {
		t.Errorf("to go by: %s", got)
	}
	if href, _ := a.Find("#visits ~ .scroll th a").First().Attr("href"); href != "/cards/"+ui.Itoa(c.ID) {
		t.Errorf("the visit leads to %s", href)
	}
	if t.Failed() {
		t.Log(page)
	}
}

func TestATechnicianSeesTheCarAndNoTelephoneNumbers(t *testing.T) {
	s := newSite(t)
	s.history()
	a := s.do("technician", http.MethodGet, s.carPath(), nil)
	page := a.text("body")
	if a.Status != 200 || !strings.Contains(page, "Odette Marlowe") || strings.Contains(page, "960123") || strings.Contains(page, "Change the keeper") || strings.Contains(page, "Book it in") {
		t.Errorf("%d: %s", a.Status, page)
	}
	if a.Find(`a[href^="/customers/"]`).Length() != 0 {
		t.Error("it leads to the customer")
	}
	found := s.do("technician", http.MethodGet, "/vehicles?q=bd51", nil)
	if got := found.text("#found"); !strings.Contains(got, "Odette Marlowe") || strings.Contains(got, "960123") {
		t.Errorf("the search shows %s", got)
	}
	// But what they read off the car they note.
	done := s.do("technician", http.MethodPost, s.carPath()+"/facts", a.form(s.carPath()+"/facts", "fact", "airbags", "value", "6", "source", "car"))
	if done.Status != http.StatusSeeOther {
		t.Errorf("noting a fact: %d %s", done.Status, done.text(".problems"))
	}
	for path, form := range map[string]url.Values{
		s.carPath(): {}, s.carPath() + "/keeper": {}, s.keeperPath(): {},
	} {
		form.Set("key", "0123456789abcdef")
		if a := s.do("technician", http.MethodPost, path, form); a.Status != http.StatusForbidden {
			t.Errorf("posts to %s: %d", path, a.Status)
		}
	}
	if a := s.do("technician", http.MethodGet, s.keeperPath(), nil); a.Status != http.StatusForbidden {
		t.Errorf("reads the customer: %d", a.Status)
	}
}

func TestFactsAreNotedChangedAndRemovedInPlace(t *testing.T) {
	s := newSite(t)
	facts := s.carPath() + "/facts"
	a := s.do("desk", http.MethodPost, facts, s.get(s.carPath()).form(facts, "fact", "tyre_size", "value", "205/55r16 91v", "source", "car"))
	if a.Status != http.StatusSeeOther || !strings.Contains(s.get(s.carPath()).text("#facts ~ .scroll"), "205/55 R16 91V") {
		t.Fatalf("%d %s", a.Status, a.text(".problems"))
	}
	edit, _ := s.get(s.carPath()).Find(`a[aria-label^="Change Tyre size"]`).Attr("href")
	open := s.get(strings.TrimSuffix(edit, "#fact-form"))
	form := open.form(facts)
	if form.Get("value") != "205/55 R16 91V" || form.Get("was") != "205/55 R16 91V" || form.Get("source") != "car" || form.Get("fact") != "tyre_size" {
		t.Fatalf("opens with %v", form)
	}
	bad := s.do("desk", http.MethodPost, facts, open.form(facts, "value", "fat ones"))
	if bad.Status != http.StatusUnprocessableEntity || !strings.Contains(bad.problem("value"), "side wall") || bad.form(facts).Get("value") != "fat ones" || bad.form(facts).Get("was") != form.Get("was") {
		t.Errorf("%d %q %v", bad.Status, bad.problem("value"), bad.form(facts))
	}
	if a := s.do("desk", http.MethodPost, facts, bad.form(facts, "value", "195/65 R15")); a.Status != http.StatusSeeOther {
		t.Errorf("%d %s", a.Status, a.text(".problems"))
	}
	// The page that was open before knows an older value.
	stale := s.do("desk", http.MethodPost, facts, open.form(facts, "value", "215/55 R16"))
	if stale.Status != http.StatusConflict || !strings.Contains(stale.text("main"), "195/65 R15") {
		t.Fatalf("%d %s", stale.Status, stale.text("main"))
	}
	if a := s.do("desk", http.MethodPost, facts, stale.form(facts)); a.Status != http.StatusSeeOther {
		t.Errorf("saving mine over it: %d", a.Status)
	}
	now := s.get(s.carPath())
	if !strings.Contains(now.text("#facts ~ .scroll"), "215/55 R16") {
		t.Errorf("facts: %s", now.text("#facts ~ .scroll"))
	}
	gone := s.do("desk", http.MethodPost, facts+"/remove", now.form(facts+"/remove"))
	if gone.Status != http.StatusSeeOther || s.count(`select count(*) from vehicle_fact`) != 0 || s.count(`select count(*) from event where kind = 'fact removed'`) != 1 {
		t.Errorf("%d %s", gone.Status, gone.text(".problems"))
	}
	if again := s.do("desk", http.MethodPost, facts+"/remove", now.form(facts+"/remove")); again.Status != http.StatusConflict {
		t.Errorf("removed twice: %d", again.Status)
	}
}

func TestACarIsChangedByVersion(t *testing.T) {
	s := newSite(t)
	first, second := s.get(s.carPath()+"?do=edit"), s.get(s.carPath()+"?do=edit")
	if a := s.do("desk", http.MethodPost, s.carPath(), first.form(s.carPath(), "colour", "Slate")); a.Status != http.StatusSeeOther {
		t.Fatalf("%d %s", a.Status, a.text(".problems"))
	}
	stale := s.do("desk", http.MethodPost, s.carPath(), second.form(s.carPath(), "colour", "Sand", "model", "Tern Estate"))
	if stale.Status != http.StatusConflict || !strings.Contains(stale.text("main"), "Slate") || stale.form(s.carPath()).Get("colour") != "Sand" {
		t.Fatalf("%d %s", stale.Status, stale.text("main"))
	}
	if a := s.do("desk", http.MethodPost, s.carPath(), stale.form(s.carPath(), "colour", "Slate")); a.Status != http.StatusSeeOther {
		t.Errorf("saving over it: %d", a.Status)
	}
	if got := s.get(s.carPath()).text("main"); !strings.Contains(got, "Tern Estate") || !strings.Contains(got, "Colour Slate") {
		t.Errorf("now %s", got)
	}
	bad := s.do("desk", http.MethodPost, s.carPath(), s.get(s.carPath()+"?do=edit").form(s.carPath(), "mark", "<b>", "vin", "SALVO2AE4EH877322", "make", " "))
	if bad.Status != http.StatusUnprocessableEntity || bad.problem("mark") == "" || bad.problem("vin") == "" || bad.problem("make") == "" || bad.form(s.carPath()).Get("mark") != "<b>" {
		t.Errorf("%d %s", bad.Status, bad.text(".problems"))
	}
}

func TestTheKeeperIsChangedToSomebodyOnFileOrNew(t *testing.T) {
	s := newSite(t)
	s.someone("Zed Quill", "01632 960777")
	s.someone("Ann Quill", "01632 960888")
	path := s.carPath() + "/keeper"
	open := func() answer { return s.get(s.carPath() + "?do=keeper") }
	post := func(v url.Values) answer { return s.do("desk", http.MethodPost, path, v) }
	for name, c := range map[string]struct {
		changes      []string
		field, about string
	}{
		"nothing":           {nil, "on_file", "who keeps the car"},
		"nobody":            {[]string{"on_file", "nobody at all"}, "on_file", "obody on file"},
		"several":           {[]string{"on_file", "quill"}, "on_file", "everal fit"},
		"no day":            {[]string{"on_file", "zed", "day", ""}, "day", "fill"},
		"a number on file":  {[]string{"name", "Z. Quill", "phone", "+44 1632 960777"}, "phone", "on file"},
		"a bad number":      {[]string{"name", "Jo", "phone", "x"}, "phone", "telephone"},
		"no name":           {[]string{"email", "jo@example.com"}, "name", "name"},
		"a day of nonsense": {[]string{"on_file", "zed", "day", "soon"}, "day", "date"},
	} {
		a := post(open().form(path, c.changes...))
		if a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.problem(c.field), c.about) {
			t.Errorf("%s: %d, at %s: %q; %s", name, a.Status, c.field, a.problem(c.field), a.text(".problems"))
		}
	}
	several := post(open().form(path, "on_file", "quill"))
	choice, _ := several.Find(`input[type=radio][name=customer]`).First().Attr("value")
	if a := post(several.form(path, "customer", choice)); a.Status != http.StatusSeeOther {
		t.Fatalf("choosing: %d %s", a.Status, a.text(".problems"))
	}
	if got := s.get(s.carPath()).text("main"); !strings.Contains(got, "Ann Quill 01632 960888") || !strings.Contains(got, "Odette Marlowe") {
		t.Errorf("kept by: %s", got)
	}
	// A page opened before that change shows it.
	old := open().form(path, "was", ui.Itoa(s.Keeper), "name", "Somebody New", "phone", "01632 960999")
	stale := post(old)
	if stale.Status != http.StatusConflict || !strings.Contains(stale.text("main"), "Ann Quill") || s.count(`select count(*) from customer where name = 'Somebody New'`) != 0 {
		t.Fatalf("%d %s", stale.Status, stale.text("main"))
	}
	if a := post(stale.form(path)); a.Status != http.StatusSeeOther {
		t.Errorf("saving over it: %d %s", a.Status, a.text("main"))
	}
	if got := s.get(s.carPath()).text("#keeper ~ p"); !strings.Contains(got, "Somebody New") {
		t.Errorf("kept by %s", got)
	}
}

func TestTheCustomersPageShowsTheirCarsAndVisits(t *testing.T) {
	s := newSite(t)
	c := s.history()
	a := s.get(s.keeperPath())
	page := a.text("main")
	for _, want := range []string{"Odette Marlowe", "01632 960123", "BD51 SMR", "Brisling Tern", ui.Itoa(c.ID), "42,000 miles"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not on the page: %s", want, page)
		}
	}
	if href, _ := a.Find(`a[href^="tel:"]`).Attr("href"); href != "tel:+441632960123" {
		t.Errorf("the number leads to %s", href)
	}
	open := s.get(s.keeperPath() + "?do=edit")
	if a := s.do("desk", http.MethodPost, s.keeperPath(), open.form(s.keeperPath(), "address", "1 Saltmarsh Lane\r\nTidehaven", "note", "<script>alert(1)</script>")); a.Status != http.StatusSeeOther {
		t.Fatalf("%d %s", a.Status, a.text(".problems"))
	}
	now := s.get(s.keeperPath())
	if now.Find("main script").Length() != 0 || !strings.Contains(now.text("main"), "1 Saltmarsh Lane Tidehaven") {
		t.Errorf("now %s", now.text("main"))
	}
	stale := s.do("desk", http.MethodPost, s.keeperPath(), open.form(s.keeperPath(), "phone", "01632 960999"))
	if stale.Status != http.StatusConflict || !strings.Contains(stale.text("main"), "Tidehaven") {
		t.Errorf("%d %s", stale.Status, stale.text("main"))
	}
	bad := s.do("desk", http.MethodPost, s.keeperPath(), s.get(s.keeperPath()+"?do=edit").form(s.keeperPath(), "name", "", "email", "x", "phone", "x"))
	if bad.Status != http.StatusUnprocessableEntity || bad.problem("name") == "" || bad.problem("email") == "" || bad.problem("phone") == "" {
		t.Errorf("%d %s", bad.Status, bad.text(".problems"))
	}
}

func TestWhatIsNotThereIsNotFound(t *testing.T) {
	s := newSite(t)
	for _, path := range []string{
		"/vehicles/999999", "/vehicles/0", "/vehicles/-1", "/vehicles/x", "/vehicles/99999999999999999999", "/vehicles/1'--", "/vehicles/%00",
		"/customers/999999", "/customers/x", "/customers/%ff",
	} {
		if a := s.get(path); a.Status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.Status)
		}
	}
	some := url.Values{"key": {"0123456789abcdef"}, "version": {"1"}, "mark": {"A1"}, "make": {"x"}, "name": {"x"}, "day": {"2026-10-05"}, "source": {"car"}, "value": {"6"}}
	some.Set("fact", "airbags")
	for _, path := range []string{"/vehicles/999999", "/vehicles/999999/facts", "/vehicles/999999/facts/remove", "/vehicles/999999/keeper", "/customers/999999"} {
		if a := s.do("desk", http.MethodPost, path, some); a.Status < 400 || a.Status >= 500 {
			t.Errorf("post %s: %d", path, a.Status)
		}
	}
	for _, q := range []string{"?do=nonsense", "?do=fact&fact=../x&source='", "?do=%00", "?do=edit&do=keeper"} {
		if a := s.get(s.carPath() + q); a.Status != http.StatusOK {
			t.Errorf("%s: %d", q, a.Status)
		}
	}
	if a := s.do("", http.MethodGet, s.carPath(), nil); a.Status != http.StatusSeeOther {
		t.Errorf("nobody: %d", a.Status)
	}
}

func TestThePagesCanBeUsedByEverybody(t *testing.T) {
	s := newSite(t)
	s.history()
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	for name, path := range map[string]string{
		"find": "/vehicles?q=marlowe", "car": s.carPath(), "edit": s.carPath() + "?do=edit", "keeper": s.carPath() + "?do=keeper", "customer": s.keeperPath(),
		"customer-edit": s.keeperPath() + "?do=edit",
	} {
		b.Go(path)
		b.Audit(24)
		b.Dump("vehicle-" + name)
	}
}
