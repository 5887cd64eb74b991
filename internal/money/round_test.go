package money

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// Rounding of VAT in the United Kingdom. Three lines of 33p at 20 % tell the
// policies apart: HMRC VAT manual VATREC12010 on VAT Notice 700, 17.5, for
// which rounding there is; VATREC12030 for the nearest penny. 86.76p becomes
// 86.7p down to a tenth, and 87p to the nearest penny or half penny: Notice
// 700, 17.5, from memory; here it is £7.23 at 12 %.
func TestVATIsRoundedAsTheTaxOfficeAllows(t *testing.T) {
	three := []Taxed{{33, Standard, 2000}, {33, Standard, 2000}, {33, Standard, 2000}}
	for _, c := range []struct {
		lines  []Taxed
		policy Rounding
		vat    Minor
	}{
		{three, PerDocument, 20},
		{three, PerLine, 21},
		{three, DocumentDown, 19},  // 19.8
		{three, LineTenthDown, 19}, // 3 x 6.6
		{three, LineHalf, 19},      // 3 x 6.5
		{[]Taxed{{7_23, Standard, 1200}}, PerLine, 87},
		{[]Taxed{{7_23, Standard, 1200}}, LineHalf, 87},
		{[]Taxed{{7_23, Standard, 1200}}, LineTenthDown, 86},
		{[]Taxed{{7_23, Standard, 1200}, {7_23, Standard, 1200}}, LineTenthDown, 173}, // 173.4, not 173.5
		{[]Taxed{{7_23, Standard, 1200}, {7_23, Standard, 1200}}, LineHalf, 174},
		{[]Taxed{{7_23, Standard, 1200}, {7_23, Standard, 1200}}, DocumentDown, 173}, // 173.52
		{[]Taxed{{2, Standard, 2000}}, PerDocument, 0},                               // 0.4p goes down
		{[]Taxed{{3, Standard, 2000}}, PerDocument, 1},                               // 0.6p goes up
		{[]Taxed{{10, Reduced, 500}}, PerDocument, 1},                                // 0.5p goes up
	} {
		got, err := Total(c.lines, c.policy)
		if err != nil || got.VAT != c.vat || got.Gross != got.Net+c.vat {
			t.Errorf("%v, %s: %+v %v, want %d", c.lines, c.policy, got, err, c.vat)
		}
	}
}

// HMRC VAT manual VATREC12020: a retailer may not round down.
func TestWhatARetailerMayNotUseSaysSo(t *testing.T) {
	for policy, down := range map[Rounding]bool{PerDocument: false, PerLine: false, DocumentDown: true, LineTenthDown: true, LineHalf: true} {
		if policy.Down() != down {
			t.Errorf("%s", policy)
		}
	}
}

func TestFractionsOfAPennyOfSeveralRatesMakeWholePennies(t *testing.T) {
	// 0.6p and 0.5p make 1.1p: a penny is due, and it goes where more was lost.
	got, err := Total([]Taxed{{3, Standard, 2000}, {10, Reduced, 500}}, DocumentDown)
	want := Totals{Net: 13, VAT: 1, Gross: 14, ByRate: []RateTotal{{Standard, 2000, 3, 1}, {Reduced, 500, 10, 0}}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v %v, want %+v", got, err, want)
	}
	// 2p less 0.4p is 1.6p: a penny.
	got, err = Total([]Taxed{{10, Standard, 2000}, {-8, Reduced, 500}}, DocumentDown)
	want = Totals{Net: 2, VAT: 1, Gross: 3, ByRate: []RateTotal{{Standard, 2000, 10, 2}, {Reduced, 500, -8, -1}}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v %v, want %+v", got, err, want)
	}
}

func TestAnAmountAgreedWithVATInItIsWhatIsAsked(t *testing.T) {
	// HMRC VTAXPER48000: of £54.85 for a test, £40.00 was paid on and £14.85 is
	// the agent's own, VAT of one sixth included.
	for _, policy := range roundings {
		got, err := TotalIncluding([]Taxed{{40_00, Outside, 0}}, []Taxed{{14_85, Standard, 2000}}, policy)
		want := Totals{Net: 52_37, VAT: 2_48, Gross: 54_85, ByRate: []RateTotal{{Standard, 2000, 12_37, 2_48}, {Outside, 0, 40_00, 0}}}
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v %v", policy, got, err)
		}
	}
	if _, err := TotalIncluding(nil, []Taxed{{1, "none", 0}}, PerLine); err == nil {
		t.Error("an unknown category passed")
	}
}

func TestNoPolicyAsksForMoreThanTheNextPenny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(anyLine, 1, 30).Draw(t, "lines")
		nearest, err := Total(lines, PerDocument)
		if err != nil {
			t.Fatal(err)
		}
		n, rates := Minor(len(lines)), Minor(len(nearest.ByRate))
		for policy, within := range map[Rounding]Minor{DocumentDown: 1 + rates, LineTenthDown: 2 + rates + n/10, LineHalf: 2 + rates + n/4} {
			got, err := Total(lines, policy)
			if err != nil {
				t.Fatal(err)
			}
			if d := got.VAT - nearest.VAT; max(d, -d) > within {
				t.Fatalf("%s: %v against %v over %d lines", policy, got.VAT, nearest.VAT, n)
			}
		}
		// Down is never more than the exact amount, worked out another way.
		down, _ := Total(lines, DocumentDown)
		var exact int64
		for _, l := range lines {
			exact += int64(l.Net) * int64(l.Rate)
		}
		if int64(down.VAT) != exact/wholeRate {
			t.Fatalf("%v, exactly %d/%d", down.VAT, exact, wholeRate)
		}
	})
}

func TestWhatIsSharedOutAddsUp(t *testing.T) {
	for _, c := range []struct {
		m             Minor
		weights, want []Minor
	}{
		{100, []Minor{1, 1, 1}, []Minor{34, 33, 33}},
		{-100, []Minor{1, 1, 1}, []Minor{-34, -33, -33}},
		{10, []Minor{30, 70}, []Minor{3, 7}},
		{1, []Minor{1, 2}, []Minor{0, 1}},
		{5, []Minor{0, 3, -9}, []Minor{0, 5, 0}},
	} {
		if got, ok := Apportion(c.m, c.weights); !ok || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%v over %v: %v %v", c.m, c.weights, got, ok)
		}
	}
	for _, weights := range [][]Minor{nil, {0, 0}, {-1}, {MaxLine + 1}} {
		if got, ok := Apportion(1, weights); ok {
			t.Errorf("over %v: %v", weights, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		m := Minor(rapid.Int64Range(-int64(MaxLine), int64(MaxLine)).Draw(t, "m"))
		w := rapid.SliceOfN(rapid.Map(rapid.Int64Range(0, int64(MaxTyped)), func(n int64) Minor { return Minor(n) }), 1, 12).Draw(t, "weights")
		parts, ok := Apportion(m, w)
		var sum, whole Minor
		for i := range w {
			whole += w[i]
		}
		if !ok {
			if whole != 0 {
				t.Fatal("nothing was shared out")
			}
			return
		}
		for i, p := range parts {
			sum += p
			if d := p - Minor(share(int64(m), int64(w[i]), int64(whole))); d > 1 || d < -1 {
				t.Fatalf("part %d of %v over %v is %v", i, m, w, p)
			}
		}
		if sum != m {
			t.Fatalf("%v over %v makes %v", m, w, parts)
		}
		back, _ := Apportion(-m, w)
		for i := range back {
			if back[i] != -parts[i] {
				t.Fatalf("the negative of %v is %v", parts, back)
			}
		}
	})
}
