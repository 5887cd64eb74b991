package garageweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/web/ui"
)

func TestTheFirstPageListsWhatCanBeSet(t *testing.T) {
	s := newSite(t)
	a := s.get("/garage")
	a.has("Saltmarsh Lane Garage, 08:30 to 17:30, Mon to Fri", "3 jobs to write on a card", "1 kind of labour", "1 supplier of parts", "who works here")
	a.Find("main table a").Each(func(_ int, e *goquery.Selection) {
		if path, _ := e.Attr("href"); path != "/people" {
			s.get(path)
		}
	})
}

func TestAFreshGarageIsSetUpFromThePage(t *testing.T) {
	s := newSite(t)
	s.exec(`delete from garage`)
	s.get("/garage").has("Begin with the settings", "not set up yet")
	s.post("/garage/settings", s.get("/garage/settings").form("/garage/settings", "name", "Marsh End Motors")).went("/garage")
	s.get("/garage").has("Marsh End Motors, 08:30 to 17:30, Mon to Fri")
}

func TestSettingsAreChangedInPlace(t *testing.T) {
	s := newSite(t)
	const path = "/garage/settings"
	v := s.get(path).form(path, "address", "1 Saltmarsh Lane\r\nSedgeholm", "phone", "01632 960100", "vat_number", "gb844281425",
		"opens", "8", "closes", "6pm", "cost_rate", "£21.50", "markup", "27.5", "vat_rounding", "line")
	v["work_days"] = []string{"saturday", "monday", "tuesday"}
	s.post(path, v).went("/garage")
	set, err := garage.Load(t.Context(), s.DB.Pool)
	s.OK(err)
	if set.Address != "1 Saltmarsh Lane\nSedgeholm" || set.VATNumber != "844281425" || set.Opens != 480 || set.Closes != 1080 || set.StandardCostRate != 2150 ||
		set.DefaultMarkupBP != 2750 || set.VATRounding != "line" || len(set.WorkDays) != 3 {
		t.Errorf("%+v", set)
	}
	got := s.get(path).form(path)
	if got.Get("vat_number") != "GB 844 2814 25" || got.Get("opens") != "08:00" || got.Get("cost_rate") != "21.50" || got.Get("markup") != "27.5" ||
		got.Get("vat_rounding") != "line" || strings.Join(got["work_days"], " ") != "monday tuesday saturday" {
		t.Errorf("shown again: %v", got)
	}
}

func TestWhatIsWrongWithTheSettingsStandsAtTheFieldAndNothingTypedIsLost(t *testing.T) {
	s := newSite(t)
	const path = "/garage/settings"
	v := s.get(path).form(path, "name", "", "email", "not an address", "vat_number", "123456789", "opens", "25:00", "zone", "Mars/Olympus",
		"currency", "XXZ", "cost_rate", "lots", "markup", "-1", "work_days", "-", "phone", "")
	a := s.post(path, v)
	for _, field := range []string{"name", "opens", "cost_rate", "markup"} { // what the page itself reads
		a.refused(field)
	}
	kept := a.form(path)
	for name, want := range map[string]string{"email": "not an address", "vat_number": "123456789", "opens": "25:00", "zone": "Mars/Olympus", "cost_rate": "lots", "phone": ""} {
		if kept.Get(name) != want {
			t.Errorf("%s: %q, want %q", name, kept.Get(name), want)
		}
	}
	v = again(v)
	for name, right := range map[string]string{"name": "Saltmarsh", "opens": "8:30", "cost_rate": "18", "markup": "30"} {
		v.Set(name, right)
	}
	a = s.post(path, v)
	for _, field := range []string{"email", "zone", "currency", "work_days"} { // what the service says
		a.refused(field)
	}
	v = again(v)
	v.Set("currency", "GBP")
	s.post(path, v).refused("vat_number") // by the rule of the United Kingdom
	set, err := garage.Load(t.Context(), s.DB.Pool)
	if s.OK(err); set.Version != 1 {
		t.Errorf("something was saved: %+v", set)
	}
}

