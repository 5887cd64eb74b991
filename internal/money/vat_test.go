package money

import (
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Published examples of EN 16931 invoices: the repository
// ConnectingEurope/eInvoicing-EN16931, ubl/examples, and OpenPEPPOL's
// Allowance-example.xml. Their second rate
// stands in for our reduced one.
func TestTotalsMatchThePublishedInvoices(t *testing.T) {
	for _, c := range []struct {
		name            string
		lines           []Taxed
		net, vat, gross Minor
		by              []RateTotal
	}{
		{
			name: "ubl-tc434-example1.xml",
			lines: []Taxed{
				{19_90, Reduced, 600}, {9_85, Reduced, 600}, {8_29, Reduced, 600}, {14_46, Reduced, 600},
				{35_00, Reduced, 600}, {35_00, Reduced, 600}, {10_65, Reduced, 600}, {1_55, Reduced, 600},
				{14_37, Reduced, 600}, {8_29, Reduced, 600}, {16_58, Reduced, 600}, {9_95, Reduced, 600},
				{3_30, Reduced, 600}, {10_80, Standard, 2100}, {3_90, Reduced, 600}, {7_60, Standard, 2100},
				{9_34, Standard, 2100}, {18_63, Standard, 2100}, {102_12, Reduced, 600}, {-109_98, Reduced, 600},
			},
			net: 229_60, vat: 20_73, gross: 250_33,
			by: []RateTotal{{Standard, 2100, 46_37, 9_74}, {Reduced, 600, 183_23, 10_99}},
		},
		{
			name:  "ubl-tc434-example3.xml",
			lines: []Taxed{{900_00, Standard, 2500}, {800_00, Reduced, 1000}},
			net:   1700_00, vat: 305_00, gross: 2005_00,
			by: []RateTotal{{Standard, 2500, 900_00, 225_00}, {Reduced, 1000, 800_00, 80_00}},
		},
		{
			name:  "ubl-tc434-example5.xml",
			lines: []Taxed{{1500_00, Standard, 2500}, {2500_00, Reduced, 1200}},
			net:   4000_00, vat: 675_00, gross: 4675_00,
			by: []RateTotal{{Standard, 2500, 1500_00, 375_00}, {Reduced, 1200, 2500_00, 300_00}},
		},
		{
			name: "Allowance-example.xml",
			lines: []Taxed{
				{4000_00, Standard, 2500}, {1000_00, Exempt, 0}, {900_00, Standard, 2500},
				{-200_00, Standard, 2500}, {200_00, Standard, 2500},
			},
			net: 5900_00, vat: 1225_00, gross: 7125_00,
			by: []RateTotal{{Standard, 2500, 4900_00, 1225_00}, {Exempt, 0, 1000_00, 0}},
		},
	} {
		got, err := Total(c.lines, PerDocument)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if want := (Totals{c.net, c.vat, c.gross, c.by}); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, want %+v", c.name, got, want)
		}
	}
}

func TestUKVATFractionsAreASixthAndATwentyFirst(t *testing.T) {
	for _, c := range []struct {
		gross    Minor
		r        Rate
		net, vat Minor
	}{
		{6_00, 2000, 5_00, 1_00},
		{21_00, 500, 20_00, 1_00},
		// HMRC VTAXPER48000: of a test charged at £54.85 for which £40.00 was
		// paid on, £14.85 is ours and includes VAT.
		{14_85, 2000, 12_37, 2_48},
		{-14_85, 2000, -12_37, -2_48},
		{54_85, 0, 54_85, 0},
		{54_85, -2000, 54_85, 0},
	} {
		net, vat := SplitGross(c.gross, c.r)
		if net != c.net || vat != c.vat {
			t.Errorf("SplitGross(%v, %v) = %v, %v", c.gross, c.r, net, vat)
		}
	}
	if UKRate(Standard) != 2000 || UKRate(Reduced) != 500 || UKRate(Zero) != 0 || UKRate(Outside) != 0 {
		t.Error("the rates of the United Kingdom are wrong")
	}
}

