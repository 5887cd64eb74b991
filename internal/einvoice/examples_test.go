package einvoice

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"rampside/internal/money"
)

// published is an example as published, in its figures: those of the lines,
// the document's allowances and charges, and every total.
type published struct {
	name                 string
	kind                 Kind
	currency             string
	lines                []Line
	adjust               []AllowanceCharge
	breakdown            []Breakdown
	line, allow, charges money.Minor
	net, vat, gross      money.Minor
	prepaid, payable     money.Minor
}

func withAdjust(l Line, a ...AllowanceCharge) Line { l.Adjust = a; return l }

// The example documents of the repositories ConnectingEurope/eInvoicing-EN16931
// (ubl/examples) and OpenPEPPOL/peppol-bis-invoice-3 (rules/examples).
// example3 has lines of 2 at 800 that come to 800, which R120 refuses: here
// they are of 1.
var examples = []published{
	{
		name: "ubl-tc434-example1.xml", kind: Bill, currency: "EUR",
		lines: []Line{
			each(2, 9_95, 19_90, at(600)), each(1, 9_85, 9_85, at(600)), each(1, 8_29, 8_29, at(600)), each(2, 7_23, 14_46, at(600)),
			each(1, 35_00, 35_00, at(600)), each(1, 35_00, 35_00, at(600)), each(1, 10_65, 10_65, at(600)), each(1, 1_55, 1_55, at(600)),
			each(3, 4_79, 14_37, at(600)), each(1, 8_29, 8_29, at(600)), each(2, 8_29, 16_58, at(600)), each(1, 9_95, 9_95, at(600)),
			each(1, 3_30, 3_30, at(600)), each(1, 10_80, 10_80, at(2100)), each(1, 3_90, 3_90, at(600)), each(2, 3_80, 7_60, at(2100)),
			each(1, 9_34, 9_34, at(2100)), each(1, 18_63, 18_63, at(2100)), each(6, 17_02, 102_12, at(600)), each(-6, 18_33, -109_98, at(600)),
		},
		breakdown: []Breakdown{{Tax: at(600), Base: 183_23, VAT: 10_99}, {Tax: at(2100), Base: 46_37, VAT: 9_74}},
		line:      229_60, net: 229_60, vat: 20_73, gross: 250_33, payable: 250_33,
	},
	{
		name: "ubl-tc434-example3.xml", kind: Bill, currency: "DKK",
		lines:     []Line{whole(800_00, at(2500)), whole(800_00, at(1000))},
		adjust:    []AllowanceCharge{{Charge: true, Reason: "Freight charge", Amount: 100_00, Tax: at(2500)}},
		breakdown: []Breakdown{{Tax: at(2500), Base: 900_00, VAT: 225_00}, {Tax: at(1000), Base: 800_00, VAT: 80_00}},
		line:      1600_00, charges: 100_00, net: 1700_00, vat: 305_00, gross: 2005_00, payable: 2005_00,
	},
	{
		name: "ubl-tc434-example5.xml", kind: Bill, currency: "DKK",
		lines: []Line{
			withAdjust(each(1000, 1_00, 1000_00, at(2500)),
				AllowanceCharge{Reason: "Loyal customer", ReasonCode: "100", Percent: rateOf(1000), Base: minorOf(1000_00), Amount: 100_00},
				AllowanceCharge{Charge: true, Reason: "Packaging", ReasonCode: "ABL", Percent: rateOf(1000), Base: minorOf(1000_00), Amount: 100_00}),
			whole(500_00, at(2500)), whole(2500_00, at(1200)),
		},
		adjust: []AllowanceCharge{
			{Reason: "Loyal customer", ReasonCode: "100", Percent: rateOf(1000), Base: minorOf(1500_00), Amount: 150_00, Tax: at(2500)},
			{Charge: true, Reason: "Packaging", ReasonCode: "ABL", Percent: rateOf(1000), Base: minorOf(1500_00), Amount: 150_00, Tax: at(2500)},
		},
		breakdown: []Breakdown{{Tax: at(2500), Base: 1500_00, VAT: 375_00}, {Tax: at(1200), Base: 2500_00, VAT: 300_00}},
		line:      4000_00, allow: 150_00, charges: 150_00, net: 4000_00, vat: 675_00, gross: 4675_00, prepaid: 2337_50, payable: 2337_50,
	},
	{
		name: "Allowance-example.xml", kind: Bill, currency: "EUR",
		lines: []Line{
			withAdjust(each(10, 410_00, 4000_00, at(2500)), AllowanceCharge{Charge: true, Reason: "Cleaning", ReasonCode: "CG", Percent: rateOf(100), Base: minorOf(100_00), Amount: 1_00}, AllowanceCharge{Reason: "Discount", ReasonCode: "95", Amount: 101_00}),
			{Name: "item", Unit: "C62", Qty: 10_000, Price: PriceOf(200_00), Per: 2000, Net: 1000_00, Tax: free(Exempt)},
			withAdjust(each(10, 100_00, 900_00, at(2500)), AllowanceCharge{Charge: true, Reason: "Charge", ReasonCode: "CG", Percent: rateOf(100), Base: minorOf(100_00), Amount: 1_00}, AllowanceCharge{Reason: "Discount", ReasonCode: "95", Amount: 101_00}),
		},
		adjust: []AllowanceCharge{
			{Charge: true, Reason: "Cleaning", ReasonCode: "CG", Percent: rateOf(2000), Base: minorOf(1000_00), Amount: 200_00, Tax: at(2500)}, allowance(200_00, at(2500)),
		},
		breakdown: []Breakdown{{Tax: at(2500), Base: 4900_00, VAT: 1225_00}, {Tax: free(Exempt), Base: 1000_00, Reason: "Reason for tax exempt"}},
		line:      5900_00, allow: 200_00, charges: 200_00, net: 5900_00, vat: 1225_00, gross: 7125_00, prepaid: 1000_00, payable: 6125_00,
	},
	{
		name: "base-creditnote-correction.xml", kind: CreditNote, currency: "EUR",
		lines:     []Line{each(7, 400_00, 2800_00, at(2500)), each(-3, 500_00, -1500_00, at(2500))},
		adjust:    []AllowanceCharge{{Charge: true, Reason: "Insurance", Amount: 25_00, Tax: at(2500)}},
		breakdown: []Breakdown{{Tax: at(2500), Base: 1325_00, VAT: 331_25}},
		line:      1300_00, charges: 25_00, net: 1325_00, vat: 331_25, gross: 1656_25, payable: 1656_25,
	},
	{
		name: "vat-category-O.xml", kind: Bill, currency: "SEK",
		lines:     []Line{whole(3200_00, free(Outside))},
		breakdown: []Breakdown{{Tax: free(Outside), Base: 3200_00, Reason: "Not subject to VAT"}},
		line:      3200_00, net: 3200_00, gross: 3200_00, payable: 3200_00,
	},
	{
		name: "vat-category-Z.xml", kind: Bill, currency: "GBP",
		lines:     []Line{each(10, 120_00, 1200_00, free(Zero))},
		breakdown: []Breakdown{{Tax: free(Zero), Base: 1200_00}},
		line:      1200_00, net: 1200_00, gross: 1200_00, payable: 1200_00,
	},
}

