package bill_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// paper is a bill of the figures of a sum.
func (r *rig) paper(s *jobcard.Sheet, sum pricing.Sum, currency string) bill.Document {
	cur, err := money.CurrencyOf(currency)
	r.OK(err)
	d := bill.Document{
		Kind: bill.Bill, Form: bill.Full, CardID: s.ID, CustomerID: s.CustomerID, Issued: r.Day, TaxPoint: r.Day, Supplied: r.Day, Due: r.Day.AddDays(14),
		Currency: cur, Registered: true, Sum: sum,
		Seller: bill.Party{Name: "Saltmarsh Lane Garage", Address: "2 Saltmarsh Lane", VATNumber: "350983637", Country: "GB"},
		Buyer:  bill.Party{Name: "Odette Marlowe", Address: "4 Quay Steps", Country: "GB"}, Account: bill.Account{Name: "Saltmarsh", IBAN: "GB82WEST12345698765432"},
	}
	for _, l := range sum.Lines {
		d.Items = append(d.Items, bill.Item{LineSum: l})
	}
	return d
}

// ubl/examples/ubl-tc434-example5.xml of ConnectingEurope/eInvoicing-EN16931:
// 4000.00 net with an allowance and a charge of 10 % of 1500.00 each, VAT of
// 25 % on 1500.00 and of 12 % on 2500.00, 675.00 in all, 4675.00 with VAT and
// half of it prepaid.
func TestAPublishedInvoicePassesThroughTheDatabaseUnchanged(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Anything", 1_00))
	high, low := pricing.VAT{Code: money.Standard, Rate: 2500}, pricing.VAT{Code: money.Reduced, Rate: 1200}
	ten := func(text string, up bool) pricing.Adjustment {
		return pricing.Adjustment{Text: text, Up: up, Percent: 1000}
	}
	off, up := ten("Loyal customer", false), ten("Packaging", true)
	cardOff, cardUp := off, up
	cardOff.On, cardUp.On = []pricing.Kind{pricing.Part}, []pricing.Kind{pricing.Part}
	sum, err := pricing.Work(pricing.Sheet{Rounding: money.PerDocument, Lines: []pricing.Line{
		{Key: "1", Kind: pricing.Part, Text: "Printing paper", VAT: high, Price: pricing.Each{Qty: 1_000_000, Net: 1_00}, Adjust: []pricing.Adjustment{off, up}},
		{Key: "2", Kind: pricing.Part, Text: "Parker pen", VAT: high, Price: pricing.Fixed{Net: 500_00}},
		{Key: "3", Kind: pricing.Labour, Text: "Cookies", VAT: low, Price: pricing.Fixed{Net: 2500_00}},
	}, Card: []pricing.Adjustment{cardOff, cardUp}, Deposits: []pricing.Deposit{{Text: "prepaid", Amount: 2337_50}}})
	r.OK(err)
	id, err := bill.Insert(t.Context(), r.DB, r.Desk, r.paper(s, sum, "DKK"))
	r.OK(err)
	d := r.read(id)
	want := []money.RateTotal{{Code: money.Standard, Rate: 2500, Net: 1500_00, VAT: 375_00}, {Code: money.Reduced, Rate: 1200, Net: 2500_00, VAT: 300_00}}
	if d.Sum.LineNet != 4000_00 || d.Sum.Allowances != 150_00 || d.Sum.Charges != 150_00 || d.Sum.Totals.Net != 4000_00 || d.Sum.Totals.VAT != 675_00 ||
		d.Sum.Totals.Gross != 4675_00 || d.Sum.Due != 2337_50 || !reflect.DeepEqual(d.Sum.Totals.ByRate, want) {
		t.Errorf("%+v", d.Sum)
	}
	if one := r.electronic(d).Docs[0]; one.LineTotal != 4000_00 || one.VAT != 675_00 || one.Prepaid != 2337_50 || one.Payable != 2337_50 {
		t.Errorf("electronically %+v", one)
	}
}

var someVAT = rapid.SampledFrom([]pricing.VAT{{Code: money.Standard, Rate: 2000}, {Code: money.Reduced, Rate: 500}, {Code: money.Zero}, {Code: money.Outside}})

