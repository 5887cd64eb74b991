package api

import (
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// calculations are what each calculator is asked, and what it has to answer;
// the figures are those of the packages' own tests, with their sources there.
var calculations = []struct {
	path, query string
	want        obj
}{
	{"tyre", "size=205/55R16+91V&rim_width_in=6.5", obj{
		"size": "205/55 R16 91V", "diameter_mm": 631.9, "catalogue_diameter_mm": 632, "catalogue_rim_mm": 406, "section_height_mm": 112.75, "catalogue_section_height_mm": 113,
		"rims.narrowest_in": 5.5, "rims.measuring_in": 6.5, "rims.widest_in": 7.5, "on_rim.standing": "within", "on_rim.section_width_mm": 214,
		"service.load_kg": 615, "service.speed_kmh": 240, "structure": "radial", "aspect_ratio_stated": true, "circumference_mm": math.Pi * 631.9,
	}},
	{"tyre", "size=31x10.50R15LT", obj{"diameter_mm": 787.4, "form": "flotation", "width_mm": 266.7, "section_height_mm": 203.2}},
	{"tyre", "size=195/70R15C+104/102R", obj{"service.dual_load_kg": 850, "service.dual_axle_load_kg": 3400, "commercial": true}},
	{"tyre", "size=155R13", obj{"aspect_ratio_stated": false, "doubt_percent": 1.5}},
	{"tyre-change", "from=205/55R16&to=225/45R17", obj{"change_percent": 100 * (634.3/631.9 - 1), "diameter_change_mm": 2.4, "ride_height_change_mm": 1.2, "speedometer": "fits", "to.catalogue_diameter_mm": 634}},
	{"tyre-change", "from=205/55R16&to=205/60R16&over_reading_percent=4", obj{"speedometer": "fits"}},
	{"tyre-change", "from=205/55R16&to=205/60R16&over_reading_percent=0", obj{"speedometer": "does not fit"}},
	{"tyre-change", "from=205/55R16&to=205/60R16", obj{"speedometer": "cannot tell", "least_over_reading_percent": 100 * (652.4/631.9 - 1)}},
	{"load-index", "load_index=115", obj{"load_kg": 1215}},
	{"load-index", "load_index=1", obj{"load_kg": 46.2}},
	{"load-index", "load_index=0", obj{"load_kg": 45, "load_index": 0}},
	{"load-index", "load_kg=615.5", obj{"load_index": 92, "load_kg": 630}},
	{"speed-symbol", "speed_symbol=H", obj{"speed_kmh": 210}},
	{"speed-symbol", "speed_symbol=ZR", obj{"speed_kmh": 240, "above": true}},
	{"speed-symbol", "speed_symbol=%28y%29", obj{"speed_symbol": "Y", "speed_kmh": 300, "above": true}},
	{"speed-symbol", "speed_kmh=205", obj{"speed_symbol": "H", "speed_kmh": 210}},
	{"service", "service=86H&axle_load_kg=1080&speed_kmh=200", obj{"answer": "does not fit", "margin_kg": -10, "needs_load_index": 87, "service.load_kg": 530}},
	{"service", "service=91V&axle_load_kg=1080&speed_kmh=220", obj{"answer": "fits", "carries_kg": 0.97 * 615, "needs_speed_symbol": "V"}},
	{"speedometer", "true_kmh=100&shown_kmh=114", obj{"least_shown_kmh": 100, "most_shown_kmh": 114, "right": true}},
	{"speedometer", "true_kmh=50&shown_kmh=49", obj{"most_shown_kmh": 59, "right": false}},
	{"tread", "depth_mm=1.6&width_mm=295", obj{"legal": true, "limit_mm": 1.6, "margin_mm": 0, "cut_limit_mm": 29.5}},
	{"tread", "depth_mm=1.5", obj{"legal": false, "margin_mm": -0.1, "cut_limit_mm": 25}},
	{"tread", "depth_mm=1&heavy_or_motorcycle=true", obj{"legal": true}},
	{"wheel", "marking=17+4H+PCD+114.3+7J+ET34+C/B:73", obj{
		"rim_width_in": 7, "rim_diameter_in": 17, "offset_mm": 34, "holes": 4, "circle_mm": 114.3, "centre_bore_mm": 73, "back_spacing_mm": 122.9, "seat_diameter_mm": 436.6,
		"outer_radius_mm": 235.8, "marking": "7Jx17 ET34 4x114.3 CB 73",
	}},
	{"wheel-change", "from_width_in=8&from_offset_mm=45&to_width_in=9&to_offset_mm=35", obj{
		"from_back_spacing_mm": 146.6, "from_front_spacing_mm": 56.6, "to_back_spacing_mm": 149.3, "to_front_spacing_mm": 79.3, "inner_change_mm": 2.7, "outer_change_mm": 22.7, "track_change_mm": 20,
	}},
	{"rim", "rim_diameter_in=17", obj{"seat_diameter_mm": 436.6, "outer_radius_mm": 235.8}},
	{"rim", "rim_diameter_in=13", obj{"seat_diameter_mm": 329.4}},
	{"stud-circle", "holes=5&apart_mm=65.8", obj{"nearest_pattern": "5x112", "factor": 1 / math.Sin(math.Pi/5), "circle_mm": 65.8 / math.Sin(math.Pi/5)}},
	{"wheel-over-brake", "barrel_radius_mm=196.5&caliper_radius_mm=195&tolerance_mm=0.1", obj{
		"answer": "does not fit", "barrel.gap_mm": 1.5, "barrel.margin_mm": -1.5, "barrel.worst_margin_mm": -1.7, "barrel.worst_tolerance_mm": 0.2, "barrel.likely_tolerance_mm": 0.141, "barrel_estimated": false,
	}},
	{"wheel-over-brake", "barrel_radius_mm=199&caliper_radius_mm=195&spoke_mm=0&caliper_reach_mm=-5", obj{"answer": "fits", "spokes.gap_mm": 5, "barrel.worst_margin_mm": 0}},
	{"wheel-over-brake", "rim_diameter_in=17&caliper_radius_mm=195", obj{"answer": "cannot tell", "barrel_estimated": true}},
	{"brake-wear", "kind=disc&now_mm=23.6&limit_mm=23&then_mm=25&distance=42000", obj{"left_mm": 0.6, "worn_mm": 1.4, "lasts": 18000, "worn_percent": 70, "mot_dangerous": false}},
	{"brake-wear", "kind=pad&now_mm=1.4&limit_mm=2", obj{"left_mm": -0.6, "mot_dangerous": true}},
	{"brake-wear", "kind=drum&now_mm=203.5&limit_mm=204&then_mm=203&distance=50000", obj{"left_mm": 0.5, "lasts": 50000}},
	{"vin", "vin=1M8GDM9AXKP042788", obj{"check_ok": true, "check_expected": "X", "wmi": "1M8"}},
	{"mark", "mark=bd5i+smr", obj{"mark": "BD51 SMR", "issued_year": 2001, "issued_month": 9, "layout": "current"}},
	{"vat-number", "number=GB844281425", obj{"number": "844281425"}},
	{"mark-up", "cost_minor=8000&price_minor=10000", obj{"mark_up_bp": 2500, "margin_bp": 2000, "profit_minor": 2000}},
	{"mark-up", "cost_minor=8000&margin_bp=2000", obj{"price_minor": 10000, "mark_up_bp": 2500}},
	{"mark-up", "price_minor=10000&mark_up_bp=2500", obj{"cost_minor": 8000, "margin_bp": 2000}},
	{"mark-up", "mark_up_bp=2500", obj{"margin_bp": 2000}},
	{"vat", "amount_minor=1485", obj{"out_of.vat_minor": 248, "out_of.net_minor": 1237, "onto.vat_minor": 297}},
	{"vat", "amount_minor=10500&rate_bp=500", obj{"out_of.net_minor": 10000, "onto.gross_minor": 11025}},
}

// fieldAt finds a field of an answer by its path.
func fieldAt(o obj, path string) any {
	name, rest, more := strings.Cut(path, ".")
	if !more {
		return o[name]
	}
	sub, _ := o[name].(obj)
	return fieldAt(sub, rest)
}

// reckoning asks each calculator what it is for.
func (s *site) reckoning() {
	s.t.Helper()
	for _, c := range calculations {
		as[obj](s.get("desk", "/calculators/"+c.path+"?"+c.query), http.StatusOK)
	}
}

func TestEveryCalculatorAnswersExactly(t *testing.T) {
	s := newSite(t)
	asked := map[string]bool{}
	for _, c := range calculations {
		asked["/calculators/"+c.path] = true
		got := as[obj](s.get("posy", "/calculators/"+c.path+"?"+c.query), http.StatusOK)
		for path, want := range c.want {
			v := fieldAt(got, path)
			switch w := want.(type) {
			case int:
				want = float64(w)
			case float64:
				if f, ok := v.(float64); ok && math.Abs(f-w) < 1e-9*max(1, math.Abs(w)) {
					continue
				}
			}
			if v != want {
				t.Errorf("%s?%s: %s is %v, want %v", c.path, c.query, path, v, want)
			}
		}
		if b, _ := got["basis"].(obj); b["formula"] == "" || b["source"] == "" || b["limits"] == "" || b == nil {
			t.Errorf("%s does not say what it stands on", c.path)
		}
	}
	for path := range s.api.huma.OpenAPI().Paths {
		if strings.HasPrefix(path, "/calculators/") && !asked[path] {
			t.Errorf("%s is asked nothing", path)
		}
	}
}

func TestACalculatorSaysWhatIsWrongAtItsParameter(t *testing.T) {
	s := newSite(t)
	for _, c := range []struct{ path, query, at string }{
		{"tyre", "size=banana", "size"}, {"tyre", "", "size"}, {"tyre", "size=205/55R16&rim_width_in=99", "rim_width_in"}, {"tyre", "size=205/55R16&rim_width_in=NaN", "rim_width_in"},
		{"tyre-change", "from=205/55R16&to=x", "to"}, {"tyre-change", "from=205/55R16&to=205/60R16&over_reading_percent=99", "over_reading_percent"},
		{"load-index", "", "load_index"}, {"load-index", "load_index=280", "load_index"}, {"load-index", "load_index=1&load_kg=50", "load_kg"}, {"load-index", "load_kg=1e9", "load_kg"},
		{"speed-symbol", "speed_symbol=I", "speed_symbol"}, {"speed-symbol", "speed_kmh=301", "speed_kmh"}, {"service", "service=V91", "service"},
		{"wheel", "marking=banana", "marking"}, {"wheel-change", "from_width_in=8&from_offset_mm=45&to_width_in=9", "to_offset_mm"}, {"wheel-change", "from_width_in=99&from_offset_mm=45&to_width_in=9&to_offset_mm=0", "from_width_in"},
		{"stud-circle", "holes=2&apart_mm=60", "holes"}, {"stud-circle", "holes=5&apart_mm=1", "apart_mm"}, {"wheel-over-brake", "caliper_radius_mm=195", "barrel_radius_mm"},
		{"wheel-over-brake", "barrel_radius_mm=199&caliper_radius_mm=195&spoke_mm=1", "spoke_mm"}, {"brake-wear", "kind=shoe&now_mm=5&limit_mm=2", "kind"},
		{"brake-wear", "kind=pad&now_mm=5&limit_mm=2&then_mm=4", "now_mm"}, {"brake-wear", "kind=pad&now_mm=5&limit_mm=2&distance=100", "then_mm"},
		{"vin", "vin=1", "vin"}, {"mark", "mark=%3Cb%3E", "mark"}, {"vat-number", "number=GB999999991", "number"}, {"mark-up", "", "cost_minor"}, {"mark-up", "cost_minor=1", "cost_minor"},
		{"mark-up", "mark_up_bp=1&margin_bp=1", "margin_bp"}, {"vat", "", "amount_minor"}, {"vat", "amount_minor=1&rate_bp=-1", "rate_bp"},
	} {
		p := s.get("desk", "/calculators/"+c.path+"?"+c.query).problem(http.StatusUnprocessableEntity, "invalid")
		if p.at(c.at) == "" {
			t.Errorf("%s?%s says nothing at %s: %+v", c.path, c.query, c.at, p.Errors)
		}
	}
	for _, odd := range []string{"NaN", "Inf", "-Inf", "1e999", "0x1p4", "9999999999999999999", strings.Repeat("9", 400), "'", "<b>"} {
		for path, item := range s.api.huma.OpenAPI().Paths {
			if !strings.HasPrefix(path, "/calculators/") || item.Get == nil {
				continue
			}
			for _, p := range item.Get.Parameters {
				if a := s.get("desk", path+"?"+p.Name+"="+url.QueryEscape(odd)); a.Status >= 500 || a.Status < 400 && strings.Contains(string(a.Raw), "NaN") {
					t.Errorf("%s with %s in %s: %d %s", path, odd, p.Name, a.Status, a.Raw)
				}
			}
		}
	}
	if n := s.log.count("request failed"); n != 0 {
		t.Errorf("%d faults are in the log", n)
	}
}

func TestALengthInAnAnswerIsAPlainFigure(t *testing.T) {
	raw, err := json.Marshal(map[string]any{"mm": MM(112_750), "in": Inches(165_100), "below": MM(-100)})
	if err != nil || string(raw) != `{"below":-0.1,"in":6.5,"mm":112.75}` {
		t.Errorf("%s, %v", raw, err)
	}
}
