package bill_test

import (
	"sync"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// vatDue is the VAT that bills and deposits together make due.
func (r *rig) vatDue() money.Minor {
	return money.Minor(r.count(`select coalesce((select sum(vat_minor) from bill), 0) + coalesce((select sum(vat_minor) from deposit_vat), 0)`))
}

func TestABillIsPaidInPartsByAnyMeans(t *testing.T) {
	r := newRig(t)
	d := r.issue(r.finished(fixed("Exhaust, replace", 100_00)).ID)
	if got := r.take(bill.TakeInput{BillID: d.ID, Amount: 50_00, Method: "card"}); got.Open != 70_00 || got.Number != "R-00001" {
		t.Errorf("%+v", got)
	}
	_, err := r.bills.Take(t.Context(), r.Desk, bill.TakeInput{BillID: d.ID, Amount: 80_00, Method: "cash"})
	r.wrong(err, apperr.Invalid, "amount")
	_, err = r.bills.Take(t.Context(), r.Desk, bill.TakeInput{BillID: d.ID, Amount: 10_00, Method: "shells"})
	r.wrong(err, apperr.Invalid, "method")
	_, err = r.bills.Take(t.Context(), r.Desk, bill.TakeInput{BillID: d.ID, Amount: 10_00, Method: "cash", Day: r.Day.AddDays(1)})
	r.wrong(err, apperr.Invalid, "day")
	got := r.take(bill.TakeInput{BillID: d.ID, Amount: 80_00, Keep: true})
	if got.Open != 0 || got.Left != 10_00 {
		t.Errorf("%+v", got)
	}
	if d := r.read(d.ID); d.Open() != 0 || d.Word(r.Day) != "paid" {
		t.Errorf("%s open, %s", d.Open(), d.Word(r.Day))
	}
	r.whole(1)
	// What was kept pays the next bill.
	next := r.issue(r.finished(fixed("Wipers, replace", 20_00)).ID)
	used, err := r.bills.Use(t.Context(), r.Desk, bill.UseInput{BillID: next.ID})
	r.OK(err)
	if used.Open != 14_00 {
		t.Errorf("%s open", used.Open)
	}
	_, err = r.bills.Use(t.Context(), r.Desk, bill.UseInput{BillID: next.ID})
	r.wrong(err, apperr.Conflict)
}

// VAT Act 1994, section 6(4): money received before creates a tax point for
// what was received. £60.00 at 20 % holds £10.00 (one sixth, gov.uk VAT
// fractions).
func TestADepositIsTaxedWhenItComesAndTakenOffByTheBill(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 100_00))
	paid := r.take(bill.TakeInput{CardID: s.ID, Amount: 60_00, Method: "card"})
	one, err := r.bills.Payment(t.Context(), r.Desk, paid.ID)
	r.OK(err)
	if len(one.Taxes) != 1 || one.Taxes[0].VAT != 10_00 || one.Taxes[0].Net != 50_00 || r.vatDue() != 10_00 {
		t.Errorf("%+v, %s due", one.Taxes, r.vatDue())
	}
	r.Agree(s.ID)
	r.done(s)
	d := r.issue(s.ID)
	if d.Sum.Paid != 60_00 || d.Sum.Due != 60_00 || d.Open() != 60_00 || r.vatDue() != 20_00 {
		t.Errorf("%s set off, %s open, %s VAT due", d.Sum.Paid, d.Open(), r.vatDue())
	}
	// The deposit was entered wrongly: it is owed again, and the VAT is the bill's.
	_, err = r.bills.Reverse(t.Context(), r.Desk, bill.ReverseInput{PaymentID: paid.ID, Why: "the cheque was another customer's"})
	r.OK(err)
	if d := r.read(d.ID); d.Open() != 120_00 || r.vatDue() != 20_00 {
		t.Errorf("%s open, %s VAT due", d.Open(), r.vatDue())
	}
}

