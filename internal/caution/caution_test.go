package caution

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestEveryDangerOfTheTradeHasACaution(t *testing.T) {
	for _, k := range []Key{
		Airbag, Lifting, Brakes, Steering, Wheels, Fuel, HighVoltage, Refrigerant, Battery, Coolant, Fumes, Paint, Dust,
	} {
		c, ok := ByKey(k)
		if !ok || c.Key != k || c.Title == "" || c.Text == "" || c.Source == "" {
			t.Errorf("%s: %+v", k, c)
		}
		if n := utf8.RuneCountInString(c.Text); n > 320 {
			t.Errorf("%s takes %d characters: too long to read before starting", k, n)
		}
	}
	if len(All()) != 13 {
		t.Errorf("there are %d", len(All()))
	}
	if _, ok := ByKey("tyres-of-doom"); ok {
		t.Error("an unknown caution was found")
	}
}

// Facts of the public sources that the catalogue cites, each in the entry that
// cites it.
func TestTheFactsOfTheSourcesAreInTheText(t *testing.T) {
	for _, c := range []struct {
		key         Key
		fact, cites string
	}{
		{Airbag, "UN 1.4G or 1.4S", "airbags and seat belt pretensioners"}, // HSE: licence above 5 kg
		{Airbag, "5 kg", "HSE"},
		{Airbag, "poison", "HSE"},
		{Lifting, "jack alone", "INDG434"},
		{Lifting, "Chock", "INDG434"},
		{Brakes, "air line", "HSE, motor vehicle repair: asbestos"},
		{Brakes, "1999", "asbestos"},
		{Wheels, "50 to 100 km", "no government source"},
		{Fuel, "fuel retriever", "fire and explosion"},
		{Fuel, "diesel tanks too", "fire and explosion"},
		{HighVoltage, "prove dead", "electric and hybrid vehicles"},
		{Refrigerant, "qualification", "517/2014"},
		{Battery, "hydrogen", "INDG139"},
		{Coolant, "hot", NoSource},
		{Fumes, "catalytic converter does not", "vehicle exhaust emissions"},
		{Paint, "0.02 mg/m³", "EH40"},
		{Paint, "30 minutes", "isocyanates"},
	} {
		got, _ := ByKey(c.key)
		if !strings.Contains(got.Text, c.fact) || !strings.Contains(got.Source, c.cites) {
			t.Errorf("%s lacks %q or its source %q: %+v", c.key, c.fact, c.cites, got)
		}
	}
	if !strings.Contains(Sentence, "Local rules") || !strings.Contains(Sentence, "trained or licensed person") {
		t.Error("the sentence does not say who decides")
	}
}

func TestOnlySafetyWorkNeedsASecondPerson(t *testing.T) {
	want := map[Key]bool{Airbag: true, Brakes: true, Steering: true, Wheels: true, HighVoltage: true}
	for _, c := range All() {
		if Safety(c.Key) != want[c.Key] {
			t.Errorf("%s: %v", c.Key, Safety(c.Key))
		}
	}
	if NeedsSecondCheck([]Key{Coolant, Dust}) || NeedsSecondCheck(nil) || !NeedsSecondCheck([]Key{Dust, Wheels}) {
		t.Error("the check of a list is wrong")
	}
}

func TestAListOfCautionsMustBeFromTheCatalogue(t *testing.T) {
	if err := Valid([]Key{Fuel, Dust}); err != nil {
		t.Error(err)
	}
	if err := Valid(nil); err != nil {
		t.Error(err)
	}
	for _, k := range []Key{"", "Fuel", "fuel ", "<script>"} {
		if err := Valid([]Key{Dust, k}); !errors.Is(err, ErrUnknown) {
			t.Errorf("%q was taken: %v", k, err)
		}
	}
}

func TestAFactCallsForItsCautions(t *testing.T) {
	for _, c := range []struct {
		key, value string
		want       []Key
	}{
		{"fuel", "hybrid", []Key{HighVoltage}},
		{"Fuel", "Petrol/Electric", []Key{HighVoltage}},
		{"fuel_type", "PHEV", []Key{HighVoltage}},
		{"fuel", "LPG", []Key{Fuel}},
		{"fuel", "hydrogen", []Key{HighVoltage, Fuel}},
		{"fuel", "petrol", nil},
		{"fuel", "diesel", nil},
		{"fuel", "", nil},
		{"high_voltage", "400", []Key{HighVoltage}},
		{"traction voltage", "61 V", []Key{HighVoltage}},
		{"high_voltage", "48", nil},
		{"high_voltage", "0", nil},
		{"high_voltage", "none", nil},
		{"airbags", "driver and passenger", []Key{Airbag}},
		{"airbags", "none", nil},
		{"airbags", "", nil},
		{"refrigerant", "R1234yf", []Key{Refrigerant}},
		{"air-conditioning", "not fitted", nil},
		{"suspension", "air, rear", []Key{Lifting}},
		{"suspension", "leaf", nil},
		{"first registered", "1998-06-30", []Key{Dust}},
		{"built", "03/1998", []Key{Dust}},
		{"year", "1999", nil},
		{"year", "2014", nil},
		{"year", "unknown", nil},
		{"colour", "electric blue", nil},
		{"", "", nil},
	} {
		if got := ForFact(c.key, c.value); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %s calls for %v, want %v", c.key, c.value, got, c.want)
		}
	}
}

func TestJoinedListsNameEachCautionOnceInOneOrder(t *testing.T) {
	key := rapid.SampledFrom([]Key{Airbag, Fuel, Dust, Wheels, HighVoltage, "gone"})
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.SliceOfN(key, 0, 6).Draw(t, "a")
		b := rapid.SliceOfN(key, 0, 6).Draw(t, "b")
		ab, ba := Merge(a, b), Merge(b, a)
		if !reflect.DeepEqual(ab, ba) || Valid(ab) != nil {
			t.Fatalf("%v and %v", ab, ba)
		}
		if cs := Of(ab); len(cs) != len(ab) {
			t.Fatalf("%v became %v", ab, cs)
		}
		seen := map[Key]bool{}
		for _, k := range ab {
			if seen[k] {
				t.Fatalf("%v names %s twice", ab, k)
			}
			seen[k] = true
		}
		for _, k := range append(a, b...) {
			if k != "gone" && !seen[k] {
				t.Fatalf("%v lost %s", ab, k)
			}
		}
	})
}

func FuzzForFact(f *testing.F) {
	f.Add("fuel", "hybrid")
	f.Add("first registered", "1998-06-30")
	f.Add("\xff", "\x00")
	f.Fuzz(func(t *testing.T, key, value string) {
		if err := Valid(ForFact(key, value)); err != nil {
			t.Fatal(err)
		}
	})
}
