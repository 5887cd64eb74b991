package vehicleweb_test

import (
	"net/http"
	"strings"
	"testing"

	"rampside/internal/vehicle"
	"rampside/web/webtest"
)

func (s *site) note(facts ...vehicle.FactInput) {
	s.t.Helper()
	for _, f := range facts {
		_, err := s.Vehicles.SetFact(s.t.Context(), s.Posy, vehicle.FactEdit{VehicleID: s.Car, FactInput: f})
		s.OK(err)
	}
}

func TestWhatTheVINSuggestsIsAHintAndNoFact(t *testing.T) {
	s := newSite(t)
	hints := s.get(s.carPath()).text(".hints")
	for _, want := range []string{
		"hints, not facts", "Maker's code: 1M8", "Region: North America", "Model year: 1989", "Check digit: it is right", "First registered: September 2001 or later",
	} {
		if !strings.Contains(hints, want) {
			t.Errorf("%q is not among the hints: %s", want, hints)
		}
	}
	if n := s.count(`select count(*) from vehicle_fact`); n != 0 {
		t.Errorf("%d facts were noted", n)
	}
}

func TestWhatIsNotKnownIsListedByWhereToReadIt(t *testing.T) {
	s := newSite(t)
	facts := s.carPath() + "/facts"
	s.note(vehicle.FactInput{Key: "displacement_cc", Value: "1995", Source: vehicle.FromLogbook})
	a := s.get(s.carPath())
	list := a.text(".unknown")
	logbook, under := strings.Index(list, "Logbook"), strings.Index(list, "Under the car")
	if logbook < 0 || under < logbook || strings.Contains(list, "Displacement") || strings.Contains(list, "Chassis number") ||
		!strings.Contains(list, "Under the car Mind: under the vehicle.") || !strings.Contains(list, "Traction voltage, V On the orange or yellow warning label; 0 when there is no such system. Mind: high voltage.") {
		t.Errorf("%s", list)
	}
	link, _ := a.Find(`.unknown a:contains("Power, kW")`).Attr("href")
	open := s.get(strings.TrimSuffix(link, "#fact-form"))
	if f := open.form(facts); f.Get("fact") != "power_kw" || f.Get("source") != "logbook" || f.Get("was") != "" || !strings.Contains(open.text("#fact-form"), "maximum net power") {
		t.Fatalf("%s opens %v", link, f)
	}
	if a := s.do("desk", http.MethodPost, facts, open.form(facts, "value", "81")); a.Status != http.StatusSeeOther {
		t.Errorf("%d %s", a.Status, a.text(".problems"))
	}
	if now := s.get(s.carPath()); strings.Contains(now.text(".unknown"), "Power, kW") || !strings.Contains(now.text("#facts ~ .scroll"), "81 kW") {
		t.Errorf("%s", now.text("#facts ~ .scroll"))
	}
	if a := s.do("desk", http.MethodPost, facts, open.form(facts, "fact", "chassis_number", "value", "118341")); a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.problem("fact"), "chassis number is its VIN") {
		t.Errorf("a second chassis number: %d %s", a.Status, a.problem("fact"))
	}
}

func TestSourcesStandSideBySideWithTheOneThatOutranks(t *testing.T) {
	s := newSite(t)
	s.note(
		vehicle.FactInput{Key: "built", Value: "2019", Source: vehicle.FromPlate}, vehicle.FactInput{Key: "built", Value: "2019-03", Source: vehicle.FromSupplier},
		vehicle.FactInput{Key: "built", Value: "2020", Source: vehicle.Assumed}, vehicle.FactInput{Key: "fuel", Value: "diesel", Source: vehicle.FromCar},
		vehicle.FactInput{Key: "fuel", Value: "diesel", Source: vehicle.FromLogbook},
	)
	table := s.get(s.carPath()).text("#facts ~ .scroll")
	for _, want := range []string{
		"Sources differ: maker's plate outranks assumed. Go and look on the maker's plate.", "2019 gone by maker's plate", "Mar 2019 more exact supplier", "2020 contradicts assumed",
		"diesel gone by read off the car", "diesel agrees logbook",
	} {
		if !strings.Contains(table, want) {
			t.Errorf("%q is not in %s", want, table)
		}
	}
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "technician")
	b.Go(s.carPath())
	b.Click("What mark and VIN suggest: hints, not facts")
	b.Click("Not known yet, and where to read it")
	b.Audit(24)
	b.Dump("vehicle-facts")
	b.Click("Note Engine code")
	if got := b.Value("From"); got != "car" {
		t.Errorf("read under the bonnet, and from %s", got)
	}
	b.Fill("What it is", "k9k 892")
	b.Click("Note it")
	if !b.Has("Change Engine code, K9K 892, read off the car") {
		t.Error("the engine code was not noted")
	}
	b.Dump("vehicle-fact-noted")
}
