package einvoice

import (
	"slices"
	"strings"
	"testing"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// One way to break each rule of EN 16931 and Peppol BIS Billing 3.0 (from the
// published schematron: repositories ConnectingEurope/eInvoicing-EN16931 and
// OpenPEPPOL/peppol-bis-invoice-3) in a document that keeps them all.
var breakers = map[string]func(in *Invoice){
	"BR-01": func(in *Invoice) { in.Specification = "" },
	"BR-02": func(in *Invoice) { in.Number = "" },
	"BR-03": func(in *Invoice) { in.Issued = workday.Day{} },
	"BR-04": func(in *Invoice) { in.Kind = "" },
	"BR-05": func(in *Invoice) { in.Currency = "" },
	"BR-06": func(in *Invoice) { in.Seller.Name = "" },
	"BR-07": func(in *Invoice) { in.Buyer.Name = "" },
	"BR-08": func(in *Invoice) {
		p := &in.Seller
		p.Street, p.Street2, p.City, p.Postcode, p.Country = "", "", "", "", ""
	},
	"BR-09": func(in *Invoice) { in.Seller.Country = "" },
	"BR-10": func(in *Invoice) { in.Buyer = Party{Name: "x", Endpoint: in.Buyer.Endpoint} },
	"BR-11": func(in *Invoice) { in.Buyer.Country = "" },
	"BR-16": func(in *Invoice) { in.Lines = nil },
	"BR-21": func(in *Invoice) { in.Lines[0].ID = "" },
	"BR-23": func(in *Invoice) { in.Lines[0].Unit = "" },
	"BR-25": func(in *Invoice) { in.Lines[0].Name = "" },
	"BR-27": func(in *Invoice) { in.Lines[4].Qty, in.Lines[4].Price = 1000, PriceOf(-5_00) },
	"BR-32": func(in *Invoice) { in.Adjust[0].Tax = Tax{} },
	"BR-33": func(in *Invoice) { in.Adjust[0].Reason, in.Adjust[0].ReasonCode = "", "" },
	"BR-37": func(in *Invoice) { in.Adjust[1].Tax = Tax{} },
	"BR-38": func(in *Invoice) { in.Adjust[1].Reason = "" },
	"BR-42": func(in *Invoice) { a := &in.Lines[0].Adjust[0]; a.Reason, a.ReasonCode = "", "" },
	"BR-44": func(in *Invoice) { in.Lines[0].Adjust[1].Reason = "" },
	"BR-47": func(in *Invoice) { in.Breakdown[0].Tax.Category = "" },
	"BR-48": func(in *Invoice) { in.Breakdown[2].Tax.Rated = false },
	"BR-49": func(in *Invoice) { in.Payment.Code = "" },
	"BR-50": func(in *Invoice) { in.Payment.Account = "" },
	"BR-55": func(in *Invoice) { in.Preceding[0].Number = "" },
	"BR-61": func(in *Invoice) { in.Payment = &Payment{Code: "30"} },
	"BR-62": func(in *Invoice) { in.Seller.Endpoint.Scheme = "" },
	"BR-63": func(in *Invoice) { in.Buyer.Endpoint.Scheme = "" },

	"BR-CO-04": func(in *Invoice) { in.Lines[0].Tax.Category = "" },
	"BR-CO-09": func(in *Invoice) { in.Seller.VATID = "123456789" },
	"BR-CO-10": func(in *Invoice) { in.LineTotal++ },
	"BR-CO-11": func(in *Invoice) { in.AllowanceTotal++ },
	"BR-CO-12": func(in *Invoice) { in.ChargeTotal-- },
	"BR-CO-13": func(in *Invoice) { in.Net++ },
	"BR-CO-14": func(in *Invoice) { in.VAT-- },
	"BR-CO-15": func(in *Invoice) { in.Gross++ },
	"BR-CO-16": func(in *Invoice) { in.Payable++ },
	"BR-CO-17": func(in *Invoice) { in.Breakdown[0].VAT++ }, // a penny: the published check lets 99 pass
	"BR-CO-18": func(in *Invoice) { in.Breakdown = nil },
	"BR-CO-21": func(in *Invoice) { in.Adjust[0].Reason, in.Adjust[0].ReasonCode = "", "" },
	"BR-CO-22": func(in *Invoice) { in.Adjust[1].Reason = "" },
	"BR-CO-23": func(in *Invoice) { a := &in.Lines[0].Adjust[0]; a.Reason, a.ReasonCode = "", "" },
	"BR-CO-24": func(in *Invoice) { in.Lines[0].Adjust[1].Reason = "" },
	"BR-CO-25": func(in *Invoice) { in.Due, in.Terms = workday.Day{}, "" },
	"BR-CO-26": func(in *Invoice) { in.Seller.ID, in.Seller.LegalID, in.Seller.VATID = Identifier{}, Identifier{}, "" },

	"BR-S-01": func(in *Invoice) { in.Breakdown = in.Breakdown[2:] },
	"BR-S-02": func(in *Invoice) { in.Seller.VATID = "" },
	"BR-S-03": func(in *Invoice) { in.Seller.VATID = "" },
	"BR-S-04": func(in *Invoice) { in.Seller.VATID = "" },
	"BR-S-05": func(in *Invoice) { in.Lines[0].Tax.Rate = 0 },
	"BR-S-06": func(in *Invoice) { in.Adjust[0].Tax.Rate = 0 },
	"BR-S-07": func(in *Invoice) { in.Adjust[1].Tax.Rated = false },
	"BR-S-08": func(in *Invoice) { in.Breakdown[0].Base++ },
	"BR-S-09": func(in *Invoice) { in.Breakdown[1].VAT-- },
	"BR-S-10": func(in *Invoice) { in.Breakdown[0].Reason = "x" },

	"BR-Z-01": func(in *Invoice) { in.Breakdown = append(in.Breakdown[:2:2], in.Breakdown[3]) },
	"BR-Z-02": func(in *Invoice) { in.Seller.VATID = "" },
	"BR-Z-03": func(in *Invoice) { in.Adjust[0].Tax, in.Seller.VATID = free(Zero), "" },
	"BR-Z-04": func(in *Invoice) { in.Adjust[1].Tax, in.Seller.VATID = free(Zero), "" },
	"BR-Z-05": func(in *Invoice) { in.Lines[2].Tax.Rate = 1 },
	"BR-Z-06": func(in *Invoice) { in.Adjust[0].Tax = Tax{Zero, true, 1} },
	"BR-Z-07": func(in *Invoice) { in.Adjust[1].Tax = Tax{Zero, false, 0} },
	"BR-Z-08": func(in *Invoice) { in.Breakdown[2].Base-- },
	"BR-Z-09": func(in *Invoice) { in.Breakdown[2].VAT = 1 },
	"BR-Z-10": func(in *Invoice) { in.Breakdown[2].Reason = "x" },

	"BR-E-01": func(in *Invoice) { in.Breakdown = in.Breakdown[:3] },
	"BR-E-02": func(in *Invoice) { in.Seller.VATID = "" },
	"BR-E-03": func(in *Invoice) { in.Adjust[0].Tax, in.Seller.VATID = free(Exempt), "" },
	"BR-E-04": func(in *Invoice) { in.Adjust[1].Tax, in.Seller.VATID = free(Exempt), "" },
	"BR-E-05": func(in *Invoice) { in.Lines[3].Tax.Rate = 2000 },
	"BR-E-06": func(in *Invoice) { in.Adjust[0].Tax = Tax{Exempt, true, 1} },
	"BR-E-07": func(in *Invoice) { in.Adjust[1].Tax = Tax{Exempt, true, 1} },
	"BR-E-08": func(in *Invoice) { in.Breakdown[3].Base++ },
	"BR-E-09": func(in *Invoice) { in.Breakdown[3].VAT = 1 },
	"BR-E-10": func(in *Invoice) { in.Breakdown[3].Reason = "" },

	"BR-CL-01": func(in *Invoice) { in.Kind = "384" },
	"BR-CL-04": func(in *Invoice) { in.Currency = "GPB" },
	"BR-CL-10": func(in *Invoice) { in.Seller.ID.Scheme = "9932" },
	"BR-CL-11": func(in *Invoice) { in.Buyer.LegalID = Identifier{"CH", "1"} },
	"BR-CL-14": func(in *Invoice) { in.Buyer.Country = "UK" },
	"BR-CL-16": func(in *Invoice) { in.Payment.Code = "999" },
	"BR-CL-17": func(in *Invoice) { in.Breakdown[0].Tax.Category = "A" },
	"BR-CL-18": func(in *Invoice) { in.Lines[0].Tax.Category = "A" },
	"BR-CL-19": func(in *Invoice) { in.Adjust[0].ReasonCode = "1" },
	"BR-CL-20": func(in *Invoice) { in.Lines[0].Adjust[1].ReasonCode = "95" },
	"BR-CL-22": func(in *Invoice) { in.Breakdown[3].ReasonCode = "LAW" },
	"BR-CL-23": func(in *Invoice) { in.Lines[0].Unit = "hours" },
	"BR-CL-25": func(in *Invoice) { in.Seller.Endpoint.Scheme = "9901" },

	"PEPPOL-EN16931-R001": func(in *Invoice) { in.Process = "" },
	"PEPPOL-EN16931-R003": func(in *Invoice) { in.BuyerReference, in.Order = "", "" },
	"PEPPOL-EN16931-R004": func(in *Invoice) { in.Specification = "urn:cen.eu:en16931:2017" },
	"PEPPOL-EN16931-R007": func(in *Invoice) { in.Process = "1" },
	"PEPPOL-EN16931-R010": func(in *Invoice) { in.Buyer.Endpoint = Identifier{} },
	"PEPPOL-EN16931-R020": func(in *Invoice) { in.Seller.Endpoint = Identifier{} },
	"PEPPOL-EN16931-R040": func(in *Invoice) { in.Lines[0].Adjust[0].Base = minorOf(24_05) },
	"PEPPOL-EN16931-R041": func(in *Invoice) { in.Adjust[0].Base = nil },
	"PEPPOL-EN16931-R042": func(in *Invoice) { in.Lines[0].Adjust[0].Percent = nil },
	"PEPPOL-EN16931-R120": func(in *Invoice) { in.Lines[1].Net++ },
	"PEPPOL-EN16931-R121": func(in *Invoice) { in.Lines[0].Per = -60_000 },
}

var outsideBreakers = map[string]func(in *Invoice){
	"BR-O-01": func(in *Invoice) { in.Breakdown[0].Tax = free(Zero) },
	"BR-O-02": func(in *Invoice) { in.Seller.VATID = "GB123456789" },
	"BR-O-03": func(in *Invoice) {
		in.Adjust, in.Buyer.VATID = []AllowanceCharge{allowance(1, free(Outside))}, "GB1"
	},
	"BR-O-04": func(in *Invoice) { in.Adjust, in.Buyer.VATID = []AllowanceCharge{charge(1, free(Outside))}, "GB1" },
	"BR-O-05": func(in *Invoice) { in.Lines[0].Tax.Rated = true }, // a rate of zero is a rate
	"BR-O-06": func(in *Invoice) { in.Adjust = []AllowanceCharge{allowance(1, Tax{Outside, true, 0})} },
	"BR-O-07": func(in *Invoice) { in.Adjust = []AllowanceCharge{charge(1, Tax{Outside, true, 0})} },
	"BR-O-08": func(in *Invoice) { in.Breakdown[0].Base++ },
	"BR-O-09": func(in *Invoice) { in.Breakdown[0].VAT = 1 },
	"BR-O-10": func(in *Invoice) { in.Breakdown[0].Reason, in.Breakdown[0].ReasonCode = "", "" },
	"BR-O-11": func(in *Invoice) { in.Breakdown = append(in.Breakdown, Breakdown{Tax: at(2000)}) },
	"BR-O-12": func(in *Invoice) { in.Lines = append(in.Lines, whole(1_00, at(2000))) },
	"BR-O-13": func(in *Invoice) { in.Adjust = []AllowanceCharge{allowance(1, at(2000))} },
	"BR-O-14": func(in *Invoice) { in.Adjust = []AllowanceCharge{charge(1, at(2000))} },
}

func TestEachRuleIsBrokenByWhatBreaksIt(t *testing.T) {
	for _, group := range []struct {
		of       func() Invoice
		breakers map[string]func(in *Invoice)
	}{{sample, breakers}, {outside, outsideBreakers}} {
		if f := Check(group.of()); len(f) > 0 {
			t.Fatalf("the sample breaks %v", f)
		}
		for id, breakIt := range group.breakers {
			t.Run(id, func(t *testing.T) {
				in := group.of()
				breakIt(&in)
				f := Check(in)
				if !slices.ContainsFunc(f, func(f Finding) bool { return f.Rule == id && f.Where != "" && f.Says != "" }) {
					t.Errorf("not found, but: %v", f)
				}
				if !strings.Contains(f.Error(), id) {
					t.Errorf("not told: %v", f)
				}
			})
		}
	}
}

func TestEveryRuleHasATestOfItsName(t *testing.T) {
	seen := map[string]bool{}
	for _, id := range Rules() {
		if seen[id] {
			t.Errorf("%s stands twice", id)
		}
		seen[id] = true
		if breakers[id] == nil && outsideBreakers[id] == nil {
			t.Errorf("nothing breaks %s", id)
		}
	}
	for id := range breakers {
		if !seen[id] {
			t.Errorf("there is no rule %s", id)
		}
	}
	if len(seen) != len(breakers)+len(outsideBreakers) {
		t.Errorf("%d rules, %d tests", len(seen), len(breakers)+len(outsideBreakers))
	}
}

func TestARateMustBeBrokenDownOnceAndOnce(t *testing.T) {
	in := sample()
	in.Breakdown = append(in.Breakdown[:1:1], in.Breakdown[2:]...) // 5 % is not
	if f := Check(in); !strings.Contains(f.Error(), "BR-S-08") {
		t.Errorf("%v", f)
	}
	in = sample()
	in.Breakdown = append(in.Breakdown, in.Breakdown[0]) // 20 % is twice
	if f := Check(in); !strings.Contains(f.Error(), "BR-S-08") {
		t.Errorf("%v", f)
	}
}

func TestOurCategoriesHaveTheirCodes(t *testing.T) {
	for code, want := range map[money.VATCode]Tax{
		money.Standard: {Standard, true, 2000}, money.Reduced: {Standard, true, 2000}, money.Zero: {Zero, true, 2000},
		money.Exempt: {Exempt, true, 2000}, money.Outside: {Outside, false, 0},
	} {
		if got := TaxOf(code, 2000); got != want {
			t.Errorf("%s: %+v", code, got)
		}
	}
}
