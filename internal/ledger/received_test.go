package ledger

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/money"
)

func std(net, vat money.Minor) money.RateTotal {
	return money.RateTotal{Code: money.Standard, Rate: 2000, Net: net, VAT: vat}
}

func out(net money.Minor) money.RateTotal { return money.RateTotal{Code: money.Outside, Net: net} }

// The VAT fraction of the standard rate of 20 % is 1/6 (VAT Notice 700, 7.3):
// of a part payment of £60.00 for a bill of £100.00 and £20.00 VAT, £10.00 is
// VAT, on the day it was received (SI 1995/2518, regulation 57).
func TestByCashAccountingVATIsDueWhenTheMoneyComes(t *testing.T) {
	got := Received([]money.RateTotal{std(100_00, 20_00)}, []Move{
		{Number: "P-2", Day: today.AddDays(40), Paid: 60_00}, {Number: "P-1", Day: today, Paid: 60_00},
	})
	want := []Document{
		{"P-1", "", today, []money.RateTotal{std(50_00, 10_00)}}, {"P-2", "", today.AddDays(40), []money.RateTotal{std(50_00, 10_00)}},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
}

// Common practice, no published source: what each figure must be is worked out
// beside it.
func TestMoneyIsForWhatIsLeftOfABillAfterItsCreditNotes(t *testing.T) {
	bill := []money.RateTotal{std(100_00, 20_00), out(40_00)}
	credit := []money.RateTotal{out(40_00)}
	for name, c := range map[string]struct {
		moves    []Move
		net, vat money.Minor
	}{
		"half of £160.00 at the bill's mix":                 {[]Move{{Number: "P", Day: today, Paid: 80_00}}, 70_00, 10_00},
		"the test fee credited first, the rest all at 20 %": {[]Move{{Number: "C", Day: today, Credited: credit}, {Number: "P", Day: today.AddDays(1), Paid: 60_00}}, 50_00, 10_00},
		"credited after: what came in was for the work":     {[]Move{{Number: "P", Day: today, Paid: 60_00}, {Number: "C", Day: today.AddDays(1), Credited: credit}}, 50_00, 10_00},
		"paid, all credited, all given back":                {[]Move{{Number: "P", Day: today, Paid: 160_00}, {Number: "C", Day: today.AddDays(1), Credited: bill}, {Number: "R", Day: today.AddDays(2), Paid: -160_00}}, 0, 0},
		"paid and all credited, not yet given back":         {[]Move{{Number: "P", Day: today, Paid: 160_00}, {Number: "C", Day: today.AddDays(1), Credited: bill}}, 140_00, 20_00},
		"nothing came in":                                   {[]Move{{Number: "C", Day: today, Credited: credit}}, 0, 0},
	} {
		p := VATOf(Received(bill, c.moves), today, today.AddDays(9))
		if p.Supplies+p.Outside != c.net || p.VAT != c.vat {
			t.Errorf("%s: net %v, VAT %v, want %v and %v", name, p.Supplies+p.Outside, p.VAT, c.net, c.vat)
		}
	}
}

func TestLawAllPartPaymentsTogetherAreTheBill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var bill []money.RateTotal
		var whole money.Minor
		for _, rate := range []money.Rate{2000, 500, 0} {
			net := money.Minor(rapid.Int64Range(0, 900_00).Draw(t, "net"))
			vat := net*money.Minor(rate)/10_000 + money.Minor(rapid.Int64Range(0, 2).Draw(t, "rounding")*int64(min(rate, 1)))
			bill = append(bill, money.RateTotal{Code: money.Standard, Rate: rate, Net: net, VAT: vat})
			whole += net + vat
		}
		var moves []Move
		left := whole
		for i := 0; left > 0; i++ {
			part := money.Minor(rapid.Int64Range(1, int64(left)).Draw(t, "part"))
			if i == 6 {
				part = left
			}
			moves = append(moves, Move{Number: "P", Day: today.AddDays(i), Paid: part})
			left -= part
		}
		sum := map[money.Rate]money.RateTotal{}
		var came money.Minor
		for i, d := range Received(bill, moves) {
			var gross money.Minor
			for _, r := range d.ByRate {
				s := sum[r.Rate]
				s.Net, s.VAT, gross = s.Net+r.Net, s.VAT+r.VAT, gross+r.Net+r.VAT
				sum[r.Rate] = s
			}
			if gross != moves[i].Paid {
				t.Fatalf("%v came in and %v was accounted for", moves[i].Paid, gross)
			}
			came += gross
		}
		for _, r := range bill {
			if s := sum[r.Rate]; s.Net != r.Net || s.VAT != r.VAT {
				t.Fatalf("at %v: %v and %v, want %v and %v", r.Rate, s.Net, s.VAT, r.Net, r.VAT)
			}
		}
		if came != whole {
			t.Fatalf("%v of %v", came, whole)
		}
	})
}