func TestADepositThatIsGivenBackOwesNoVAT(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 100_00))
	paid := r.take(bill.TakeInput{CardID: s.ID, Amount: 60_01})
	give := func(m money.Minor) error {
		_, err := r.bills.Refund(t.Context(), r.Desk, bill.RefundInput{PaymentID: paid.ID, Amount: m, Method: "cash", Why: "she cannot come"})
		return err
	}
	r.OK(give(33_33))
	r.wrong(give(26_69), apperr.Invalid, "amount")
	_, err := r.bills.Reverse(t.Context(), r.Desk, bill.ReverseInput{PaymentID: paid.ID, Why: "wrong"})
	r.wrong(err, apperr.Conflict)
	r.OK(give(26_68))
	if n := r.count(`select sum(net_minor + vat_minor) from deposit_vat`); n != 0 || r.vatDue() != 0 {
		t.Errorf("%d left, %s VAT due", n, r.vatDue())
	}
}

func TestAPaymentEnteredWronglyIsUndoneByItsContraryAndStaysOnRecord(t *testing.T) {
	r := newRig(t)
	d := r.issue(r.finished(fixed("Exhaust, replace", 100_00)).ID)
	paid := r.take(bill.TakeInput{BillID: d.ID, Amount: 120_00, Method: "card"})
	_, err := r.bills.Reverse(t.Context(), r.Desk, bill.ReverseInput{PaymentID: paid.ID})
	r.wrong(err, apperr.Invalid, "why")
	undone, err := r.bills.Reverse(t.Context(), r.Desk, bill.ReverseInput{PaymentID: paid.ID, Why: "it was £12.00"})
	r.OK(err)
	for _, id := range []bill.PaymentID{paid.ID, undone.ID} {
		_, err = r.bills.Reverse(t.Context(), r.Desk, bill.ReverseInput{PaymentID: id, Why: "again"})
		r.wrong(err, apperr.Conflict)
	}
	if d := r.read(d.ID); d.Open() != 120_00 || d.Paid != 0 {
		t.Errorf("%s open, %s paid", d.Open(), d.Paid)
	}
	if n := r.count(`select count(*) from payment`); n != 2 {
		t.Errorf("%d entries", n)
	}
}

func TestMoneyOnAccountPaysWhatHasBeenDueLongest(t *testing.T) {
	r := newRig(t)
	first := r.issue(r.finished(fixed("Exhaust, replace", 100_00)).ID)
	second := r.issue(r.finished(fixed("Wipers, replace", 20_00)).ID)
	_, err := r.bills.Take(t.Context(), r.Desk, bill.TakeInput{CustomerID: r.Keeper, Amount: 200_00, Method: "bank transfer"})
	r.wrong(err, apperr.Invalid, "amount")
	r.take(bill.TakeInput{CustomerID: r.Keeper, Amount: 130_00, Method: "bank transfer"})
	if a, b := r.read(first.ID).Open(), r.read(second.ID).Open(); a != 0 || b != 14_00 {
		t.Errorf("%s and %s open", a, b)
	}
	r.Clock = r.Clock.AddDate(0, 0, 30)
	all, set, err := r.bills.Owed(t.Context(), r.Desk)
	r.OK(err)
	if len(all) != 1 || all[0].Total != 14_00 || all[0].Oldest != second.Due || all[0].Bills != 1 || set.Currency != "GBP" {
		t.Errorf("%+v", all)
	}
}

func TestTwoPaymentsAtOnceDoNotPayABillTwice(t *testing.T) {
	r := newRig(t)
	d := r.issue(r.finished(fixed("Exhaust, replace", 100_00)).ID)
	var wg sync.WaitGroup
	fails := make([]error, 8)
	for i := range fails {
		wg.Go(func() {
			_, fails[i] = r.bills.Take(t.Context(), r.Desk, bill.TakeInput{BillID: d.ID, Amount: 120_00, Method: "cash"})
		})
	}
	wg.Wait()
	ok := 0
	for _, err := range fails {
		if err == nil {
			ok++
		} else if !apperr.Is(err, apperr.Invalid) {
			t.Error(err)
		}
	}
	if ok != 1 || r.read(d.ID).Open() != 0 {
		t.Errorf("%d took, %s open", ok, r.read(d.ID).Open())
	}
	r.whole(1)
}

