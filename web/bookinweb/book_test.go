package bookinweb_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// card reads the card that a booking led to.
func (s *site) card(a answer) *jobcard.Sheet {
	s.t.Helper()
	id, err := strconv.ParseInt(strings.TrimPrefix(a.Location, "/cards/"), 10, 64)
	if a.Status != http.StatusSeeOther || err != nil {
		s.t.Fatalf("%d to %q: %v, %s", a.Status, a.Location, a.problems(), a.text(".problems"))
	}
	return s.Sheet(jobcard.CardID(id))
}

func (s *site) known() string { return "/book-in?car=" + ui.Itoa(s.Car) }

func TestAKnownCarIsBookedWithWhatThePageProposes(t *testing.T) {
	s := newSite(t)
	c := s.card(s.post(s.get(s.known()).form("mileage", "48,210", "line.0.title", "annual service", "line.1.title", "fron", "line.1.if_time", "yes",
		"line.3.title", "Squeak from the back", "customer_words", "It squeaks\r\nwhen I turn", "keys_note", "in the drop box")))
	if c.Vehicle.ID != s.Car || c.Customer.ID != s.Keeper || c.Stage != jobcard.OnSite || c.BookedFor != s.Day {
		t.Errorf("booked %+v", c.Card)
	}
	if c.Mileage == nil || *c.Mileage != 48210 || c.MileageUnit != "miles" || c.CustomerWords != "It squeaks\nwhen I turn" || c.KeysNote != "in the drop box" {
		t.Errorf("visit %+v", c.Card)
	}
	// The garage closes at 17:30; half an hour is kept for handing over.
	if want := time.Date(2026, 10, 5, 16, 0, 0, 0, time.UTC); !c.PromisedAt.Equal(want) || !c.ArrivesAt.Equal(s.Clock) {
		t.Errorf("comes in %v, promised %v, want %v", c.ArrivesAt, c.PromisedAt, want)
	}
	if c.ContactName != "Odette Marlowe" || c.ContactPhone != "01632 960123" {
		t.Errorf("contact %s %s", c.ContactName, c.ContactPhone)
	}
	var lines []string
	for _, l := range c.Lines {
		lines = append(lines, fmt.Sprintf("%s/%v/%v", l.Title, l.OperationID != 0, l.MustDo))
	}
	if want := []string{"Annual service/true/true", "Front brake pads/true/false", "Squeak from the back/false/true"}; !slices.Equal(lines, want) {
		t.Errorf("lines %v, want %v", lines, want)
	}
}

func TestWhatWasLeftLastTimeIsOfferedAndTakenBackWithOneTick(t *testing.T) {
	s := newSite(t)
	old := s.Book(jobcard.NewLine{OperationID: s.Service}, jobcard.NewLine{OperationID: s.Brakes}, jobcard.NewLine{OperationID: s.Check})
	s.exec(`update line set work_state = 'deferred', state_reason = 'no pads in stock', decided_by = 'Odette Marlowe' where id = $1`, old.Lines[1].ID)
	s.exec(`update line set consent = 'declined' where id = $1`, old.Lines[2].ID)
	s.exec(`insert into finding (card_id, severity, what, proposed_line_id, at) values ($1, 'dangerous', 'pads to the metal', $2, now())`, old.ID, old.Lines[1].ID)
	s.exec(`update card set stage = 'collected' where id = $1`, old.ID)
	a := s.get(s.known())
	if got := a.text(".left-over"); !strings.Contains(got, "Front brake pads dangerous deferred: no pads in stock, decided by Odette Marlowe") ||
		!strings.Contains(got, "Look for the noise declined") || strings.Contains(got, "Annual service") {
		t.Errorf("offered: %s", got)
	}
	v := a.form("take_back", ui.Itoa(old.Lines[1].ID))
	c := s.card(s.post(v))
	if len(c.Lines) != 1 || c.Lines[0].Title != "Front brake pads" || c.Lines[0].CarriedFrom != old.Lines[1].ID {
		t.Errorf("taken back: %+v", c.Lines)
	}
	// Taken once, it is not offered again, and cannot be taken twice.
	if got := s.get(s.known()).text(".left-over"); strings.Contains(got, "Front brake pads") {
		t.Errorf("offered again: %s", got)
	}
	v.Set("key", "another-key-0000000")
	if a := s.post(v); a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.text(".problems"), "taken up already") {
		t.Errorf("twice: %d %s", a.Status, a.text(".problems"))
	}
}

