package demo

import (
	"context"
	"time"

	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// billedDays is how many days back the demo's cards have bills: a quarter and
// what is owed from before it.
const billedDays = 110

// terms are what stands on every bill of the demo.
func (m *maker) terms(ctx context.Context) error {
	t, err := m.bills.Terms(ctx, m.wren)
	if err != nil {
		return err
	}
	// The account number is the one that ISO 13616 is explained by, of no bank.
	t.PayDays, t.AccountName, t.IBAN = 14, "Saltmarsh Lane Garage", "GB82WEST12345698765432"
	t.Words = "Thank you. Please bring this bill with you if anything is not as it should be."
	_, err = m.bills.SaveTerms(ctx, m.wren, t)
	return err
}

// billFor bills a card that is ready and lets the customer pay: most at the
// desk, some by transfer after a while, a few not at all.
func (m *maker) billFor(card jobcard.CardID, day workday.Day, at time.Time) []deed {
	if day.DaysUntil(m.today) > billedDays {
		return nil
	}
	return []deed{{at, func(ctx context.Context) error {
		b, err := m.bills.Issue(ctx, m.ida, bill.IssueInput{CardID: card})
		if err != nil || b.Open == 0 {
			return err
		}
		switch n := m.luck.IntN(100); {
		case n < 62:
			return m.paid(ctx, b.ID, b.Open, "card")
		case n < 74:
			return m.paid(ctx, b.ID, b.Open, "cash")
		case n < 93: // after the bill came by post, some of them late, some in two parts
			first := b.Open
			if m.luck.IntN(5) == 0 {
				first = b.Open / 2
			}
			m.promised(m.at.AddDate(0, 0, 5+m.luck.IntN(30)), b.ID, first)
			if first < b.Open {
				m.promised(m.at.AddDate(0, 0, 40+m.luck.IntN(20)), b.ID, b.Open-first)
			}
		case n < 96:
			m.owing = append(m.owing, deed{m.at.AddDate(0, 0, 3), func(ctx context.Context) error {
				_, err := m.bills.Credit(ctx, m.wren, bill.CreditInput{BillID: b.ID, Whole: true, Why: "the fault came back within the week"})
				return err
			}})
		}
		return nil
	}}}
}

// promised has a transfer come in later.
func (m *maker) promised(at time.Time, id bill.ID, amount money.Minor) {
	m.owing = append(m.owing, deed{at, func(ctx context.Context) error { return m.paid(ctx, id, amount, "bank transfer") }})
}

func (m *maker) paid(ctx context.Context, id bill.ID, amount money.Minor, method string) error {
	_, err := m.bills.Take(ctx, m.ida, bill.TakeInput{BillID: id, Amount: amount, Method: method})
	return err
}

// fallen takes out what happens to bills before a moment.
func (m *maker) fallen(before time.Time) []deed {
	var now, rest []deed
	for _, d := range m.owing {
		if d.at.Before(before) {
			now = append(now, d)
		} else {
			rest = append(rest, d)
		}
	}
	m.owing = rest
	return now
}