func TestACreditNoteIsTheExactContraryAndFreesWhatItTookBack(t *testing.T) {
	r := newRig(t)
	s := r.Book(fixed("Exhaust, replace", 80_33), fixed("Plugs, replace", 20_00))
	r.part(s, 1, jobcard.PartTerms{Name: "Spark plug", Qty: 4000, Price: new(money.Minor(8_75)), Supply: jobcard.Arrived})
	r.Fits(s.ID)
	_, err := r.Cards.Adjust(t.Context(), r.Desk, jobcard.AdjustInput{CardID: s.ID, AdjustTerms: jobcard.AdjustTerms{What: "Regular customer", Percent: new(money.Rate(750))}})
	r.OK(err)
	r.Agree(s.ID)
	r.done(r.Sheet(s.ID))
	d := r.issue(s.ID)
	plug := ""
	for _, i := range d.Items {
		if i.PartID != 0 {
			plug = i.Key
		}
	}
	r.take(bill.TakeInput{BillID: d.ID, Amount: d.Open()})
	_, err = r.bills.Credit(t.Context(), r.Desk, bill.CreditInput{BillID: d.ID, Lines: map[string]int64{plug: 5000}, Why: "faulty"})
	r.wrong(err, apperr.Invalid, "lines")
	_, err = r.bills.Credit(t.Context(), r.Desk, bill.CreditInput{BillID: d.ID, Whole: true})
	r.wrong(err, apperr.Invalid, "why")
	part := r.credit(bill.CreditInput{BillID: d.ID, Lines: map[string]int64{plug: 1000}, Why: "one was faulty"})
	if part.Number != "C-00001" || part.Items[0].Qty != -1000 || part.OfNumber != d.Number || part.Sum.Totals.Net != -8_09 { // 8.75 less 7.5 %
		t.Errorf("%s: %+v", part.Number, part.Sum)
	}
	p := r.preview(s.ID)
	if p.Ready() {
		t.Error("what was credited in part can be billed again")
	}
	rest := r.credit(bill.CreditInput{BillID: d.ID, Whole: true})
	if part.Sum.Totals.Gross+rest.Sum.Totals.Gross != -d.Sum.Totals.Gross || part.Sum.Totals.VAT+rest.Sum.Totals.VAT != -d.Sum.Totals.VAT {
		t.Errorf("%s and %s of %s", part.Sum.Totals.Gross, rest.Sum.Totals.Gross, d.Sum.Totals.Gross)
	}
	_, err = r.bills.Credit(t.Context(), r.Desk, bill.CreditInput{BillID: d.ID, Whole: true, Why: "again"})
	r.wrong(err, apperr.Conflict)
	if n := r.count(`select count(*) from billed`); n != 0 {
		t.Errorf("%d things still count as billed", n)
	}
	// The money is kept, and pays the bill that takes its place, or goes back.
	again := r.issue(s.ID)
	used, err := r.bills.Use(t.Context(), r.Desk, bill.UseInput{BillID: again.ID})
	r.OK(err)
	if used.Open != 0 || r.read(d.ID).Open() != 0 || again.Sum.Totals.Gross != d.Sum.Totals.Gross {
		t.Errorf("%s open, %s on the credited one", used.Open, r.read(d.ID).Open())
	}
	r.credit(bill.CreditInput{BillID: again.ID, Whole: true})
	_, err = r.bills.Refund(t.Context(), r.Desk, bill.RefundInput{BillID: again.ID, Amount: again.Sum.Totals.Gross + 1, Method: "card", Why: "faulty"})
	r.wrong(err, apperr.Invalid, "amount")
	_, err = r.bills.Refund(t.Context(), r.Desk, bill.RefundInput{BillID: again.ID, Amount: again.Sum.Totals.Gross, Method: "card", Why: "faulty"})
	r.OK(err)
	if d := r.read(again.ID); d.Open() != 0 || d.Word(r.Day) != "credited" || r.vatDue() != 0 {
		t.Errorf("%s open, %s, %s VAT due", d.Open(), d.Word(r.Day), r.vatDue())
	}
}
