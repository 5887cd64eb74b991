package cardweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rampside/internal/app/apptest"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/vehicle"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// fitting is a card with a part that is here, and the address of that part.
func fitting(t *testing.T, s *apptest.Site) (*jobcard.Sheet, jobcard.PartID, string) {
	t.Helper()
	card := s.Book(cardtest.Op(s.Service))
	s.Agree(card.ID)
	done, err := s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{CardID: card.ID, PartTerms: jobcard.PartTerms{
		LineID: card.Lines[0].ID, Name: "Thermostat housing", Number: "TH-1604", Qty: 1000, Supply: jobcard.Arrived,
	}})
	s.OK(err)
	return card, done.PartID, path(card, "/parts/"+ui.Itoa(done.PartID))
}

func know(t *testing.T, s *apptest.Site, key, value string, source vehicle.Source) {
	t.Helper()
	_, err := s.Vehicles.SetFact(t.Context(), s.Desk, vehicle.FactEdit{
		VehicleID: s.Car, FactInput: vehicle.FactInput{Key: key, Value: value, Source: source},
	})
	s.OK(err)
}

func verdictOf(t *testing.T, s *apptest.Site, card *jobcard.Sheet, id jobcard.PartID) jobcard.Part {
	t.Helper()
	p, ok := s.Sheet(card.ID).Part(id)
	if !ok {
		t.Fatal("the part is gone")
	}
	return p
}

func TestConditionsInWordsAndInFieldsAreOneAndTheProofOpensOnTheCard(t *testing.T) {
	s := apptest.Start(t)
	card, id, _ := fitting(t, s)
	know(t, s, "displacement_cc", "1598", vehicle.FromLogbook)
	know(t, s, "engine_layout", "inline", vehicle.FromSupplier)
	s.SignIn(s.Desk)
	b := webtest.Open(t, s.At)
	b.Size(1280, 800)
	b.Go("/sign-in")
	b.Fill("Sign-in", apptest.SignInName(s.Desk))
	b.Fill("Password", cardtest.Password)
	b.Click("Sign in")
	b.Go(path(card, ""))
	b.See("Thermostat housing TH-1604 is unchecked")
	b.Click("Fit of Thermostat housing")
	b.Click("Conditions in words")
	b.Audit(24)
	b.Dump("card-words")
	b.Fill("Conditions of Thermostat housing", "engine layout is V and fule is diesel")
	b.Allow("422")
	b.Click("Save the conditions")
	b.See("fule")
	b.Fill("Conditions of Thermostat housing", "engine layout is V")
	b.Fill("In the box's own words", "V6 only, 1.6")
	b.Click("Save the conditions")
	b.See("does not fit")
	b.Click("Fit of Thermostat housing")
	b.Click("Conditions in fields")
	b.Audit(24)
	b.Dump("card-fields")
	b.In("Condition 2").Choose("Fact", "Displacement, cc")
	b.In("Condition 2").Choose("Compares", "from … to")
	b.In("Condition 2").Fill("Value, or from", "1500")
	b.In("Condition 2").Fill("To", "1700")
	b.Click("Save the conditions")
	b.See("does not fit")
	b.Click("inline")
	b.See("this car: 1598 cc, logbook")
	b.See("V6 only, 1.6")
	b.Audit(24)
	b.Dump("card-does-not-fit")
	b.Click("Fit of Thermostat housing")
	b.Audit(24)
	b.Dump("card-fit")
	c, err := s.Services.Fitment.Card(t.Context(), s.Desk, card.ID)
	s.OK(err)
	if p, _ := c.Part(id); p.Put.Rule != "engine layout is V and displacement from 1500 cc to 1700 cc" || p.Put.BoxWords != "V6 only, 1.6" {
		t.Errorf("put on it: %+v", p.Put)
	}
}

func TestConditionsThatFieldsCannotSayAreNotLostByThem(t *testing.T) {
	s := apptest.Start(t)
	card, id, at := fitting(t, s)
	desk := s.SignIn(s.Desk)
	for version, rule := range []string{"any car", `engine code is "A/B;C"`, "(doors is 5 and gears is 6) or doors is 3"} {
		in := url.Values{"key": {apptest.Key()}, "version": {ui.Itoa(int64(version))}, "by": {"words"}, "rule": {rule}}
		if a := desk.Post(at+"/conditions", in); a.Status != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", rule, a.Status, a.Says())
		}
		a := desk.Get(path(card, "?do=fields-"+ui.Itoa(id)))
		if !strings.Contains(a.Body, "changed in words") || a.Page().Find("input[name=by][value=fields]").Length() != 0 {
			t.Errorf("%s is offered in fields", rule)
		}
	}
}

