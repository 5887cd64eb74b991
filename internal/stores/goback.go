package stores

import (
	"slices"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// ReturnKind says why something goes back.
type ReturnKind string

// The kinds.
const (
	WrongPart    ReturnKind = "wrong"
	Faulty       ReturnKind = "faulty"
	NotNeeded    ReturnKind = "not needed"
	ExchangeUnit ReturnKind = "exchange unit"
)

// ReturnKinds lists the kinds.
var ReturnKinds = []ReturnKind{WrongPart, Faulty, NotNeeded, ExchangeUnit}

// Return is something that goes back to a supplier, and the money for it.
type Return struct {
	ID           ReturnID
	SupplierID   garage.SupplierID
	SupplierName string
	PartID       jobcard.PartID // the card's part that goes back, or 0
	CardID       jobcard.CardID
	OrderID      OrderID
	Kind         ReturnKind
	Name         string
	Number       string
	Qty          int64
	Why          string
	Expected     money.Minor
	Received     money.Minor
	SendBy       workday.Day
	SentAt       time.Time
	SentHow      string
	MadeAt       time.Time
	SettledAt    time.Time
	SettledWhy   string
	Version      int
	Credits      []Credit
}

// Credit is one credit that came.
type Credit struct {
	ReturnID ReturnID
	Amount   money.Minor
	Day      workday.Day
	Ref      string
	By       string
}

// Sent tells whether it has left.
func (r Return) Sent() bool { return !r.SentAt.IsZero() }

// Settled tells whether nothing more is to come for it.
func (r Return) Settled() bool { return !r.SettledAt.IsZero() }

// Owed is the money still to come for it: nothing before it has left, and
// nothing once it is settled.
func (r Return) Owed() money.Minor {
	if !r.Sent() || r.Settled() {
		return 0
	}
	return max(0, r.Expected-r.Received)
}

// Short is by how much less came than was expected, once nothing more is to
// come.
func (r Return) Short() money.Minor {
	if !r.Settled() {
		return 0
	}
	return max(0, r.Expected-r.Received)
}

// Overdue tells whether it should have left before today.
func (r Return) Overdue(today workday.Day) bool {
	return !r.Sent() && !r.Settled() && !r.SendBy.IsZero() && r.SendBy.Before(today)
}

// WriteUpInput writes up something that goes back: a card's part, which then
// stands as going back on the card, or something that is on none.
type WriteUpInput struct {
	SupplierID garage.SupplierID
	PartID     jobcard.PartID
	Kind       ReturnKind
	// Name, Number and Qty are the part's where there is one; another Qty than
	// the part's is refused.
	Name, Number string
	Qty          int64 // thousandths
	Why          string
	Expected     money.Minor
	SendBy       workday.Day
	// Again puts the same part on the card anew; where it does not go back yet.
	Again bool
}

func (in *WriteUpInput) clean() error {
	f := apperr.Fields{}
	if in.SupplierID < 1 {
		f.Add("supplier", "choose whom it goes back to")
	}
	if !slices.Contains(ReturnKinds, in.Kind) {
		f.Add("kind", "say why it goes back: wrong, faulty, not needed, or the old unit of an exchange")
	}
	in.Name, in.Number = f.Line("name", in.Name, MaxName), f.Line("number", in.Number, MaxNumber)
	in.Why = f.Line("why", in.Why, MaxShort)
	f.Must("why", in.Why, "a word on why")
	if in.PartID == 0 {
		f.Must("name", in.Name, "what goes back")
		if in.Qty < 1 || in.Qty > maxQty {
			f.Add("qty", "a quantity lies between 0.001 and 100000")
		}
	}
	checkExpected(f, &in.Expected)
	return f.Err()
}

func checkExpected(f apperr.Fields, m *money.Minor) {
	if m != nil && (*m < 0 || *m > MaxAmount) {
		f.Add("expected", "an amount between £0.00 and %s, please", money.Format(MaxAmount))
	}
}

// SentInput notes that something has left.
type SentInput struct {
	ReturnID ReturnID
	Version  int
	How      string // their driver, by post …
}

// CreditInput notes a credit that came.
type CreditInput struct {
	ReturnID ReturnID
	Version  int
	Amount   money.Minor
	Day      workday.Day // on the credit note; zero for today
	Ref      string
	// Last says that nothing more is to come though it is less than expected.
	Last bool
	Why  string
}

// SettleInput says that nothing more is to come.
type SettleInput struct {
	ReturnID ReturnID
	Version  int
	Why      string
}

// GoingBack is a card's part that is going back by the card, and was not
// written up yet.
type GoingBack struct {
	PartID     jobcard.PartID
	CardID     jobcard.CardID
	Mark, Car  string
	Name       string
	Number     string
	Qty        int64
	Cost       money.Minor
	SupplierID garage.SupplierID
	Supplier   string
	Verdict    jobcard.Verdict
	Why        string // what was said of the fit
	// Aside says why a part that came is wanted by nobody; empty for one that
	// the card says is going back.
	Aside string
}

// Returns is all that goes back.
type Returns struct {
	Now       time.Time
	Garage    garage.Settings
	ToWrite   []GoingBack
	Open      []Return // not settled, those to be sent first
	Settled   []Return // lately
	Suppliers []garage.Supplier
	Costs     bool
}
