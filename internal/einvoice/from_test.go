package einvoice

import (
	"errors"
	"testing"
	"time"

	"rampside/internal/money"
	"rampside/internal/pricing"
)

var twenty = pricing.VAT{Code: money.Standard, Rate: 2000}

// A repair with a test fee, by HMRC VTAXPER48000: £40.00 paid on, £14.85 for
// arranging it, of which £2.48 is VAT.
func TestABillThatMixesScopesBecomesTwoDocuments(t *testing.T) {
	fee := pricing.TestFee{Text: "MOT test", Charged: 54_85, Paid: 40_00, Met: pricing.Conditions()}
	lines, _, _, err := fee.Lines(twenty)
	if err != nil {
		t.Fatal(err)
	}
	lines = append(lines, pricing.Line{Kind: pricing.Labour, Text: "Front brakes", VAT: twenty, Price: pricing.ByTime{For: 100 * time.Minute, PerHour: 72_00}})
	sum, err := pricing.Work(pricing.Sheet{Lines: lines, Rounding: money.PerDocument, Deposits: []pricing.Deposit{{Amount: 180_00}}})
	if err != nil {
		t.Fatal(err)
	}
	docs, err := From(head(), sum)
	if err != nil || len(docs) != 2 {
		t.Fatalf("%d documents, %v", len(docs), err)
	}
	taxed, rest := docs[0], docs[1]
	if taxed.Number != "B-000123" || rest.Number != "B-000123-O" || rest.Seller.VATID != "" || taxed.Seller.VATID == "" {
		t.Errorf("%s of %s, %s of %s", taxed.Number, taxed.Seller.VATID, rest.Number, rest.Seller.VATID)
	}
	// £120.00 and 20 % is £144.00, and £14.85: £158.85 of £198.85.
	if taxed.VAT != 26_48 || taxed.Prepaid != 158_85 || taxed.Payable != 0 || rest.Prepaid != 21_15 || rest.Payable != 18_85 || sum.Due != 18_85 {
		t.Errorf("%+v\n%+v", taxed, rest)
	}
	// 132.37 at 20 % is 26.47: a penny more brings the VAT that was agreed.
	if len(taxed.Adjust) != 1 || taxed.Adjust[0].Amount != 1 || !taxed.Adjust[0].Charge || taxed.Rounding != -1 || taxed.Net != 132_38 {
		t.Errorf("%+v", taxed.Adjust)
	}
	for _, in := range docs {
		if f := Check(in); len(f) > 0 {
			t.Errorf("%v", f)
		}
	}
}

func TestABillOutsideTheScopeAloneKeepsItsNumber(t *testing.T) {
	sum, err := pricing.Work(pricing.Sheet{Rounding: money.PerDocument, Lines: []pricing.Line{{Kind: pricing.Fee, VAT: pricing.VAT{Code: money.Outside}, Price: pricing.Fixed{Net: 54_85}}}})
	if err != nil {
		t.Fatal(err)
	}
	docs, err := From(head(), sum)
	if err != nil || len(docs) != 1 || docs[0].Number != "B-000123" || docs[0].Lines[0].Name != "fee" || len(Check(docs[0])) > 0 {
		t.Errorf("%+v %v", docs, err)
	}
}

// Three lines of 33p at 20 %: 21p of VAT by the line (HMRC VATREC12010), 20p by
// the document. The document of the first moves 4p of the base and back.
func TestVATRoundedByTheLineIsCarriedOver(t *testing.T) {
	l := pricing.Line{Text: "Clip", VAT: twenty, Price: pricing.Fixed{Net: 33}}
	sum, err := pricing.Work(pricing.Sheet{Rounding: money.PerLine, Lines: []pricing.Line{l, l, l}})
	if err != nil {
		t.Fatal(err)
	}
	docs, err := From(head(), sum)
	if err != nil || docs[0].VAT != 21 || docs[0].Payable != 1_20 || docs[0].Rounding != -4 || len(Check(docs[0])) > 0 {
		t.Errorf("%+v %v", docs, err)
	}
}

func TestAUnitWithoutACodeIsRefused(t *testing.T) {
	sum, err := pricing.Work(pricing.Sheet{Rounding: money.PerLine, Lines: []pricing.Line{{VAT: twenty, Price: pricing.Each{Qty: 1, Unit: "drop", Net: 1}}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := From(head(), sum); !errors.Is(err, ErrUnit) {
		t.Errorf("%v", err)
	}
}

func TestASoleTraderHasAnIdentifierOutsideTheScope(t *testing.T) {
	sum, err := pricing.Work(pricing.Sheet{Rounding: money.PerDocument, Lines: []pricing.Line{{Kind: pricing.Fee, VAT: pricing.VAT{Code: money.Outside}, Price: pricing.Fixed{Net: 54_85}}}})
	if err != nil {
		t.Fatal(err)
	}
	h := head()
	h.Seller.ID, h.Seller.LegalID = Identifier{}, Identifier{}
	docs, err := From(h, sum)
	if err != nil || len(Check(docs[0])) > 0 || docs[0].Seller.ID.Value != h.Seller.Endpoint.Value {
		t.Errorf("%+v %v", docs, err)
	}
}