func TestANewCarAndItsKeeperAreBookedInOneGo(t *testing.T) {
	s := newSite(t)
	a := s.get("/book-in?new=te67+oil")
	v := a.form("vehicle.vin", "wvwzzz1jz3w386752", "vehicle.make", "Halden", "vehicle.model", "Pike", "customer.name", "Tom Halloran", "customer.phone", "07700 900456",
		"line.0.title", "Front brake pads", "mileage", "77 500 km")
	for n := 0; v.Has(fmt.Sprintf("fact.%d.value", n)); n++ {
		row := fmt.Sprintf("fact.%d.", n)
		switch v.Get(row + "key") {
		case "fuel":
			v.Set(row+"value", "DIESEL")
		case "tyre_size":
			v.Set(row+"value", "205/55r16 91v")
			v.Set(row+"source", "car")
		}
	}
	c := s.card(s.post(v))
	if c.Vehicle.Mark != "TE67 OIL" || c.Vehicle.VIN != "WVWZZZ1JZ3W386752" || c.Customer.Name != "Tom Halloran" || c.ContactPhone != "07700 900456" || c.MileageUnit != "km" || *c.Mileage != 77500 {
		t.Errorf("booked %+v %+v %+v", c.Vehicle, c.Customer, c.Card)
	}
	known, err := vehicle.Facts(t.Context(), s.DB.Pool, c.Vehicle.ID)
	if err != nil || len(known) != 2 || known[0].Best.Value != "diesel" || known[0].Best.Source != vehicle.FromLogbook || known[1].Best.Source != vehicle.FromCar {
		t.Errorf("facts %+v, %v", known, err)
	}
	if keeper, err := vehicle.KeeperOn(t.Context(), s.DB.Pool, c.Vehicle.ID, s.Day); err != nil || keeper != c.Customer.ID {
		t.Errorf("kept by %d, %v", keeper, err)
	}
}

func TestEverythingWrongIsSaidAtOnceAndNothingTypedIsLost(t *testing.T) {
	s := newSite(t)
	v := s.get("/book-in?new=yes").form()
	long := strings.Repeat("x", 3000)
	typed := map[string]string{
		"vehicle.mark": "<b>", "vehicle.vin": "SALVO2AE4EH877322", "vehicle.make": "", "vehicle.model": long, "customer.name": "", "customer.phone": "ring his mum",
		"customer.email": "nobody", "mileage": "-5", "promised_day": "31/2/2026", "promised": "25:00", "booked_for": "2020-01-01", "arrives": "soon",
		"line.2.title": long, "fact.2.value": "steam", "fact.0.value": "K9K", "contact_phone": long, "customer_words": "kept as it is",
	}
	for name, value := range typed {
		v.Set(name, value)
	}
	a := s.post(v)
	if a.Status != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", a.Status)
	}
	problems := a.problems()
	for name := range typed {
		field := strings.ReplaceAll(name, ".", "-")
		switch name {
		case "customer_words":
			continue
		case "fact.0.value":
			field = "fact-0-source"
		}
		if problems[field] == "" {
			t.Errorf("no message at %s", name)
		}
	}
	for name, value := range typed {
		if got := a.value(name); got != value {
			t.Errorf("%s came back as %.40q", name, got)
		}
	}
	if n := s.count(`select count(*) from card`) + s.count(`select count(*) from customer`) + s.count(`select count(*) from vehicle`); n != 3 {
		t.Errorf("%d rows, three were there before", n)
	}
}

func TestAtLeastOneLineIsAskedFor(t *testing.T) {
	s := newSite(t)
	a := s.post(s.get(s.known()).form("line.0.title", "   "))
	if a.Status != http.StatusUnprocessableEntity || a.problems()["line-0-title"] == "" {
		t.Errorf("%d %v", a.Status, a.problems())
	}
}

func TestMessagesOfTheServiceStandAtTheRowsTheyAreAbout(t *testing.T) {
	s := newSite(t)
	v := s.get(s.known()).form("line.2.title", "Annual service")
	// No labour type in use: the line cannot be priced.
	s.exec(`update labour_type set active = false`)
	v.Set("line.2.title", "Something free")
	a := s.post(v)
	if a.Status != http.StatusUnprocessableEntity || a.problems()["line-2-title"] == "" || a.value("line.2.title") != "Something free" {
		t.Errorf("%d %v", a.Status, a.problems())
	}
}

func TestRowsAreAddedWithoutAScriptAndWithoutLosingAnything(t *testing.T) {
	s := newSite(t)
	a := s.post(s.get(s.known()).form("more", "line", "line.1.title", "Squeak", "line.1.if_time", "yes", "mileage", "not yet read", "promised", ""))
	if a.Status != http.StatusOK || a.Find("[name^='line.'][name$='.title']").Length() != 5 || a.Find(".field-problem").Length() != 0 {
		t.Fatalf("%d: %d rows, %v", a.Status, a.Find("[name$='.title']").Length(), a.problems())
	}
	if a.value("line.1.title") != "Squeak" || a.value("line.1.if_time") != "yes" || a.value("mileage") != "not yet read" || a.value("promised") != "" {
		t.Errorf("came back: %v", a.form())
	}
	a = s.post(a.form("more", "fact", "line.4.title", "A fifth"))
	if a.Find("[name^='fact.'][name$='.value']").Length() != 2 || a.value("line.4.title") != "A fifth" {
		t.Errorf("came back: %v", a.form())
	}
	a = s.post(a.form("mileage", "1", "promised_day", ""))
	if c := s.card(a); len(c.Lines) != 2 || !c.PromisedAt.IsZero() {
		t.Errorf("booked %+v, promised %v", c.Lines, c.PromisedAt)
	}
}

