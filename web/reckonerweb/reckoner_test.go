package reckonerweb_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

// The figures are those of the packages' own tests, with their sources there.
func TestEveryCalculatorWorksOutWhatItIsAsked(t *testing.T) {
	s := newSite(t)
	for _, c := range []struct {
		tool   string
		fields []string
		see    []string
	}{
		{"tyres", []string{"from", "205/55 R16 91V", "to", "225/45 R17 94W"}, []string{"fits", "+0.38 %", "631.9", "634.3", "632", "634", "no more than another make", "1985.2", "5.5 to 7.5 in, measured on 6.5", "7 to 8.5 in, measured on 7.5"}},
		{"tyres", []string{"from", "205/55R16", "to", "205/60R16"}, []string{"cannot tell", "over-reads now by 3.2 to", "To be measured:"}},
		{"tyres", []string{"from", "205/55R16", "to", "205/60R16", "over", "4"}, []string{"fits", "stays right"}},
		{"tyres", []string{"from", "205/55R16", "to", "205/60R16", "over", "1,5"}, []string{"does not fit"}},
		{"tyres", []string{"from", "31x10.50R15LT"}, []string{"787.4 mm over all", "266.7"}},
		{"tyres", []string{"from", "195/65 R15", "rim", "6"}, []string{"within its usual range, 201 mm wide on it"}},
		{"wheels", []string{"from", "8x17 ET45", "to", "9x17 ET35"}, []string{"2.7 mm further inward and 22.7 mm further outward", "146.6", "79.3", "436.6", "235.8", "+20 mm"}},
		{"wheels", []string{"from", "7Jx16 ET45 5x112 57.1", "to", "17 4H PCD 114.3 7J ET34 C/B:73", "spacer", "5"}, []string{"stud patterns differ", "spigot ring 73 to 57.1", "6 mm", "16 mm further outward"}},
		{"wheel-over-brake", []string{"barrel_radius_mm", "196.5", "caliper_radius_mm", "195", "measured_to_mm", "0.1"}, []string{"does not fit", "Only 1.5 mm of air at the barrel", "1.5 mm short"}},
		{"wheel-over-brake", []string{"barrel_radius_mm", "199", "caliper_radius_mm", "195", "spoke_mm", "46", "caliper_reach_mm", "40"}, []string{"fits", "4 mm of air at the barrel"}},
		{"wheel-over-brake", []string{"barrel_radius_mm", "198.5", "caliper_radius_mm", "195", "spoke_mm", "46", "caliper_reach_mm", "40"}, []string{"cannot tell", "It is tight", "modelling clay"}},
		{"wheel-over-brake", []string{"rim_diameter_in", "17", "caliper_radius_mm", "195"}, []string{"cannot tell", "only estimated"}},
		{"load-and-speed", []string{"index", "91V"}, []string{"615 kg a tyre", "240 km/h (149 mph)", "1230 kg"}},
		{"load-and-speed", []string{"index", "104/102R"}, []string{"900 kg", "3400 kg", "170 km/h"}},
		{"load-and-speed", []string{"index", "86H", "axle_kg", "1080", "kmh", "220"}, []string{"does not fit", "10 kg too little", "10 km/h too low", "load index 87 at least"}},
		{"load-and-speed", []string{"axle_kg", "1080"}, []string{"load index 87 at least, 545 kg a tyre"}},
		{"stud-circle", []string{"holes", "5", "apart", "65.8"}, []string{"111.95", "5x112", "times 1.7013"}},
		{"brake-wear", []string{"part", "disc", "now_mm", "23.6", "limit_mm", "23", "then_mm", "25", "distance", "42000"}, []string{"0.6 mm are left", "18000 miles", "1.4 mm"}},
		{"brake-wear", []string{"part", "pad", "now_mm", "1.4", "limit_mm", "2"}, []string{"0.6 mm beyond", "dangerous"}},
		{"brake-wear", []string{"part", "drum", "now_mm", "203.5", "limit_mm", "204", "then_mm", "203", "distance", "50000", "unit", "km"}, []string{"50000 km"}},
		{"vin", []string{"vin", "1G4AH59H45G118341"}, []string{"2005", "North America", "character 9 fits"}},
		{"vin", []string{"vin", "wvwzzz1jz3w386752"}, []string{"2003 or 2033", "makers need not use one"}},
		{"mark", []string{"mark", "bd5i smr"}, []string{"BD51 SMR", "September 2001"}},
		{"mark-up", []string{"cost", "80", "price", "100"}, []string{"25%", "20%", "£20.00"}},
		{"mark-up", []string{"cost", "80", "mark_up", "25"}, []string{"£100.00", "20%"}},
		{"mark-up", []string{"cost", "80", "margin", "20"}, []string{"£100.00", "25%"}},
		{"mark-up", []string{"price", "100", "margin", "20"}, []string{"£80.00", "25%"}},
		{"mark-up", []string{"margin", "33.33"}, []string{"49.99%"}},
		{"mark-up", []string{"cost", "0", "price", "100"}, []string{"not available", "100%"}},
		{"vat", []string{"amount", "120"}, []string{"£100.00", "£20.00", "£144.00"}},
		{"vat", []string{"amount", "14.85"}, []string{"£12.37", "£2.48"}},
		{"vat", []string{"amount", "105", "rate", "5"}, []string{"£100.00", "£5.00", "£110.25"}},
	} {
		a := s.ask("desk", c.tool, c.fields...)
		s.see(a, c.see...)
		for i := 0; i+1 < len(c.fields); i += 2 {
			e := a.Find("[name=" + c.fields[i] + "]")
			if v, _ := e.Attr("value"); e.AttrOr("type", "") != "radio" && v != c.fields[i+1] {
				t.Errorf("%s keeps %q in %s, not %q", c.tool, v, c.fields[i], c.fields[i+1])
			}
		}
	}
}