func TestSettingsChangedMeanwhileAreShownBesideAndCanBeSavedOver(t *testing.T) {
	s := newSite(t)
	const path = "/garage/settings"
	late := s.get(path).form(path, "name", "My Garage", "markup", "40")
	s.post(path, s.get(path).form(path, "name", "Their Garage", "phone", "01632 960111")).went("/garage")
	a := s.post(path, late)
	if a.Status != http.StatusConflict {
		t.Fatalf("%d", a.Status)
	}
	a.has("Their Garage", "01632 960111", "Save mine over it")
	v := a.form(path)
	if v.Get("name") != "My Garage" || v.Get("version") != "2" {
		t.Errorf("%v", v)
	}
	s.post(path, v).went("/garage")
	set, err := garage.Load(t.Context(), s.DB.Pool)
	if s.OK(err); set.Name != "My Garage" || set.DefaultMarkupBP != 4000 || len(set.WorkDays) != 5 || set.Version != 3 {
		t.Errorf("%+v", set)
	}
}

func TestAnOperationIsAddedFoundChangedAndRetired(t *testing.T) {
	s := newSite(t)
	const list = "/garage/operations"
	v := s.get(list+"/new").form(list, "name", "Clutch, replace", "labour_type", ui.Itoa(s.Labour), "low", "4", "likely", "5:30", "high", "8 h",
		"wheels_off", "yes")
	v["cautions"] = []string{string(caution.Lifting), string(caution.Dust)}
	s.post(list, v).went(list + "?q=Clutch%2C+replace")
	a := s.get(list + "?q=clu+REPL")
	a.has("Clutch, replace", "4.0 · 5.5 · 8.0", "£330.00", "second check, wheels off")
	path, _ := a.Find("main tbody th a").Attr("href")
	v = s.get(path).form(path)
	if v.Get("labour_type") != ui.Itoa(s.Labour) || v.Get("safety") != "yes" || v.Get("active") != "yes" || len(v["cautions"]) != 2 {
		t.Errorf("%v", v)
	}
	v.Set("fixed_price", "480")
	s.post(path, v)
	s.get(list + "?q=clutch").has("£480.00 fixed")
	s.post(path, s.get(path).form(path, "active", "-"))
	s.get(list + "?q=clutch").has("retired")
	if n := s.count(`select count(*) from operation where active and name like 'Clutch%'`); n != 0 {
		t.Error("still in use")
	}
	s.get(list + "?q=gearbox").has("No operation has that in its name")
}

func TestWhatIsWrongWithAnOperationStandsAtTheField(t *testing.T) {
	s := newSite(t)
	const list = "/garage/operations"
	blank := s.post(list, s.get(list+"/new").form(list))
	for _, field := range []string{"name", "labour_type", "low", "likely", "high"} {
		blank.refused(field)
	}
	v := s.get(list+"/new").form(list, "name", "Front brake pads", "labour_type", ui.Itoa(s.Labour), "low", "3", "likely", "2", "high", "1", "fixed_price", "1,2")
	s.post(list, v).refused("fixed_price")
	v = again(v)
	v.Set("fixed_price", "")
	s.post(list, v).refused("likely")
	v = again(v)
	v.Set("low", "1")
	v.Set("high", "4")
	s.post(list, v).refused("name") // there is one of that name
	v = again(v)
	v["cautions"] = []string{"lions"}
	s.post(list, v).refused("cautions")
}