// someSum is what a sheet of anything that a card may hold comes to.
func someSum(t *rapid.T) pricing.Sum {
	minor := func(name string, hi int64) money.Minor { return money.Minor(rapid.Int64Range(0, hi).Draw(t, name)) }
	s := pricing.Sheet{Rounding: rapid.SampledFrom(money.Roundings()).Draw(t, "rounding")}
	for i := range rapid.IntRange(1, 6).Draw(t, "lines") {
		l := pricing.Line{Key: fmt.Sprint("line:", i), Kind: pricing.Labour, Text: "A line", VAT: someVAT.Draw(t, "vat")}
		switch rapid.IntRange(0, 4).Draw(t, "how") {
		case 0:
			l.Price = pricing.ByTime{For: time.Duration(rapid.IntRange(1, 400).Draw(t, "min")) * time.Minute, PerHour: minor("rate", 150_00)}
		case 1:
			l.Price = pricing.Fixed{Net: minor("fixed", 900_00)}
		case 2:
			l.Price, l.Kind = pricing.CostPlus{Qty: rapid.Int64Range(1, 9000).Draw(t, "qty"), Cost: minor("cost", 300_00), MarkUp: 3000}, pricing.Part
		case 3:
			l.Price, l.Kind = pricing.AllIn{Gross: minor("gross", 90_00) + 1}, pricing.Fee
		case 4:
			l.Price, l.Kind = pricing.CustomersOwn{Qty: 1000}, pricing.Part
		}
		if _, allIn := l.Price.(pricing.AllIn); !allIn && rapid.Bool().Draw(t, "off") {
			l.Adjust = []pricing.Adjustment{{Text: "off", Percent: money.Rate(rapid.Int64Range(1, 10_000).Draw(t, "bp"))}}
		}
		s.Lines = append(s.Lines, l)
	}
	if rapid.Bool().Draw(t, "card") {
		s.Card = []pricing.Adjustment{{Text: "card", Percent: money.Rate(rapid.Int64Range(1, 3000).Draw(t, "bp"))}}
	}
	sum, err := pricing.Work(s)
	if err != nil { // the card's discount finds nothing to be taken off
		s.Card = nil
		if sum, err = pricing.Work(s); err != nil {
			t.Fatalf("%+v: %v", s, err)
		}
	}
	return sum
}

func TestAnyBillReadsBackAsItWasAndItsCreditsComeToIt(t *testing.T) {
	r := newRig(t)
	rapid.Check(t, func(rt *rapid.T) {
		sum := someSum(rt)
		s := r.Book(fixed("Anything", 1_00))
		id, err := bill.Insert(t.Context(), r.DB, r.Desk, r.paper(s, sum, "GBP"))
		if err != nil {
			rt.Fatal(err)
		}
		d := r.read(id)
		if fmt.Sprintf("%+v", d.Sum) != fmt.Sprintf("%+v", sum) {
			rt.Fatalf("%+v\nread back as\n%+v", sum, d.Sum)
		}
		rest := d.Sum.Totals
		for rest.Gross != 0 || rest.Net != 0 {
			in := bill.CreditInput{BillID: id, Whole: true, Why: "again"}
			for _, i := range d.Items {
				if !i.AllIn && i.Left() > 1 && rapid.Bool().Draw(rt, "take") {
					if in.Lines == nil {
						in.Lines, in.Whole = map[string]int64{}, false
					}
					in.Lines[i.Key] = rapid.Int64Range(1, i.Left()).Draw(rt, "qty")
				}
			}
			if len(in.Lines) > 0 && rapid.IntRange(0, 2).Draw(rt, "enough") == 0 {
				in.Lines, in.Whole = nil, true
			}
			done, err := r.bills.Credit(t.Context(), r.Desk, in)
			if !in.Whole && apperr.Is(err, apperr.Invalid) {
				// A sliver of a line may come to a penny the wrong way: that is
				// refused, and the whole of what is left never is.
				in.Lines, in.Whole = nil, true
				done, err = r.bills.Credit(t.Context(), r.Desk, in)
			}
			if err != nil {
				rt.Fatal(err)
			}
			c := r.read(done.ID)
			rest = pricing.Rest(rest, c.Sum.Totals)
			d = r.read(id)
			if -rest.Gross > 0 || d.Open() != rest.Gross {
				rt.Fatalf("%s open, %s left", d.Open(), rest.Gross)
			}
		}
		if rest.VAT != 0 {
			rt.Fatalf("VAT of %s is left", rest.VAT)
		}
	})
}

