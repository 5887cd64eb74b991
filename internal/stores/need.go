package stores

import (
	"time"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/lateness"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Horizon says how far ahead to look for what must be ordered.
type Horizon string

// The horizons.
const (
	Tomorrow Horizon = "tomorrow" // the cards in work, today's, and the next day's that the garage works
	Week     Horizon = "week"     // and those of the seven days from today
	All      Horizon = "all"      // and every card that is booked
)

// Horizons lists the horizons, the nearest first.
var Horizons = []Horizon{Tomorrow, Week, All}

// Need is one thing to order: a card's part, or a filling of the shelf.
type Need struct {
	PartID jobcard.PartID // 0 for the shelf
	ItemID ItemID         // 0 for a card's part
	CardID jobcard.CardID
	LineID jobcard.LineID
	Name   string
	Number string
	Qty    int64       // thousandths
	Unit   string      // what the shelf counts it in; empty for a card's part
	Cost   money.Minor // net, each; 0 for those who may not see it
	// What it is for.
	Mark, Car, Title string
	Stage            jobcard.Stage
	BookedFor        workday.Day
	ArrivesAt        time.Time
	PromisedAt       time.Time
	// Agreed says that the customer agreed to the line, or that it is for none.
	Agreed bool
	// Deferred says that the line was put off or declined: nobody needs it now.
	// Unchecked says that nobody found yet that it fits this car.
	Unchecked bool
	// OnShelf is the shelf's own of the same number, and how much there is.
	OnShelf  ItemID
	ShelfQty int64
	// Of the shelf: how much there is, and below how much it is ordered.
	Have, Least int64
	supplier    garage.SupplierID
}

// NeedGroup is what is to be ordered from one supplier.
type NeedGroup struct {
	Supplier garage.Supplier // zero where none was chosen yet
	Late     lateness.Record
	Needs    []Need
}

// Needs is what must be ordered, and what else is missing.
type Needs struct {
	Now       time.Time
	Garage    garage.Settings
	Horizon   Horizon
	Until     workday.Day // the last day looked at; zero for all
	Groups    []NeedGroup
	Later     int    // how many more are needed beyond the horizon
	Own       []Need // the customers' own, still to be brought
	Suppliers []garage.Supplier
	Lateness  map[garage.SupplierID]lateness.Record
	Costs     bool
	Cut       bool // there are more than the page holds
}

// Count is how many things are to be ordered.
func (n Needs) Count() (sum int) {
	for _, g := range n.Groups {
		sum += len(g.Needs)
	}
	return sum
}

// group sorts needs by their supplier, in the suppliers' order, those without
// one last.
func group(needs []Need, suppliers []garage.Supplier, late map[garage.SupplierID]lateness.Record) []NeedGroup {
	bySupplier := map[garage.SupplierID][]Need{}
	for _, n := range needs {
		bySupplier[n.supplier] = append(bySupplier[n.supplier], n)
	}
	var out []NeedGroup
	for _, s := range suppliers {
		if of := bySupplier[s.ID]; len(of) > 0 {
			out = append(out, NeedGroup{Supplier: s, Late: late[s.ID], Needs: of})
			delete(bySupplier, s.ID)
		}
	}
	if of := bySupplier[0]; len(of) > 0 {
		out = append(out, NeedGroup{Needs: of})
	}
	return out
}
