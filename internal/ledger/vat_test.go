package ledger

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/money"
)

// A bill of £132.37 at 20 % with £40.00 outside the scope, a credit note of
// £45.00 and a deposit: common practice, no published source.
func TestVATOfAPeriodNamesTheDocumentsBehindIt(t *testing.T) {
	p := VATOf([]Document{
		{"C-000001", "", today.AddDays(2), []money.RateTotal{{Code: money.Standard, Rate: 2000, Net: -45_00, VAT: -9_00}}},
		{"B-000002", "", today, []money.RateTotal{{Code: money.Standard, Rate: 2000, Net: 132_37, VAT: 26_47}, {Code: money.Outside, Net: 40_00}}},
		{"D-000001", "", today.AddDays(-3), []money.RateTotal{{Code: money.Reduced, Rate: 500, Net: 20_00, VAT: 1_00}}},
		{"B-000009", "", today.AddDays(3), []money.RateTotal{{Code: money.Standard, Rate: 2000, Net: 1, VAT: 1}}},
		{"B-000001", "", today.AddDays(-4), []money.RateTotal{{Code: money.Standard, Rate: 2000, Net: 1, VAT: 1}}},
	}, today.AddDays(-3), today.AddDays(2))
	want := VATPeriod{
		From: today.AddDays(-3), To: today.AddDays(2), VAT: 18_47, Supplies: 107_37, Outside: 40_00,
		Rows: []VATRow{
			{money.RateTotal{Code: money.Standard, Rate: 2000, Net: 87_37, VAT: 17_47}, []Behind{{"B-000002", "", today, 132_37, 26_47}, {"C-000001", "", today.AddDays(2), -45_00, -9_00}}},
			{money.RateTotal{Code: money.Reduced, Rate: 500, Net: 20_00, VAT: 1_00}, []Behind{{"D-000001", "", today.AddDays(-3), 20_00, 1_00}}},
			{money.RateTotal{Code: money.Outside, Net: 40_00}, []Behind{{"B-000002", "", today, 40_00, 0}}},
		},
	}
	if !reflect.DeepEqual(p, want) {
		t.Errorf("%+v", p)
	}
}

func TestNumbersStandInTheirOrder(t *testing.T) {
	if compareText("B-999999", "B-1000000") >= 0 || compareText("B-000002", "B-000001") <= 0 || compareText("a", "a") != 0 {
		t.Error("they do not")
	}
}

func TestLawThePeriodIsTheSumOfItsDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		docs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Document {
			d := Document{TaxPoint: today.AddDays(rapid.IntRange(0, 9).Draw(t, "day"))}
			for range rapid.IntRange(0, 3).Draw(t, "rates") {
				d.ByRate = append(d.ByRate, money.RateTotal{
					Code: rapid.SampledFrom([]money.VATCode{money.Standard, money.Zero, money.Exempt, money.Outside}).Draw(t, "code"),
					Net:  money.Minor(rapid.Int64Range(-500_00, 500_00).Draw(t, "net")), VAT: money.Minor(rapid.Int64Range(-100_00, 100_00).Draw(t, "vat")),
				})
			}
			return d
		}), 0, 10).Draw(t, "documents")
		whole := VATOf(docs, today, today.AddDays(9))
		var vat, supplies, outside, net, behind money.Minor
		for day := range 10 {
			one := VATOf(docs, today.AddDays(day), today.AddDays(day))
			vat, supplies, outside = vat+one.VAT, supplies+one.Supplies, outside+one.Outside
		}
		for _, r := range whole.Rows {
			net += r.Net
			for _, b := range r.Behind {
				behind += b.Net
			}
		}
		if vat != whole.VAT || supplies != whole.Supplies || outside != whole.Outside || net != supplies+outside || behind != net {
			t.Fatalf("%+v", whole)
		}
	})
}
