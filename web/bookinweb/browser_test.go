package bookinweb_test

import (
	"testing"

	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/web/webtest"
)

// desk is a browser in which somebody of the desk is signed in.
func (s *site) desk() *webtest.Browser {
	s.t.Helper()
	b := webtest.Open(s.t, s.URL())
	b.SetCookie("rampside", "desk")
	return b
}

// last reads the card that was booked last.
func (s *site) last() *jobcard.Sheet {
	s.t.Helper()
	return s.Sheet(jobcard.CardID(s.count(`select max(id) from card`)))
}

// The budget of 45 presses is the garage's own: 20 seconds with a telephone
// at the ear.
func TestAKnownCarWithFourLinesTakesAtMost45Keys(t *testing.T) {
	s := newSite(t)
	b := s.desk()
	b.Go("/book-in")
	b.Recount()
	b.Type("bd51")
	b.Press("Enter")
	b.See("Odette Marlowe")
	b.Type("48210")
	b.Press("Tab")
	b.Type("an")
	b.Press("Tab", "Tab")
	b.Type("fr")
	b.Press("Tab", "Tab")
	b.Type("lo")
	b.Press("Tab", "Tab")
	b.Type("wash")
	b.Press("Enter")
	b.See("The card")
	if b.Taps() != 0 || b.Keys() > 45 {
		t.Errorf("%d keys and %d taps", b.Keys(), b.Taps())
	}
	t.Logf("%d keys", b.Keys())
	c := s.last()
	var titles []string
	for _, l := range c.Lines {
		titles = append(titles, l.Title)
	}
	if len(titles) != 4 || titles[0] != "Annual service" || titles[1] != "Front brake pads" || titles[2] != "Look for the noise" || titles[3] != "wash" ||
		*c.Mileage != 48210 || c.PromisedAt.IsZero() || c.Stage != jobcard.OnSite {
		t.Errorf("booked %v %+v", titles, c.Card)
	}
}

func TestTheSearchAnswersWhileOneTypesAndTheArrowsChoose(t *testing.T) {
	s := newSite(t)
	s.exec(`insert into vehicle (mark, mark_shown, mark_key, make, model, created_at) values ('BD51SMX', 'BD51 SMX', 'BD51SMX', 'Corvane', 'Alder', now())`)
	b := s.desk()
	b.Go("/book-in")
	b.Type("bd51")
	b.See("Brisling Tern")
	b.See("Corvane Alder")
	b.Press("ArrowDown", "ArrowDown", "ArrowUp", "ArrowUp")
	b.Type("sm")
	b.Press("ArrowDown")
	b.Press("Enter")
	b.See("What is to be done")
	// With Enter on the search, the first of several is at hand.
	b.Go("/book-in")
	b.Type("bd51")
	b.Press("Enter")
	b.See("BD51 SMX")
	b.Press("Enter")
	b.See("What is to be done")
}

func TestALineIsCompletedFromTheGaragesOperations(t *testing.T) {
	s := newSite(t)
	b := s.desk()
	b.Go(s.known())
	b.Press("Tab")
	b.Type("ann")
	if got := b.Value("Line 1"); got != "Annual service" {
		t.Errorf("completed to %q", got)
	}
	// Typing on types over what was offered; deleting stays deleted.
	b.Type("oying rattle")
	if got := b.Value("Line 1"); got != "annoying rattle" && got != "Annoying rattle" {
		t.Errorf("typed over: %q", got)
	}
	b.Press("Tab", "Tab")
	b.Type("fro")
	b.Press("Backspace")
	if got := b.Value("Line 2"); got != "Fro" && got != "fro" {
		t.Errorf("after a deletion: %q", got)
	}
}

func TestANewCarIsBookedAtTheKeyboard(t *testing.T) {
	s := newSite(t)
	b := s.desk()
	b.Go("/book-in")
	b.Type("xy21zzz")
	b.Press("Enter")
	b.See("Whose car it is")
	if b.Focused() != "Make" || b.Value("Registration mark") != "XY21 ZZZ" {
		t.Errorf("begins at %q with the mark %q", b.Focused(), b.Value("Registration mark"))
	}
	b.Type("Fenwick")
	b.Press("Enter")
	b.See("please give the customer's name")
	b.Fill("Name", "Zed Quill")
	b.Fill("Line 1", "annual service")
	b.Click("Book it in")
	b.See("The card")
	if c := s.last(); c.Vehicle.Name() != "Fenwick" || c.Customer.Name != "Zed Quill" || len(c.Lines) != 1 {
		t.Errorf("booked %+v", c)
	}
}

func TestThePagesCanBeUsedByEverybody(t *testing.T) {
	s := newSite(t)
	old := s.Book(cardtest.Op(s.Service), cardtest.Op(s.Brakes))
	s.exec(`update line set work_state = 'deferred', state_reason = 'no pads in stock', decided_by = 'Odette Marlowe' where id = $1`, old.Lines[1].ID)
	s.exec(`update card set stage = 'collected', mileage = 42000 where id = $1`, old.ID)
	s.exec(`insert into vehicle_fact (vehicle_id, key, value, source, noted_at) values ($1, 'fuel', 'petrol', 'logbook', now()), ($1, 'fuel', 'plug-in hybrid', 'supplier', now()),
		($1, 'tyre_size', '205/55 R16', 'car', now())`, s.Car)
	b := s.desk()
	b.Go("/book-in?q=marlowe")
	b.Audit(24)
	b.Dump("book-in-find")
	b.Go(s.known())
	b.Audit(24)
	b.Dump("book-in-known")
	b.Go("/book-in?new=xy21zzz")
	b.Audit(24)
	b.Dump("book-in-new")
	b.Click("Book it in")
	b.See("need another look")
	b.Audit(24)
	b.Dump("book-in-refused")
}

func TestACarIsBookedWithoutAnyScript(t *testing.T) {
	s := newSite(t)
	b := s.desk()
	b.Scripts(false)
	b.Go("/book-in")
	b.Fill("Car or keeper", "marlowe")
	b.Click("Find")
	b.See("Odette Marlowe")
	b.Fill("Line 1", "Annual service")
	b.Click("One more line")
	b.Fill("Line 5", "Squeak")
	b.Click("Book it in")
	b.See("The card")
	if c := s.last(); len(c.Lines) != 2 || c.Lines[1].Title != "Squeak" {
		t.Errorf("booked %+v", c.Lines)
	}
}
