package einvoice

import (
	"bytes"
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/money"
	"rampside/internal/pricing"
)

func pence(t *rapid.T, name string, lo, hi int64) money.Minor {
	return money.Minor(rapid.Int64Range(lo, hi).Draw(t, name))
}

var anyVAT = rapid.SampledFrom([]pricing.VAT{
	{Code: money.Standard, Rate: 2000}, {Code: money.Standard, Rate: 1750}, {Code: money.Reduced, Rate: 500}, {Code: money.Standard, Rate: 500},
	{Code: money.Zero}, {Code: money.Exempt}, {Code: money.Outside},
})

// distinct leaves out the second category of ours at one rate: the two are one
// in EN 16931, which may move a penny.
var distinct = rapid.SampledFrom([]pricing.VAT{{Code: money.Standard, Rate: 2000}, {Code: money.Reduced, Rate: 500}, {Code: money.Zero}, {Code: money.Exempt}, {Code: money.Outside}})

// anyBill is a bill as a garage might make it; a plain one is rounded once for
// the document and has nothing agreed with VAT in it.
func anyBill(t *rapid.T, vats *rapid.Generator[pricing.VAT], plain bool) pricing.Sum {
	s := pricing.Sheet{Rounding: money.PerDocument}
	ways := 3
	if !plain {
		s.Rounding, ways = rapid.SampledFrom(money.Roundings()).Draw(t, "rounding"), 4
	}
	for i := range rapid.IntRange(1, 10).Draw(t, "lines") {
		l := pricing.Line{Key: fmt.Sprint(i), Kind: pricing.Labour, Text: "line", VAT: vats.Draw(t, "vat")}
		switch rapid.IntRange(1, ways).Draw(t, "how") {
		case 3:
			l.Price = pricing.ByTime{For: time.Duration(rapid.Int64Range(0, 900).Draw(t, "min")) * time.Minute, PerHour: pence(t, "rate", 0, 150_00)}
		case 1:
			l.Kind, l.Price = pricing.Part, pricing.Each{Qty: rapid.Int64Range(-3000, 12_000).Draw(t, "qty"), Unit: pricing.Litre, Net: pence(t, "each", 0, 400_00)}
		case 4:
			l.Kind, l.Price = pricing.Fee, pricing.AllIn{Gross: pence(t, "gross", 1, 300_00)}
		case 2:
			l.Price = pricing.Fixed{Net: pence(t, "net", 0, 900_00)}
			l.Adjust = []pricing.Adjustment{{Text: "off", Percent: 1250}, {Text: "on", Up: true, Amount: 75}}
		}
		s.Lines = append(s.Lines, l)
	}
	if rapid.Bool().Draw(t, "discount") {
		s.Card = []pricing.Adjustment{{Text: "trade", Percent: 500}}
	}
	sum, err := pricing.Work(s)
	if err != nil {
		t.Fatal(err)
	}
	if gross := sum.Totals.Gross; gross > 0 && rapid.Bool().Draw(t, "deposit") {
		s.Deposits = []pricing.Deposit{{Amount: pence(t, "paid", 1, int64(gross))}}
		if sum, err = pricing.Work(s); err != nil {
			t.Fatal(err)
		}
	}
	return sum
}

// Whatever the bill, its electronic documents keep every rule, pay to the same
// amount, carry the same VAT, and are read back to the same figures.
func TestLawEveryBillBecomesRightDocuments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum, h := anyBill(t, anyVAT, false), head()
		switch rapid.IntRange(0, 2).Draw(t, "credit note") {
		case 1:
			h.Kind, sum = CreditNote, sum.Credit()
		case 2: // of some lines, after others
			var first, then []string
			for _, l := range sum.Lines {
				if rapid.Bool().Draw(t, "first") {
					first = append(first, l.Key)
				} else if len(then) == 0 || rapid.Bool().Draw(t, "then") {
					then = append(then, l.Key)
				}
			}
			if len(then) == 0 {
				first, then = nil, first
			}
			part, err := sum.CreditLines(then, first)
			if err != nil {
				t.Fatal(err)
			}
			h.Kind, sum = CreditNote, part
		}
		docs, err := From(h, sum)
		if err != nil {
			t.Fatal(err)
		}
		var payable, vat, net money.Minor
		for _, in := range docs {
			b, err := Write(in)
			if err != nil {
				t.Fatalf("%+v: %v", sum, err)
			}
			back, err := Read(bytes.NewReader(b))
			if err != nil || !reflect.DeepEqual(back, in) {
				t.Fatalf("%+v\nread back as\n%+v, %v", in, back, err)
			}
			payable, vat, net = payable+back.Payable, vat+back.VAT, net+back.Net+back.Rounding
		}
		if h.Kind == CreditNote {
			payable, vat, net = -payable, -vat, -net
		}
		if payable != sum.Due || vat != sum.Totals.VAT || net != sum.Totals.Net {
			t.Fatalf("%v, VAT %v, net %v of %+v", payable, vat, net, sum)
		}
	})
}

// Rounded once for the document, and with nothing agreed with VAT in it, a bill
// needs no penny moved.
func TestLawADocumentRoundedForEachRateIsSentAsItIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum := anyBill(t, distinct, true)
		docs, err := From(head(), sum)
		if err != nil {
			t.Fatal(err)
		}
		for _, in := range docs {
			if in.Rounding != 0 || len(in.Adjust) > len(sum.Card) {
				t.Fatalf("%+v", in)
			}
		}
	})
}