func TestACarOnFileAlreadyTakesOverWhatWasTypedForANewOne(t *testing.T) {
	s := newSite(t)
	v := s.get("/book-in?new=bd51smr").form("vehicle.make", "Brisling", "customer.name", "Somebody", "line.0.title", "Annual service", "mileage", "48210", "keys_note", "on the hook")
	a := s.post(v)
	if a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.problems()["vehicle-mark"], "BD51 SMR is on file already: Brisling Tern") {
		t.Fatalf("%d %v", a.Status, a.problems())
	}
	use, _ := a.Find("button[name=use_car]").Attr("value")
	if href, _ := a.Find(".note a").Attr("href"); use != ui.Itoa(s.Car) || href != "/vehicles/"+use {
		t.Fatalf("it leads to %q and takes %q", href, use)
	}
	a = s.post(a.form("use_car", use))
	if a.Status != http.StatusOK || a.value("line.0.title") != "Annual service" || a.value("keys_note") != "on the hook" || a.value("vehicle_id") != use {
		t.Fatalf("%d: %v", a.Status, a.form())
	}
	if c := s.card(s.post(a.form())); c.Vehicle.ID != s.Car || c.Customer.ID != s.Keeper || *c.Mileage != 48210 {
		t.Errorf("booked %+v", c.Card)
	}
}

func TestACustomerOnFileIsRecognisedByTheirNumber(t *testing.T) {
	s := newSite(t)
	v := s.get("/book-in?new=XY21ZZZ").form("vehicle.make", "Fenwick", "customer.name", "O. Marlowe", "customer.phone", "+44 1632 960123", "line.0.title", "Annual service")
	a := s.post(v)
	if a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.problems()["customer-phone"], "Odette Marlowe") {
		t.Fatalf("%d %v", a.Status, a.problems())
	}
	same, _ := a.Find("button[name=use_customer]").Attr("value")
	if same != ui.Itoa(s.Keeper) {
		t.Fatalf("offers %q", same)
	}
	b := s.post(a.form("use_customer", same))
	if b.Status != http.StatusOK || !strings.Contains(b.text("form.book-in"), "For Odette Marlowe") {
		t.Fatalf("%d %s", b.Status, b.text("form.book-in"))
	}
	if c := s.card(s.post(b.form())); c.Customer.ID != s.Keeper || c.Vehicle.Mark != "XY21 ZZZ" {
		t.Errorf("booked %+v", c.Card)
	}
	// Two people of one house may share a number.
	c := s.card(s.post(a.form("customer.other", "yes", "vehicle.mark", "XY21 ZZY")))
	if c.Customer.ID == s.Keeper || c.Customer.Name != "O. Marlowe" {
		t.Errorf("booked for %+v", c.Customer)
	}
}

func TestAKnownCarCanBringANewKeeper(t *testing.T) {
	s := newSite(t)
	c := s.card(s.post(s.get(s.known()).form("customer.name", "Zed Quill", "customer.phone", "01632 960777", "line.0.title", "Annual service", "contact_name", "", "contact_phone", "")))
	if c.Customer.Name != "Zed Quill" || c.ContactName != "Zed Quill" {
		t.Errorf("booked for %+v, contact %s", c.Customer, c.ContactName)
	}
	if keeper, err := vehicle.KeeperOn(t.Context(), s.DB.Pool, s.Car, s.Day); err != nil || keeper != c.Customer.ID {
		t.Errorf("kept by %d, %v", keeper, err)
	}
	if keeper, err := vehicle.KeeperOn(t.Context(), s.DB.Pool, s.Car, s.Day.AddDays(-1)); err != nil || keeper != s.Keeper {
		t.Errorf("kept the day before by %d, %v", keeper, err)
	}
}

func TestTheSameFormTwiceIsOneCard(t *testing.T) {
	s := newSite(t)
	v := s.get(s.known()).form("line.0.title", "Annual service")
	first, second := s.post(v), s.post(v)
	if first.Location == "" || first.Location != second.Location || s.count(`select count(*) from card where stage <> 'cancelled'`) != 1 {
		t.Errorf("%d %s, then %d %s", first.Status, first.Location, second.Status, second.Location)
	}
	v.Del("key")
	if a := s.post(v); a.Status != http.StatusUnprocessableEntity {
		t.Errorf("without a key: %d", a.Status)
	}
}