func TestAnyCardIsBilledPaidAndCreditedToThePenny(t *testing.T) {
	r := newRig(t)
	dice := rand.New(rand.NewPCG(7, 11))
	for range 8 {
		var lines []jobcard.NewLine
		for range 1 + dice.IntN(3) {
			if dice.IntN(2) == 0 {
				lines = append(lines, fixed("Fixed work", money.Minor(1+dice.IntN(500_00))))
			} else {
				lines = append(lines, cardtest.Free("Timed work", time.Duration(1+dice.IntN(300))*time.Minute))
			}
		}
		s := r.Book(lines...)
		for i := range s.Lines {
			r.part(s, i, jobcard.PartTerms{Name: "Part", Qty: int64(1 + dice.IntN(5000)), Cost: money.Minor(dice.IntN(80_00)), Supply: jobcard.Arrived})
		}
		r.Fits(s.ID)
		if dice.IntN(2) == 0 {
			_, err := r.Cards.Adjust(t.Context(), r.Desk, jobcard.AdjustInput{CardID: s.ID, AdjustTerms: jobcard.AdjustTerms{What: "Regular customer", Percent: new(money.Rate(1 + dice.IntN(2000)))}})
			r.OK(err)
		}
		deposit := money.Minor(dice.IntN(100_00))
		if deposit > 0 {
			r.take(bill.TakeInput{CardID: s.ID, Amount: deposit})
		}
		r.Agree(s.ID)
		r.done(r.Sheet(s.ID))
		d := r.issue(s.ID)
		var lineSum money.Minor
		for _, i := range d.Items {
			lineSum += i.Net
		}
		if lineSum != d.Sum.LineNet || d.Sum.Totals.Gross != d.Sum.LineNet-d.Sum.Allowances+d.Sum.Charges+d.Sum.Totals.VAT {
			t.Errorf("the parts are not the whole: %+v", d.Sum)
		}
		if open := d.Open(); open > 0 {
			part := money.Minor(1 + dice.IntN(int(open)))
			r.take(bill.TakeInput{BillID: d.ID, Amount: part})
			if part < open {
				r.take(bill.TakeInput{BillID: d.ID, Amount: open - part, Method: "card"})
			}
		}
		if d = r.read(d.ID); d.Open() != 0 || d.Paid != d.Sum.Totals.Gross {
			t.Errorf("%s open, %s paid of %s", d.Open(), d.Paid, d.Sum.Totals.Gross)
		}
		one := d.Items[dice.IntN(len(d.Items))]
		a := r.credit(bill.CreditInput{BillID: d.ID, Lines: map[string]int64{one.Key: 1 + dice.Int64N(one.Qty)}})
		back := -a.Sum.Totals.Gross
		if d = r.read(d.ID); back > 0 {
			_, err := r.bills.Refund(t.Context(), r.Desk, bill.RefundInput{BillID: d.ID, Amount: back, Method: "card", Why: "credited"})
			r.OK(err)
		}
		if d = r.read(d.ID); d.Open() != 0 {
			t.Errorf("%s open", d.Open())
		}
		for _, i := range d.Items {
			if i.Left() != 0 {
				r.credit(bill.CreditInput{BillID: d.ID, Whole: true})
				break
			}
		}
		if d = r.read(d.ID); d.Credited != d.Sum.Totals.Gross {
			t.Errorf("%s credited of %s", d.Credited, d.Sum.Totals.Gross)
		}
		// All of it was credited: what VAT is left is that of what is kept of deposits.
		if n := r.count(`select sum(vat_minor) from bill`); n != 0 {
			t.Errorf("VAT of %d is left on bills that were credited whole", n)
		}
		if got, want := r.count(`select coalesce(sum(net_minor + vat_minor), 0) from deposit_vat`), r.count(`select coalesce(sum(left_minor), 0) from payment_state where card_id is not null`); got != want {
			t.Errorf("deposits of %d are taxed, and %d is kept", got, want)
		}
	}
	r.whole(int64(r.count(`select last from bill_series where name = 'bill'`)))
}