func TestBadInputIsSaidAtItsFieldAndKept(t *testing.T) {
	s := newSite(t)
	for _, c := range []struct {
		tool   string
		fields []string
		at     string
		says   string
	}{
		{"tyres", []string{"from", "banana"}, "from", "A tyre size as on the side wall"},
		{"tyres", []string{"from", "", "to", "205/55 R16"}, "from", "Please fill this in"},
		{"tyres", []string{"from", "205/55 R16", "rim", "99"}, "rim", "Between 2 and 16 in"},
		{"tyres", []string{"from", "205/55 R16", "over", "x"}, "over", "A figure, please"},
		{"wheels", []string{"from", "7Jx17", "to", "7Jx17 ET45"}, "from", "The offset is missing"},
		{"wheels", []string{"from", "ET45", "to", "7Jx17 ET45"}, "from", "The width in inches is missing"},
		{"wheels", []string{"from", "7Jx17 ET45 lovely", "to", "7Jx17 ET45"}, "from", "not understood"},
		{"wheel-over-brake", []string{"caliper_radius_mm", "195"}, "barrel_radius_mm", "inner radius"},
		{"wheel-over-brake", []string{"barrel_radius_mm", "199", "caliper_radius_mm", "195", "spoke_mm", "46"}, "caliper_reach_mm", "measured together"},
		{"load-and-speed", []string{"index", "V91"}, "index", "A load index with its speed symbol"},
		{"load-and-speed", []string{"index", ""}, "index", "One of the three"},
		{"stud-circle", []string{"holes", "2", "apart", "70"}, "holes", "Between 3 and 12"},
		{"brake-wear", []string{"now_mm", "25", "limit_mm", "23", "then_mm", "24", "distance", "100"}, "now_mm", "thicker now"},
		{"brake-wear", []string{"now_mm", "25", "limit_mm", "23", "distance", "100"}, "then_mm", "both are needed"},
		{"vin", []string{"vin", "1HGCM82633A00435"}, "vin", "this has 16"},
		{"mark", []string{"mark", "<b>"}, "mark", "only letters and figures"},
		{"mark-up", []string{"cost", "80"}, "mark_up", "One more of the four"},
		{"mark-up", []string{"cost", "80", "price", "100", "margin", "20"}, "cost", "Two of the four at most"},
		{"mark-up", []string{"margin", "100"}, "margin", "Below 100 %"},
		{"vat", []string{"amount", "12.345"}, "amount", "at most two figures"},
		{"vat", []string{"amount", "12", "rate", "9999"}, "rate", "between 0 and 1000"},
	} {
		a := s.ask("desk", c.tool, c.fields...)
		if a.status != http.StatusUnprocessableEntity {
			t.Errorf("%s %q: status %d", c.tool, c.fields, a.status)
		}
		if got := a.text("#f-" + c.at + "-problem"); !strings.Contains(got, c.says) {
			t.Errorf("%s %q says %q at %s, want %q; all of it: %.300s", c.tool, c.fields, got, c.at, c.says, a.text(".problems"))
		}
		if a.Find(".answer").Length() > 0 {
			t.Errorf("%s %q gives an answer all the same", c.tool, c.fields)
		}
		for i := 0; i+1 < len(c.fields); i += 2 {
			if v, _ := a.Find("[name=" + c.fields[i] + "]").Attr("value"); v != c.fields[i+1] && a.Find("[name="+c.fields[i]+"][type=radio]").Length() == 0 {
				t.Errorf("%s: %q is kept as %q", c.tool, c.fields[i+1], v)
			}
		}
	}
}

