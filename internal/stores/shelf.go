package stores

import (
	"slices"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// Units are what an item on the shelf is counted in.
var Units = []string{"each", "litre", "metre", "kilogram", "pair", "set"}

// Item is something kept on the shelf.
type Item struct {
	ID           ItemID
	Name         string
	Number       string
	SupplierID   garage.SupplierID
	SupplierName string
	Place        string
	Unit         string
	// Least: below it, it is ordered, up to Fill. Thousandths.
	Least, Fill int64
	Cost        money.Minor // what one is thought to cost, net
	Active      bool
	Version     int
	// Have is how much there is, Worth what was paid for that, Coming how much
	// is on order.
	Have   int64
	Worth  money.Minor
	Coming int64
}

// Short tells whether the item has run low and nothing enough is coming.
func (i Item) Short() bool { return i.Active && i.Have+i.Coming < i.Least }

// Lot is what came on to the shelf at one time.
type Lot struct {
	ID        LotID
	OrderID   OrderID
	Qty       int64
	Cost      money.Minor // altogether
	Left      int64
	LeftWorth money.Minor
	Note      string
	GotAt     time.Time
	GotBy     string
}

// Move is one movement of the shelf.
type Move struct {
	Kind   string
	Qty    int64 // below zero: out
	Cost   money.Minor
	PartID jobcard.PartID
	CardID jobcard.CardID
	Reason string
	By     string
	At     time.Time
	LotID  LotID
	// Loose says that the part is not on the car: it could go back on the shelf.
	Loose bool
}

// Count is one stock take.
type Count struct {
	Was, Counted int64
	Reason       string
	By           string
	At           time.Time
}

// Sheet is an item with its lots, movements and stock takes.
type Sheet struct {
	Item
	Now    time.Time
	Garage garage.Settings
	Lots   []Lot // that still hold something, the oldest first
	Moves  []Move
	Counts []Count
	// For are the parts of cards that could be taken from here: those of the
	// same number first.
	For       []Candidate
	Suppliers []garage.Supplier
	Costs     bool
}

// Candidate is a card's part that the shelf could give.
type Candidate struct {
	PartID  jobcard.PartID
	CardID  jobcard.CardID
	Version int
	Mark    string
	Name    string
	Number  string
	Qty     int64
	Same    bool // the same number
}

// ItemInput adds an item when ID is 0, else changes it from Version. Active
// false retires it.
type ItemInput struct {
	ID          ItemID
	Version     int
	Name        string
	Number      string
	SupplierID  garage.SupplierID
	Place       string
	Unit        string
	Least, Fill int64 // thousandths
	Cost        money.Minor
	Active      bool
}

func (in *ItemInput) clean() error {
	f := apperr.Fields{}
	in.Name = f.Line("name", in.Name, MaxName)
	f.Must("name", in.Name, "what it is")
	in.Number, in.Place = f.Line("number", in.Number, MaxNumber), f.Line("place", in.Place, MaxShort)
	if in.Unit == "" {
		in.Unit = Units[0]
	}
	if !slices.Contains(Units, in.Unit) {
		f.Add("unit", "please choose one from the list")
	}
	if in.Least < 0 || in.Least > maxQty {
		f.Add("least", "a quantity lies between 0 and 100000")
	}
	if in.Fill < 0 || in.Fill > maxQty {
		f.Add("fill", "a quantity lies between 0 and 100000")
	}
	if in.Fill == 0 {
		in.Fill = max(in.Least, 0)
	}
	if in.Fill < in.Least {
		f.Add("fill", "fill it up to no less than the least")
	}
	within(f, "cost", in.Cost)
	return f.Err()
}

// LotInput puts something on the shelf that came by no order.
type LotInput struct {
	ItemID  ItemID
	Version int
	Qty     int64
	Cost    money.Minor // altogether, as it was paid
	Note    string
}

// CountInput corrects the shelf by what was counted.
type CountInput struct {
	ItemID  ItemID
	Counted int64 // thousandths
	// Was is what the page said there is: a movement since then makes the count
	// stale.
	Was    int64
	Reason string // needed where they differ
}

// UseInput takes a card's part from the shelf, in the card's quantity.
type UseInput struct {
	ItemID ItemID
	PartID jobcard.PartID
}

// PutBackInput puts a card's part, taken from the shelf, back on it.
type PutBackInput struct {
	PartID jobcard.PartID
	// ItemID is where it is thought to have come from; 0 for wherever that was.
	ItemID ItemID
}
