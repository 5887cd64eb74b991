package jobcard

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/hours"
	"rampside/internal/money"
)

// The quote is worked out by package pricing; here it is held against sums
// made by hand, of nets that were rounded one by one.
func TestAQuoteIsTheSumOfItsLinesAndParts(t *testing.T) {
	rates := Rates{money.Standard: 2000, money.Reduced: 500}
	rapid.Check(t, func(t *rapid.T) {
		pence := func(most int64) money.Minor { return money.Minor(rapid.Int64Range(0, most).Draw(t, "pence")) }
		code := rapid.SampledFrom(money.VATCodes())
		var lines []Line
		var parts []Part
		var all, yes []money.Taxed
		counts, agreed := map[LineID]bool{}, map[LineID]bool{0: true}
		counts[0] = true
		for i := range rapid.IntRange(0, 5).Draw(t, "lines") {
			l := Line{ID: LineID(i + 1), VATCode: code.Draw(t, "code"), Rate: pence(120_00), Consent: rapid.SampledFrom([]Consent{Asked, Agreed, Declined}).Draw(t, "consent")}
			l.Estimate = hours.Estimate{Likely: time.Duration(rapid.IntRange(0, 600).Draw(t, "minutes")) * time.Minute}
			net := money.LabourNet(l.Estimate.Likely, l.Rate)
			if rapid.Bool().Draw(t, "fixed") {
				net = pence(500_00)
				l.FixedPrice = &net
			}
			counts[l.ID], agreed[l.ID] = l.Consent != Declined, l.Consent == Agreed
			lines = append(lines, l)
			take(&all, &yes, money.Taxed{Net: net, Code: l.VATCode, Rate: rates[l.VATCode]}, counts[l.ID], agreed[l.ID])
		}
		for i := range rapid.IntRange(0, 5).Draw(t, "parts") {
			p := Part{ID: PartID(i + 1), LineID: LineID(rapid.IntRange(0, len(lines)).Draw(t, "of")), VATCode: code.Draw(t, "code"), Qty: rapid.Int64Range(1, 9000).Draw(t, "qty"), Cost: pence(300_00), Source: FromGarage}
			net := money.PartNet(p.Qty, p.Cost)
			switch rapid.IntRange(0, 3).Draw(t, "how") {
			case 1:
				set := pence(400_00)
				p.Price, net = &set, money.PartNet(p.Qty, set)
			case 2:
				up := money.Rate(3000)
				p.MarkUp, net = &up, money.PartNet(p.Qty, money.MarkUp(p.Cost, up))
			case 3:
				p.Source, net = FromCustomer, 0
			}
			parts = append(parts, p)
			take(&all, &yes, money.Taxed{Net: net, Code: p.VATCode, Rate: rates[p.VATCode]}, counts[p.LineID], agreed[p.LineID])
		}
		for _, rounding := range money.Roundings() {
			q, err := PriceCard(Card{}, lines, parts, Extras{}, rates, PriceSettings{Rounding: rounding}).Quote()
			if err != nil {
				t.Fatal(err)
			}
			wantAll, _ := money.Total(all, rounding)
			wantYes, _ := money.Total(yes, rounding)
			if !reflect.DeepEqual(q.All, wantAll) || !reflect.DeepEqual(q.Agreed, wantYes) {
				t.Fatalf("%+v, by hand %+v and %+v", q, wantAll, wantYes)
			}
		}
	})
}

func take(all, yes *[]money.Taxed, one money.Taxed, in, ok bool) {
	if in {
		*all = append(*all, one)
	}
	if in && ok {
		*yes = append(*yes, one)
	}
}