func TestABookingForALaterDayIsNotHereYet(t *testing.T) {
	s := newSite(t)
	a := s.get(s.known() + "&day=2026-10-09")
	if a.value("booked_for") != "2026-10-09" || a.value("here") != "" || a.value("arrives") != "08:30" || a.value("promised_day") != "2026-10-09" || a.value("promised") != "17:00" {
		t.Errorf("proposed %v", a.form())
	}
	if c := s.card(s.post(a.form("line.0.title", "Annual service", "here", "yes"))); c.Stage != jobcard.Booked || c.BookedFor != s.Day.AddDays(4) {
		t.Errorf("booked %+v", c.Card)
	}
}

func TestLateInTheDayTheNextWorkingDayIsPromised(t *testing.T) {
	s := newSite(t)
	for _, c := range []struct{ now, day string }{
		{"2026-10-05T13:30:00Z", "2026-10-05"}, // Monday 14:30 in summer time
		{"2026-10-05T15:00:00Z", "2026-10-06"},
		{"2026-10-09T15:00:00Z", "2026-10-12"}, // Friday: over the weekend
		{"2026-10-10T08:00:00Z", "2026-10-12"}, // Saturday
	} {
		s.Clock, _ = time.Parse(time.RFC3339, c.now)
		if a := s.get(s.known()); a.value("promised_day") != c.day || a.value("promised") != "17:00" {
			t.Errorf("at %s: promised %s %s, want %s", c.now, a.value("promised_day"), a.value("promised"), c.day)
		}
	}
}

func TestHostileFormsAreRefusedOrHarmless(t *testing.T) {
	s := newSite(t)
	base := s.get(s.known()).form("line.0.title", "Annual service")
	for name, change := range map[string]func(url.Values){
		"null byte":          func(v url.Values) { v.Set("customer_words", "a\x00b") },
		"invalid UTF-8":      func(v url.Values) { v.Set("keys_note", "\xff\xfe") },
		"no such car":        func(v url.Values) { v.Set("vehicle_id", "999999") },
		"a car of words":     func(v url.Values) { v.Set("vehicle_id", "' or 1=1") },
		"a negative car":     func(v url.Values) { v.Set("vehicle_id", "-1") },
		"no such customer":   func(v url.Values) { v.Set("customer_id", "999999") },
		"no such left line":  func(v url.Values) { v.Set("take_back", "999999") },
		"left line of words": func(v url.Values) { v.Set("take_back", "x") },
		"enormous mileage":   func(v url.Values) { v.Set("mileage", "99999999999999999999") },
		"unit of nonsense":   func(v url.Values) { v.Set("mileage_unit", "leagues") },
		"a far day":          func(v url.Values) { v.Set("booked_for", "2199-01-01") },
		"a far promise":      func(v url.Values) { v.Set("promised_day", "2199-01-01") },
		"promise before":     func(v url.Values) { v.Set("promised_day", "2026-10-01") },
		"unknown fact": func(v url.Values) {
			v.Set("fact.0.key", "../../etc")
			v.Set("fact.0.value", "x")
			v.Set("fact.0.source", "car")
		},
		"unknown source": func(v url.Values) {
			v.Set("fact.0.key", "fuel")
			v.Set("fact.0.value", "diesel")
			v.Set("fact.0.source", "gossip")
		},
		"no day":         func(v url.Values) { v.Set("booked_for", "") },
		"half a promise": func(v url.Values) { v.Set("promised_day", "") },
	} {
		v := url.Values{}
		for k, vs := range base {
			v[k] = slices.Clone(vs)
		}
		change(v)
		a := s.post(v)
		if a.Status < 400 || a.Status >= 500 {
			t.Errorf("%s: %d to %s", name, a.Status, a.Location)
		}
	}
	if n := s.count(`select count(*) from card where stage <> 'cancelled'`); n != 0 {
		t.Errorf("%d cards were written", n)
	}
	script := "<script>alert(1)</script>"
	v := s.get(s.known()).form("line.0.title", script, "customer_words", script, "keys_note", script, "contact_name", script)
	v.Set("promised", "x")
	if a := s.post(v); a.Find("main script").Length() != 0 || a.value("line.0.title") != script {
		t.Errorf("text came back as more than text: %s", a.text("main"))
	}
	if a := s.post(url.Values{"key": {"0123456789abcdef"}, "line.9999999.title": {"x"}, "fact.-1.value": {"y"}}); a.Status != http.StatusUnprocessableEntity {
		t.Errorf("rows far away: %d", a.Status)
	}
}
