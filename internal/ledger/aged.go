package ledger

import (
	"slices"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Bill is a bill with what was set against it. Paid and Credited are above
// nothing where money came in or was credited; a refund lowers Paid.
type Bill struct {
	Number         string
	Issued, Due    workday.Day
	Gross          money.Minor
	Paid, Credited money.Minor
}

// Open is what is still owed on the bill; below nothing, the customer has paid
// too much.
func (b Bill) Open() money.Minor { return b.Gross - b.Paid - b.Credited }

// Overdue is how many days the bill is late on a day, 0 when it is not: a bill
// is late from the day after it was due. A bill without a due day is due when
// it is issued.
func (b Bill) Overdue(on workday.Day) int {
	due := b.Due
	if due.IsZero() {
		due = b.Issued
	}
	return max(due.DaysUntil(on), 0)
}

// Bucket is how old a debt is.
type Bucket int

// The buckets, by days after the due day: common practice, no published source.
const (
	NotDue  Bucket = iota
	To30           // 1 to 30 days late
	To60           // 31 to 60
	To90           // 61 to 90
	Over90         // 91 and more
	buckets = 5
)

var bucketLabels = [buckets]string{"not yet due", "1 to 30 days", "31 to 60 days", "61 to 90 days", "over 90 days"}

func (b Bucket) String() string { return bucketLabels[b] }

// Buckets lists the buckets, the youngest first.
func Buckets() []Bucket { return []Bucket{NotDue, To30, To60, To90, Over90} }

// BucketOf is the bucket of a debt that is some days late.
func BucketOf(daysLate int) Bucket {
	switch {
	case daysLate <= 0:
		return NotDue
	case daysLate <= 30:
		return To30
	case daysLate <= 60:
		return To60
	case daysLate <= 90:
		return To90
	}
	return Over90
}

// Aged is what is owed, by age. Total is the sum of the buckets less Unset, the
// money that was received or overpaid and is set against no bill.
type Aged struct {
	In    [buckets]money.Minor
	Unset money.Minor
	Total money.Minor
	// Oldest is the due day of the oldest bill still open, zero for none: since
	// when something is owed.
	Oldest workday.Day
}

// Age sorts what is owed on a day. onAccount is money received that is set
// against no bill yet.
func Age(bills []Bill, onAccount money.Minor, on workday.Day) Aged {
	a := Aged{Unset: onAccount}
	for _, b := range bills {
		open := b.Open()
		switch {
		case open < 0:
			a.Unset -= open
		case open > 0:
			a.In[BucketOf(b.Overdue(on))] += open
			due := b.Due
			if due.IsZero() {
				due = b.Issued
			}
			if a.Oldest.IsZero() || due.Before(a.Oldest) {
				a.Oldest = due
			}
		}
	}
	for _, m := range a.In {
		a.Total += m
	}
	a.Total -= a.Unset
	return a
}

// Share is how a payment was set against one bill.
type Share struct {
	Number string
	Amount money.Minor
}

// SetAgainst proposes how a payment is set against open bills: the oldest due
// first, each in full before the next. left is what no bill takes. A payer may
// say otherwise; this is the rule where they do not (Clayton's Case, 1816, for
// running accounts).
func SetAgainst(payment money.Minor, bills []Bill) (shares []Share, left money.Minor) {
	order := slices.Clone(bills)
	slices.SortStableFunc(order, func(a, b Bill) int {
		if c := a.Due.Compare(b.Due); c != 0 {
			return c
		}
		return a.Issued.Compare(b.Issued)
	})
	left = max(payment, 0)
	for _, b := range order {
		if part := min(left, b.Open()); part > 0 {
			shares = append(shares, Share{b.Number, part})
			left -= part
		}
	}
	return shares, left
}