func TestLinesThatMakeNoSenseAreRefused(t *testing.T) {
	for name, c := range map[string]struct {
		lines  []Taxed
		policy Rounding
		say    string
	}{
		"unknown category":   {[]Taxed{{1, "exempted", 0}}, PerDocument, "no VAT category"},
		"a rate outside":     {[]Taxed{{1, Outside, 2000}}, PerDocument, "carries no VAT"},
		"a rate on zero":     {[]Taxed{{1, Zero, 500}}, PerLine, "carries no VAT"},
		"a rate on exempt":   {[]Taxed{{1, Exempt, 500}}, PerLine, "carries no VAT"},
		"enormous category":  {[]Taxed{{MaxLine, Standard, 0}, {1, Standard, 0}, {-1, Zero, 0}}, PerDocument, "more than"},
		"negative rate":      {[]Taxed{{1, Standard, -1}}, PerDocument, "between 0 and 1000"},
		"enormous rate":      {[]Taxed{{1, Standard, MaxRate + 1}}, PerDocument, "between 0 and 1000"},
		"enormous line":      {[]Taxed{{MaxLine + 1, Standard, 0}}, PerDocument, "more than"},
		"enormous document":  {[]Taxed{{MaxLine, Standard, 2000}}, PerDocument, "more than"},
		"unknown policy":     {nil, "", "once for the document or on each line"},
		"more lines than we": {make([]Taxed, MaxLines+1), PerDocument, "at most"},
	} {
		_, err := Total(c.lines, c.policy)
		if err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestADocumentWithoutLinesComesToNothing(t *testing.T) {
	got, err := Total(nil, PerDocument)
	if err != nil || got.Gross != 0 || len(got.ByRate) != 0 {
		t.Errorf("%+v %v", got, err)
	}
}

func TestEveryCategoryHasWords(t *testing.T) {
	for _, c := range codes {
		if c.Label() == string(c) || c.Valid() != (c != Exempt) || c.Taxable() != (c != Outside) {
			t.Errorf("%s has no words, or is taken for another", c)
		}
	}
	for _, r := range Roundings() {
		if !r.Valid() || r.Label() == string(r) {
			t.Errorf("%s has no words", r)
		}
	}
}

var anyLine = rapid.Custom(func(t *rapid.T) Taxed {
	l := Taxed{
		Net:  Minor(rapid.Int64Range(-1_000_000_00, 1_000_000_00).Draw(t, "net")),
		Code: rapid.SampledFrom(codes).Draw(t, "code"),
	}
	if l.Code == Standard || l.Code == Reduced {
		l.Rate = Rate(rapid.SampledFrom([]int64{0, 500, 1750, 2000, 2100}).Draw(t, "rate"))
	}
	return l
})

func TestThePartsOfADocumentAddUpToTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(anyLine, 0, 30).Draw(t, "lines")
		policy := rapid.SampledFrom(roundings).Draw(t, "policy")
		whole, err := Total(lines, policy)
		if err != nil {
			t.Fatal(err)
		}

		var net, byNet, byVAT Minor
		for _, l := range lines {
			net += l.Net
		}
		for _, r := range whole.ByRate {
			byNet += r.Net
			byVAT += r.VAT
		}
		if net != whole.Net || byNet != whole.Net || byVAT != whole.VAT || whole.Gross != whole.Net+whole.VAT {
			t.Fatalf("%+v does not add up", whole)
		}

		shuffled := append([]Taxed(nil), lines...)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		if again, _ := Total(shuffled, policy); !reflect.DeepEqual(whole, again) {
			t.Fatalf("in another order %+v became %+v", whole, again)
		}

		credit := append([]Taxed(nil), lines...)
		for i := range credit {
			credit[i].Net = -credit[i].Net
		}
		if back, err := Total(credit, policy); err != nil || !reflect.DeepEqual(back, whole.Negative()) {
			t.Fatalf("%+v credited is %+v", whole, back)
		}
	})
}

func TestPerLineAndPerDocumentDifferByHalfAPennyALineAtMost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(anyLine, 1, 30).Draw(t, "lines")
		a, _ := Total(lines, PerDocument)
		b, _ := Total(lines, PerLine)
		if d := a.VAT - b.VAT; 2*max(d, -d) > Minor(len(lines)+len(a.ByRate)) {
			t.Fatalf("%v against %v over %d lines", a.VAT, b.VAT, len(lines))
		}
	})
}
