// Package fifo costs what is taken from a shelf: first in, first out, in whole
// pence, so that what was paid is always what was used and what is left.
//
// The formula is that of IAS 2 Inventories, paragraph 27: what was bought
// first is used first, and what is left was bought last.
package fifo

import (
	"fmt"

	"rampside/internal/money"
)

// Lot is what is left of one delivery: how much, in thousandths, and what that
// is worth altogether.
type Lot struct {
	Qty   int64
	Value money.Minor
}

// Taken is what one lot gave.
type Taken struct {
	// Lot is its place in the list, 0 the oldest.
	Lot  int
	Qty  int64
	Cost money.Minor
}

// ShortError says that the shelf holds less than was asked for.
type ShortError struct{ Have, Want int64 }

func (e *ShortError) Error() string {
	return fmt.Sprintf("there are only %s on the shelf", money.FormatQuantity(e.Have))
}

// Take takes qty thousandths, at least one, from lots in the order of their
// coming, and gives what each gave. Part of a lot costs its share of the value,
// to the nearest penny; what is left of it keeps the rest, so no penny is lost.
// It changes nothing where there is too little.
func Take(lots []Lot, qty int64) ([]Taken, error) {
	var have int64
	for _, l := range lots {
		have += l.Qty
	}
	if have < qty || qty < 1 {
		return nil, &ShortError{Have: have, Want: qty}
	}
	var out []Taken
	for i, l := range lots {
		if l.Qty == 0 {
			continue
		}
		t := Taken{Lot: i, Qty: min(l.Qty, qty), Cost: l.Value}
		if t.Qty < l.Qty {
			t.Cost = money.Share(l.Value, t.Qty, l.Qty)
		}
		out = append(out, t)
		if qty -= t.Qty; qty == 0 {
			break
		}
	}
	return out, nil
}

// Cost is what all that was taken comes to.
func Cost(taken []Taken) (sum money.Minor) {
	for _, t := range taken {
		sum += t.Cost
	}
	return sum
}
