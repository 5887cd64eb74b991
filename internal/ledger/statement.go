package ledger

import (
	"cmp"
	"slices"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Sort is what an entry of an account is.
type Sort string

// The sorts, in the order they stand in on one day.
const (
	Billed   Sort = "bill"
	Credited Sort = "credit note"
	Paid     Sort = "payment"
	Refunded Sort = "refund"
)

var sorts = []Sort{Billed, Credited, Paid, Refunded}

// Entry is one entry of a customer's account. Amount is above nothing, unless a
// bill came to less.
type Entry struct {
	Day    workday.Day
	Sort   Sort
	Number string
	Text   string
	Amount money.Minor
}

// Effect is what the entry does to what is owed: bills and refunds raise it,
// credits and payments lower it.
func (e Entry) Effect() money.Minor {
	if e.Sort == Credited || e.Sort == Paid {
		return -e.Amount
	}
	return e.Amount
}

// Row is an entry with what is owed after it.
type Row struct {
	Entry
	Balance money.Minor
}

// Statement is an account over some days, both included.
type Statement struct {
	From, To         workday.Day
	Opening, Closing money.Minor
	Rows             []Row
	// What the rows come to by sort: Closing is Opening plus bills and refunds
	// less credits and payments.
	Billed, Credited, Paid, Refunded money.Minor
}

// State makes the statement of an account from all its entries; those before
// from make the opening balance, those after to are left out. The order in
// which the entries come does not matter.
func State(entries []Entry, from, to workday.Day) Statement {
	s := Statement{From: from, To: to}
	order := slices.Clone(entries)
	slices.SortStableFunc(order, func(a, b Entry) int {
		return cmp.Or(a.Day.Compare(b.Day), cmp.Compare(slices.Index(sorts, a.Sort), slices.Index(sorts, b.Sort)), cmp.Compare(a.Number, b.Number), cmp.Compare(a.Text, b.Text), cmp.Compare(a.Amount, b.Amount))
	})
	for _, e := range order {
		switch {
		case e.Day.Before(from):
			s.Opening += e.Effect()
			continue
		case e.Day.After(to):
			continue
		}
		switch e.Sort {
		case Billed:
			s.Billed += e.Amount
		case Credited:
			s.Credited += e.Amount
		case Paid:
			s.Paid += e.Amount
		case Refunded:
			s.Refunded += e.Amount
		}
		s.Rows = append(s.Rows, Row{Entry: e})
	}
	s.Closing = s.Opening
	for i := range s.Rows {
		s.Closing += s.Rows[i].Effect()
		s.Rows[i].Balance = s.Closing
	}
	return s
}