func (p published) invoice() Invoice {
	in := outside()
	if p.lines[0].Tax.Category != Outside {
		in = sample()
	}
	in.Kind, in.Currency = p.kind, p.currency
	in.Lines, in.Adjust, in.Breakdown = append([]Line(nil), p.lines...), p.adjust, p.breakdown
	for i := range in.Lines {
		in.Lines[i].ID = fmt.Sprint(i + 1)
	}
	in.LineTotal, in.AllowanceTotal, in.ChargeTotal = p.line, p.allow, p.charges
	in.Net, in.VAT, in.Gross, in.Prepaid, in.Rounding, in.Payable = p.net, p.vat, p.gross, p.prepaid, 0, p.payable
	return in
}

func TestThePublishedExamplesKeepEveryRuleToThePenny(t *testing.T) {
	for _, p := range examples {
		t.Run(p.name, func(t *testing.T) {
			in := p.invoice()
			if f := Check(in); len(f) > 0 {
				t.Fatalf("%v", f)
			}
			b, err := Write(in)
			if err != nil {
				t.Fatal(err)
			}
			back, err := Read(bytes.NewReader(b))
			if err != nil || !reflect.DeepEqual(back, in) {
				t.Errorf("read back as\n%+v, %v\nnot\n%+v", back, err, in)
			}
			// A penny off any figure is found.
			for name, figure := range map[string]*money.Minor{
				"BR-CO-10": &in.LineTotal, "BR-CO-11": &in.AllowanceTotal, "BR-CO-12": &in.ChargeTotal, "BR-CO-13": &in.Net,
				"BR-CO-14": &in.VAT, "BR-CO-15": &in.Gross, "BR-CO-16": &in.Payable,
			} {
				*figure++
				if f := Check(in); !strings.Contains(f.Error(), name) {
					t.Errorf("%s a penny out: %v", name, f)
				}
				*figure--
			}
		})
	}
}

// The published check of BR-CO-17 lets VAT be wrong by less than 1.00: an
// example with VAT of 375.90 for 375.00 passes it. Ours does not.
func TestTheOfficialToleranceIsNotOurs(t *testing.T) {
	in := examples[2].invoice()
	in.Breakdown = []Breakdown{{Tax: at(2500), Base: 1500_00, VAT: 375_90}, in.Breakdown[1]}
	in.VAT, in.Gross, in.Payable = in.VAT+90, in.Gross+90, in.Payable+90
	if f := Check(in); len(f) != 2 || f[0].Rule != "BR-CO-17" || f[1].Rule != "BR-S-09" {
		t.Errorf("%v", f)
	}
}

func TestLabourAndMaterialMixedWithATestFeeFailsAsOneDocument(t *testing.T) {
	in := sample()
	in.Lines = append(in.Lines, whole(54_85, free(Outside)))
	in.Lines[5].ID = "6"
	in.Breakdown = append(in.Breakdown, Breakdown{Tax: free(Outside), Base: 54_85, Reason: OutsideReason})
	for _, m := range []*money.Minor{&in.LineTotal, &in.Net, &in.Gross, &in.Payable} {
		*m += 54_85
	}
	var got []string
	for _, f := range Check(in) {
		got = append(got, f.Rule)
	}
	if want := []string{"BR-O-02", "BR-O-11", "BR-O-12", "BR-O-13", "BR-O-14"}; !reflect.DeepEqual(got, want) {
		t.Errorf("%v", got)
	}
}
