package pricing

import (
	"errors"
	"slices"
	"testing"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// HMRC VAT manual VTAXPER48000, at the fee of £54.85 for a car (gov.uk, MOT
// test fees): an own test carries no VAT; of a test at another centre that was
// paid £40.00, the £14.85 above is taxed, £2.48 of it VAT; and without the
// conditions of VTAXPER39000 one sixth of the whole is VAT.
func TestATestFeeIsTaxedAsTheManualSays(t *testing.T) {
	most := money.Minor(54_85)
	vouched := []Condition{AsAgent, UsedByCustomer, CustomerLiable, Authorised, CustomerKnew, Additional}
	for name, c := range map[string]struct {
		fee            TestFee
		how            Treatment
		vat, net, free money.Minor // free: outside the scope
		unmet          []Condition
	}{
		"own test":                {TestFee{Charged: 54_85, Maximum: &most, Own: true}, OwnTest, 0, 0, 54_85, nil},
		"own test at a discount":  {TestFee{Charged: 35_00, Maximum: &most, Own: true}, OwnTest, 0, 0, 35_00, nil},
		"paid on, with more":      {TestFee{Charged: 54_85, Paid: 40_00, Maximum: &most, Met: vouched}, Disbursement, 2_48, 12_37, 40_00, nil},
		"paid on exactly":         {TestFee{Charged: 40_00, Paid: 40_00, Met: vouched}, Disbursement, 0, 0, 40_00, nil},
		"nobody vouches":          {TestFee{Charged: 54_85, Paid: 40_00}, WholeTaxed, 9_14, 45_71, 0, vouched},
		"customer did not know":   {TestFee{Charged: 54_85, Paid: 40_00, Met: vouched[:4]}, WholeTaxed, 9_14, 45_71, 0, []Condition{CustomerKnew, Additional}},
		"less than was paid":      {TestFee{Charged: 30_00, Paid: 40_00, Met: vouched}, WholeTaxed, 5_00, 25_00, 0, []Condition{ExactAmount}},
		"what was paid not known": {TestFee{Charged: 54_85, Met: vouched}, WholeTaxed, 9_14, 45_71, 0, []Condition{ExactAmount}},
	} {
		c.fee.Text = "MOT test"
		lines, how, unmet, err := c.fee.Lines(standard)
		if err != nil || how != c.how || !slices.Equal(unmet, c.unmet) {
			t.Errorf("%s: %q %v %v", name, how, unmet, err)
			continue
		}
		sum := must(t, Sheet{Lines: lines})
		var net, free money.Minor
		for _, r := range sum.Totals.ByRate {
			if r.Code == money.Outside {
				free = r.Net
			} else {
				net = r.Net
			}
		}
		if sum.Totals.VAT != c.vat || net != c.net || free != c.free || sum.Totals.Gross != c.fee.Charged {
			t.Errorf("%s: %+v", name, sum.Totals)
		}
	}
}

func TestATestAboveTheStatutoryMaximumIsRefused(t *testing.T) {
	// gov.uk, MOT test fees: the maximum for a car; it has stood since 2010,
	// from memory.
	table := []Maximum{{"4", workday.Must(2010, 4, 6), 54_85}, {"7", workday.Must(2010, 4, 6), 58_60}, {"4", workday.Must(2000, 1, 1), 50_00}}
	most, ok := MaximumOn(table, "4", workday.Must(2026, 11, 25))
	if !ok || most != 54_85 {
		t.Fatalf("%v %v", most, ok)
	}
	if _, ok := MaximumOn(table, "7", workday.Must(2009, 1, 1)); ok {
		t.Error("a maximum before there was one")
	}
	for _, f := range []TestFee{{Charged: 54_86, Maximum: &most, Own: true}, {Charged: 60_00, Paid: 54_86, Maximum: &most}} {
		if _, _, _, err := f.Lines(standard); !errors.Is(err, ErrOverMaximum) {
			t.Errorf("%+v: %v", f, err)
		}
	}
	if _, _, _, err := (TestFee{Own: true}).Lines(standard); err == nil {
		t.Error("a test for nothing passed")
	}
}

func TestEachOfTheEightConditionsHasWords(t *testing.T) {
	all := Conditions()
	if len(all) != 8 {
		t.Fatalf("%d conditions", len(all))
	}
	for _, c := range all {
		if c.String() == "" {
			t.Errorf("condition %d has no words", c)
		}
	}
}

func TestVATOnADepositIsItsFraction(t *testing.T) {
	// A deposit for a bill of £120.00 at 20 % and £54.85 outside the scope; one
	// sixth of what falls to the first is VAT (VAT Notice 700, VAT fraction).
	bill := must(t, Sheet{Lines: []Line{{VAT: standard, Price: Fixed{100_00}}, {VAT: VAT{Code: money.Outside}, Price: Fixed{54_85}}}})
	got, ok := DepositVAT(174_85, bill.Totals)
	if !ok || got.VAT != 20_00 || got.Gross != 174_85 {
		t.Errorf("%+v %v", got, ok)
	}
	half, _ := DepositVAT(60_00, must(t, Sheet{Lines: []Line{{VAT: standard, Price: Fixed{100_00}}}}).Totals)
	if half.VAT != 10_00 || half.Net != 50_00 {
		t.Errorf("%+v", half)
	}
	if _, ok := DepositVAT(1, money.Totals{}); ok {
		t.Error("a deposit for nothing")
	}
}

func TestPartOfABillIsCreditedWithItsShareOfTheDiscount(t *testing.T) {
	bill := must(t, Sheet{
		Lines: []Line{{Key: "a", VAT: standard, Price: Fixed{100_00}}, {Key: "b", VAT: standard, Price: Fixed{50_00}}},
		Card:  []Adjustment{{Text: "Trade", Percent: 1000}},
	})
	c, err := bill.CreditLines([]string{"b"}, nil)
	if err != nil || c.Totals.Net != -45_00 || c.Totals.VAT != -9_00 || c.Allowances != -5_00 {
		t.Errorf("%+v %v", c, err)
	}
	if rest := Rest(bill.Totals, c.Totals); rest.Gross != 108_00 {
		t.Errorf("%+v is left", rest)
	}
	if _, err := bill.CreditLines([]string{"c"}, nil); !errors.Is(err, ErrUnknownKey) {
		t.Errorf("%v", err)
	}
}

// Three lines of 33p carry 20p of VAT by the document (VATREC12010); each alone
// would carry 7p.
func TestTheLastPieceOfACreditTakesThePennyThatIsLeft(t *testing.T) {
	var lines []Line
	for _, key := range []string{"a", "b", "c"} {
		lines = append(lines, Line{Key: key, Text: key, VAT: standard, Price: Fixed{33}})
	}
	bill := must(t, Sheet{Lines: lines})
	var already []string
	for i, vat := range []money.Minor{-7, -6, -7} {
		c, err := bill.CreditLines([]string{lines[i].Key}, already)
		if err != nil || c.Totals.VAT != vat || c.Totals.Net != -33 {
			t.Errorf("%d: %+v %v, want %v", i, c.Totals, err, vat)
		}
		already = append(already, lines[i].Key)
	}
	if _, err := bill.CreditLines([]string{"a"}, already); !errors.Is(err, ErrCredited) {
		t.Errorf("%v", err)
	}
}

func TestWhatIsLeftNamesARateThatOnlyACreditHas(t *testing.T) {
	credit := money.Totals{Net: -10_00, VAT: -1_75, Gross: -11_75, ByRate: []money.RateTotal{{Code: money.Standard, Rate: 1750, Net: -10_00, VAT: -1_75}}}
	rest := Rest(must(t, Sheet{Lines: []Line{{VAT: standard, Price: Fixed{10_00}}}}).Totals, credit)
	if len(rest.ByRate) != 2 || rest.ByRate[1] != credit.ByRate[0] || rest.Gross != 25 {
		t.Errorf("%+v", rest)
	}
}

func TestAPriceIsToldBeforeItStandsOnABill(t *testing.T) {
	p := Each{Qty: 2500, Unit: Litre, Net: 8_00}
	if m, err := MeasureOf(p); err != nil || m != (Measure{2500, Litre, 8_00, 1000}) || List(p) != 20_00 {
		t.Errorf("%+v %v %v", m, err, List(p))
	}
}
