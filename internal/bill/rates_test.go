package bill_test

import (
	"strings"
	"testing"

	"rampside/internal/bill"
	"rampside/internal/garage"
	"rampside/internal/money"
)

// The standard rate went from 17.5 to 20 % on 4 January 2011 (Finance (No. 2)
// Act 2010, section 3), the other way round here. VAT Act 1994, section 6(3):
// services are supplied when they are performed; section 88(2): where the
// invoice is in time with another rate, that of the performance may be kept.
// 100.00 are 120.00 at 20 % and 117.50 at 17.5 %.
func TestABillHasTheRatesOfTheDayTheWorkWasFinished(t *testing.T) {
	r := newRig(t)
	change := r.Day.AddDays(1)
	_, err := r.Settings.SetVATRate(t.Context(), r.Owner, garage.VATRateInput{Code: money.Standard, From: change, Rate: 1750})
	r.OK(err)
	before := r.finished(fixed("Exhaust, replace", 100_00))
	after := r.Book(fixed("Clutch, replace", 100_00))
	r.Agree(after.ID)
	deposit := r.take(bill.TakeInput{CardID: after.ID, Amount: 60_00})
	paid, err := r.bills.Payment(t.Context(), r.Desk, deposit.ID)
	r.OK(err)
	if len(paid.Taxes) != 1 || paid.Taxes[0].VAT != 10_00 { // 60 / 6, at the rate of its day
		t.Errorf("VAT of the deposit: %+v", paid.Taxes)
	}
	r.Clock = r.Clock.AddDate(0, 0, 2)
	r.done(r.Sheet(after.ID))
	for _, c := range []struct {
		name    string
		preview bill.Preview
		gross   money.Minor
		rate    money.Rate
		note    string
	}{
		{"finished before the change and billed after it", r.preview(before.ID), 120_00, 2000, "section 88(2)"},
		{"booked before the change and finished after it", r.preview(after.ID), 117_50, 1750, "the day it was booked for"},
	} {
		if !strings.Contains(c.preview.RatesNote, c.note) {
			t.Errorf("%s: note %q", c.name, c.preview.RatesNote)
		}
		d := r.issue(c.preview.CardID)
		if by := d.Sum.Totals.ByRate; d.Sum.Totals.Gross != c.gross || len(by) != 1 || by[0].Rate != c.rate || d.TaxPoint != r.Day.AddDays(2) {
			t.Errorf("%s: %s at %+v, in time on %s", c.name, d.Sum.Totals.Gross, by, d.TaxPoint)
		}
	}
	// The deposit's VAT is taken off at the rate it was taken at.
	if left := r.count(`select coalesce(sum(vat_minor), 0) from deposit_vat`); left != 0 {
		t.Errorf("%d of the deposit's VAT is left after its bill", left)
	}
	again := r.finished(fixed("Wipers, replace", 100_00))
	if p := r.preview(again.ID); p.Sum.Totals.Gross != 117_50 {
		t.Errorf("finished long after the change: %s, %q", p.Sum.Totals.Gross, p.RatesNote)
	}
}