func TestAnOperationChangedMeanwhileKeepsWhatEachTyped(t *testing.T) {
	s := newSite(t)
	path := "/garage/operations/" + ui.Itoa(s.Service)
	late := s.get(path).form(path, "likely", "1.8", "inspects", "yes")
	late["cautions"] = []string{string(caution.Coolant), string(caution.Fumes)}
	s.post(path, s.get(path).form(path, "name", "Yearly service"))
	a := s.post(path, late)
	if a.Status != http.StatusConflict {
		t.Fatalf("%d", a.Status)
	}
	a.has("Yearly service")
	v := a.form(path)
	s.post(path, v).went("/garage/operations?q=Annual+service")
	o, err := garage.OperationByID(t.Context(), s.DB.Pool, s.Service)
	if s.OK(err); o.Name != "Annual service" || !o.Inspects || len(o.Cautions) != 2 || !o.Active || o.Likely.Hours() != 1.8 {
		t.Errorf("%+v", o)
	}
}

func TestLabourAndSuppliersAreAddedChangedAndRetired(t *testing.T) {
	s := newSite(t)
	s.post("/garage/labour", s.get("/garage/labour").form("/garage/labour", "name", "Diagnosis", "rate", "72.50")).went("/garage/labour")
	s.get("/garage/labour").has("Diagnosis", "£72.50")
	s.post("/garage/labour", s.get("/garage/labour").form("/garage/labour", "name", "Diagnosis", "rate", "1")).refused("name")
	s.post("/garage/labour", s.get("/garage/labour").form("/garage/labour", "name", "", "rate", "-4")).refused("name")
	path := "/garage/labour/" + ui.Itoa(s.Labour)
	a := s.post(path, s.get(path).form(path, "active", "-"))
	a.refused("active") // operations take it
	late := s.get(path).form(path, "rate", "70")
	s.post(path, s.get(path).form(path, "rate", "65")).went("/garage/labour")
	if a := s.post(path, late); a.Status != http.StatusConflict {
		t.Errorf("%d", a.Status)
	} else {
		s.post(path, a.form(path)).went("/garage/labour")
	}
	s.get("/garage/labour").has("£70.00")

	path = "/garage/suppliers/" + ui.Itoa(s.Supplier)
	late = s.get(path).form(path, "email", "parts@estuary.example")
	s.post(path, s.get(path).form(path, "phone", "01632 960222", "active", "-")).went("/garage/suppliers")
	s.get("/garage/suppliers").has("Estuary Motor Factors retired", "01632 960222")
	if a := s.post(path, late); a.Status != http.StatusConflict {
		t.Errorf("%d", a.Status)
	}
	s.post(path, s.get(path).form(path, "phone", "by shouting")).refused("phone")
}

func TestVATRatesBeginFromADayAndThePastStays(t *testing.T) {
	s := newSite(t)
	const path = "/garage/vat"
	a := s.get(path)
	a.has("standard rate Tuesday 4 January 2011 20% in force", "outside the scope of VAT", "none")
	s.post(path, a.form(path)).refused("from")
	s.post(path, s.get(path).form(path, "code", "standard", "from", "2026-10-04", "rate", "19")).refused("from")
	s.post(path, s.get(path).form(path, "code", "standard", "from", "2027-01-04", "rate", "101")).refused("rate")
	s.post(path, s.get(path).form(path, "code", "zero", "from", "2027-01-04", "rate", "1")).refused("code")
	s.post(path, s.get(path).form(path, "code", "standard", "from", "4/1/2027", "rate", "17.5")).went(path)
	a = s.get(path)
	a.has("Monday 4 January 2027 17.5% to come")
	if n := a.Find("form.inline").Length(); n != 1 {
		t.Errorf("%d rates can be taken back", n)
	}
	v := a.form(path + "/remove")
	s.post(path+"/remove", v).went(path)
	if a := s.post(path+"/remove", again(v)); a.Status != http.StatusConflict {
		t.Errorf("taken back twice: %d", a.Status)
	}
	v = again(url.Values{"code": {"standard"}, "from": {"2011-01-04"}})
	if a := s.post(path+"/remove", v); a.Status != http.StatusConflict {
		t.Errorf("the rate in force was taken back: %d", a.Status)
	}
}