func TestThePropertiesOfATyreAreCheckedAgainstTheAxle(t *testing.T) {
	s := apptest.Start(t)
	card, id, part := fitting(t, s)
	know(t, s, "axle_load_rear_kg", "1900", vehicle.FromPlate)
	desk := s.SignIn(s.Desk)
	a := desk.Get(path(card, "?do=kind-"+ui.Itoa(id)+"&kind=tyre"))
	form := a.Page().Find(`form[action="` + part + `/conditions"]`)
	if form.Find(`[name="props.tyre_size"]`).Length() != 1 || form.Find(`input[name=kind]`).AttrOr("value", "") != "tyre" {
		t.Fatalf("no fields of a tyre: %s", a.Says())
	}
	in := url.Values{"key": {apptest.Key()}, "version": {"0"}, "by": {"kind"}, "kind": {"tyre"}, "props.axle": {"rear"}, "props.tyre_size": {"round"}}
	a = desk.Post(part+"/conditions", in)
	if a.Status != http.StatusUnprocessableEntity || a.Page().Find("#f-props-tyre_size-problem").Length() != 1 {
		t.Errorf("a round tyre: %d %s", a.Status, a.Says())
	}
	in.Set("key", apptest.Key())
	in.Set("props.tyre_size", "215/65 R16 98H")
	if a = desk.Post(part+"/conditions", in); a.Status != http.StatusSeeOther {
		t.Fatalf("%d %s", a.Status, a.Says())
	}
	if p := verdictOf(t, s, card, id); p.Verdict != jobcard.DoesNotFit {
		t.Errorf("98 on an axle of 1900 kg is %s: %s", p.Verdict, p.VerdictNote)
	}
	if a = desk.Get(path(card, "")); !strings.Contains(a.Body, "half of the axle") {
		t.Error("the card does not say by what")
	}
}

func TestTheDeskLetsAPartThroughAndATechnicianIsNotAsked(t *testing.T) {
	s := apptest.Start(t)
	card, id, part := fitting(t, s)
	posy, owner := s.SignIn(s.Posy), s.SignIn(s.Owner)
	tick := url.Values{"key": {apptest.Key()}, "act": {"tick"}}
	a := owner.Post(path(card, "/lines/"+ui.Itoa(card.Lines[0].ID)+"/work"), tick)
	if a.Status != http.StatusConflict || !strings.Contains(a.Body, "you cannot tick it yet") || !strings.Contains(a.Body, "Let it through") {
		t.Errorf("a tick: %d %s", a.Status, a.Says())
	}
	in := url.Values{"key": {apptest.Key()}, "verdict": {"unchecked"}, "reason": {"it looks right"}}
	if a := posy.Post(part+"/waive", in); a.Status != http.StatusForbidden {
		t.Errorf("a technician waives: %d", a.Status)
	}
	if a := posy.Get(path(card, "?do=waive-"+ui.Itoa(id))); strings.Contains(a.Body, "Let it through") {
		t.Error("a technician is offered to let it through")
	}
	in.Set("reason", " ")
	if a := owner.Post(part+"/waive", in); a.Status != http.StatusUnprocessableEntity || a.Page().Find("#f-reason-problem").Length() != 1 {
		t.Errorf("without a reason: %d %s", a.Status, a.Says())
	}
	in.Set("reason", "the only one there is")
	in.Set("key", apptest.Key())
	if a := owner.Post(part+"/waive", in); a.Status != http.StatusSeeOther {
		t.Fatalf("%d %s", a.Status, a.Says())
	}
	if a := owner.Get(path(card, "")); !strings.Contains(a.Body, "let through by Wren Calloway") || !strings.Contains(a.Body, "the only one there is") {
		t.Errorf("the card does not say so: %s", a.Says())
	}
	tick.Set("key", apptest.Key())
	if a := owner.Post(path(card, "/lines/"+ui.Itoa(card.Lines[0].ID)+"/work"), tick); a.Status != http.StatusSeeOther {
		t.Errorf("let through, a tick: %d %s", a.Status, a.Says())
	}
}
