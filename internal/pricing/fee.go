package pricing

import (
	"errors"
	"slices"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Condition is one of the eight that must all hold before a payment made for a
// customer is a disbursement and so outside the scope of VAT (HMRC VAT manual
// VTAXPER39000, on VAT Notice 700, 25.1.1). The sixth, that it is itemised
// apart, and the seventh, that exactly what was paid is asked for, follow from
// how the fee is put on the bill; the others somebody has to vouch for.
type Condition int

// The conditions, in the order of the manual.
const (
	AsAgent Condition = iota + 1
	UsedByCustomer
	CustomerLiable
	Authorised
	CustomerKnew
	Itemised
	ExactAmount
	Additional
)

var conditions = map[Condition]string{
	AsAgent:        "the garage paid as the customer's agent",
	UsedByCustomer: "the customer, not the garage, had the use of what was paid for",
	CustomerLiable: "it was for the customer to pay the third party",
	Authorised:     "the customer allowed the garage to pay for them",
	CustomerKnew:   "the customer knew that a third party would provide it",
	Itemised:       "it stands apart on the bill",
	ExactAmount:    "exactly what was paid is asked for",
	Additional:     "it is clearly additional to the garage's own work",
}

// Conditions lists the eight in order.
func Conditions() []Condition {
	return []Condition{AsAgent, UsedByCustomer, CustomerLiable, Authorised, CustomerKnew, Itemised, ExactAmount, Additional}
}

func (c Condition) String() string { return conditions[c] }

// TestFee is what a customer is charged for a statutory test (HMRC VAT manual
// VTAXPER48000).
type TestFee struct {
	Text    string
	Charged money.Minor
	// Maximum is the most that the law allows for the test, if known.
	Maximum *money.Minor
	// Own says that the garage is the approved centre that tests. Otherwise
	// Paid is what it paid the centre, after any trade discount, and Met the
	// conditions that hold.
	Own  bool
	Paid money.Minor
	Met  []Condition
}

// Treatment is how VAT stands on a test fee.
type Treatment string

// The treatments.
const (
	OwnTest      Treatment = "own test, outside the scope of VAT"
	Disbursement Treatment = "paid on for the customer, outside the scope of VAT; anything above is taxed"
	WholeTaxed   Treatment = "VAT on the whole amount"
)

// ErrOverMaximum says that a test costs more than the law allows.
var ErrOverMaximum = errors.New("the law sets a lower maximum for this test")

// Lines puts the fee on a bill: one line outside the scope for an own test; the
// exact sum paid apart from what the agent adds, which has VAT in it; or one
// line with VAT in the whole. unmet lists the conditions that fail. Errors: the
// charge is nothing or beyond the limits, or above the statutory maximum.
func (f TestFee) Lines(standard VAT) (lines []Line, how Treatment, unmet []Condition, err error) {
	switch {
	case f.Charged <= 0 || f.Charged.Check() != nil || f.Paid < 0:
		return nil, "", nil, errors.New("give what the test costs")
	case f.Own && f.Maximum != nil && f.Charged > *f.Maximum,
		!f.Own && f.Maximum != nil && f.Paid > *f.Maximum:
		return nil, "", nil, ErrOverMaximum
	}
	outside := VAT{Code: money.Outside}
	if f.Own {
		return []Line{{Kind: Fee, Text: f.Text, VAT: outside, Price: Fixed{f.Charged}}}, OwnTest, nil, nil
	}
	for _, c := range Conditions() {
		holds := slices.Contains(f.Met, c)
		switch c {
		case Itemised:
			holds = true // the two lines below are what itemising is
		case ExactAmount:
			holds = f.Paid > 0 && f.Charged >= f.Paid
		}
		if !holds {
			unmet = append(unmet, c)
		}
	}
	if len(unmet) > 0 {
		return []Line{{Kind: Fee, Text: f.Text, VAT: standard, Price: AllIn{f.Charged}}}, WholeTaxed, unmet, nil
	}
	lines = []Line{{Kind: Fee, Text: f.Text, VAT: outside, Price: Fixed{f.Paid}}}
	if over := f.Charged - f.Paid; over > 0 {
		lines = append(lines, Line{Kind: Fee, Text: f.Text + ": arranging it", VAT: standard, Price: AllIn{over}})
	}
	return lines, Disbursement, nil, nil
}

// Maximum is the most that may be charged for a test of a class from a day on.
type Maximum struct {
	Class string
	From  workday.Day
	Fee   money.Minor
}

// MaximumOn finds the maximum of a class on a day; ok is false when the table
// says nothing about it.
func MaximumOn(table []Maximum, class string, day workday.Day) (fee money.Minor, ok bool) {
	var from workday.Day
	for _, m := range table {
		if m.Class == class && !m.From.After(day) && (!ok || m.From.After(from)) {
			fee, from, ok = m.Fee, m.From, true
		}
	}
	return fee, ok
}