func TestHostileTextInEveryFieldIsText(t *testing.T) {
	s := newSite(t)
	for _, nasty := range []string{"<script>alert(1)</script>", `"><img src=x onerror=alert(1)>`, "' or 1=1 --", strings.Repeat("9", 4000), "\u202e205", "\x00", "1e309", "-0"} {
		for _, tool := range tools(s) {
			for _, name := range fieldsOf(s.get("desk", "/reckoner/"+tool)) {
				a := s.ask("desk", tool, name, nasty)
				if a.status >= 500 || a.Find("img, .answer script, form script").Length() > 0 {
					t.Errorf("%s with %q in %s: %d", tool, nasty[:min(20, len(nasty))], name, a.status)
				}
			}
		}
	}
}

func tools(s *site) []string {
	var out []string
	s.get("desk", "/reckoner").Find(".tools a").Each(func(_ int, e *goquery.Selection) {
		out = append(out, strings.TrimPrefix(e.AttrOr("href", ""), "/reckoner/"))
	})
	return out
}

func fieldsOf(a answer) []string {
	var out []string
	a.Find(".reckon input[name]").Each(func(_ int, e *goquery.Selection) { out = append(out, e.AttrOr("name", "")) })
	return out
}

func TestEveryCalculatorSaysWhatItStandsOn(t *testing.T) {
	s := newSite(t)
	list := tools(s)
	if len(list) < 10 {
		t.Fatalf("%d calculators", len(list))
	}
	for _, tool := range list {
		a := s.get("technician", "/reckoner/"+tool)
		if a.status != http.StatusOK || a.Find(".ground h3").Length() != 2 || a.Find(".ground p").Length() < 3 || a.Find(".answer").Length() > 0 {
			t.Errorf("%s: %d, %s", tool, a.status, a.text(".ground"))
		}
		if a.Find("form.reckon[method=get]").Length() != 1 || a.Find(".reckon [autofocus]").Length() != 1 {
			t.Errorf("%s is no plain form with the cursor in its first field", tool)
		}
	}
	if a := s.get("", "/reckoner/vat"); a.status == http.StatusOK && a.Find(".reckon").Length() > 0 {
		t.Error("the reckoner is open to anybody")
	}
}
