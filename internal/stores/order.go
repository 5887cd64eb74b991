package stores

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// OrderInput makes an order to one supplier. Each line's needed part becomes
// ordered; what is for the shelf is expected there.
type OrderInput struct {
	SupplierID garage.SupplierID
	// DueAt is when it was promised for; a line may have its own.
	DueAt time.Time
	How   string // one of Ways
	Ref   string // the supplier's own reference
	Note  string
	Lines []OrderedLine
}

// OrderedLine is one thing to order: a card's part in the card's quantity, or
// so much for the shelf.
type OrderedLine struct {
	PartID jobcard.PartID
	ItemID ItemID
	Qty    int64 // thousandths, for the shelf only
	// Cost each, net, as the supplier says it; nil for as it was thought.
	Cost *money.Minor
	// DueAt is the line's own time; zero for the order's.
	DueAt time.Time
	// Surcharge each on an exchange unit, until the old one is back by BackBy.
	Surcharge money.Minor
	BackBy    workday.Day
}

// Error texts that more than one form has.
const (
	noDue  = "when is it promised for? The record of being late is kept against it"
	noPast = "this time has passed"
)

func (in *OrderInput) clean(now time.Time) error {
	f := apperr.Fields{}
	if in.SupplierID < 1 {
		f.Add("supplier", "choose whom to order from")
	}
	if in.How == "" {
		in.How = Ways[0]
	}
	if !slices.Contains(Ways, in.How) {
		f.Add("how", "an order goes out by phone, by e-mail, on their site or at the counter")
	}
	in.Ref = f.Line("ref", in.Ref, MaxShort)
	in.Note = f.Prose("note", in.Note, MaxNote)
	dueIn(f, "due_at", in.DueAt, now)
	switch n := len(in.Lines); {
	case n == 0:
		f.Add("lines", "tick what is to be ordered")
	case n > MaxLines:
		f.Add("lines", "an order has at most %d lines", MaxLines)
		return f.Err()
	}
	parts, items := map[jobcard.PartID]bool{}, map[ItemID]bool{}
	for i := range in.Lines {
		l := &in.Lines[i]
		at := func(name string) string { return "lines." + strconv.Itoa(i) + "." + name }
		switch {
		case l.PartID < 0, l.ItemID < 0, (l.PartID > 0) == (l.ItemID > 0):
			f.Add(at("part"), "a line is for a card's part or for the shelf")
		case parts[l.PartID] && l.PartID > 0, items[l.ItemID] && l.ItemID > 0:
			f.Add(at("part"), "this is on the order already")
		}
		parts[l.PartID], items[l.ItemID] = true, true
		if l.ItemID > 0 && (l.Qty < 1 || l.Qty > maxQty) {
			f.Add(at("qty"), "a quantity lies between 0.001 and 100000")
		}
		if l.Cost != nil {
			within(f, at("cost"), *l.Cost)
		}
		within(f, at("surcharge"), l.Surcharge)
		if !l.DueAt.IsZero() {
			dueIn(f, at("due_at"), l.DueAt, now)
		}
	}
	return f.Err()
}

// dueIn checks when something is to come. Up to an hour ago is let through:
// an order is now and then written up after its parts were promised for soon.
func dueIn(f apperr.Fields, name string, due, now time.Time) {
	switch {
	case due.IsZero():
		f.Add(name, "%s", noDue)
	case due.Before(now.Add(-time.Hour)):
		f.Add(name, "%s", noPast)
	case due.After(now.AddDate(2, 0, 0)):
		f.Add(name, "that is more than two years from now")
	}
}

func within(f apperr.Fields, name string, m money.Minor) {
	if m < 0 || m > maxCost {
		f.Add(name, "an amount between £0.00 and %s, please", money.Format(maxCost))
	}
}

// Order is one order as it stands.
type Order struct {
	ID           OrderID
	SupplierID   garage.SupplierID
	SupplierName string
	Phone, Email string
	How          string
	Ref          string
	Note         string
	DueAt        time.Time
	OrderedAt    time.Time
	OrderedBy    actor.StaffID
	OrderedName  string
	Lines        []Line
	// Costs tells whether costs are on this reading of it.
	Costs bool
}

// Line is one line of an order as it stands.
type Line struct {
	ID      LineID
	OrderID OrderID
	PartID  jobcard.PartID
	ItemID  ItemID
	// CardID, Mark, Car and Title are of the card's part.
	CardID    jobcard.CardID
	Mark, Car string
	Title     string
	Name      string
	Number    string
	Qty       int64       // thousandths
	Cost      money.Minor // net, each
	Surcharge money.Minor // each
	BackBy    workday.Day
	DueAt     time.Time // as it was said first
	NowDueAt  time.Time // as it is said now, zero for the same
	Came      int64     // thousandths
	ArrivedAt time.Time
	Closed    string // "", "cancelled" or "never came"
	ClosedWhy string
	// Supply is where the card's part is by the card, which has the last word.
	Supply jobcard.Supply
	// Unwanted says why nobody needs it any more: the part was struck out, or
	// the card is finished.
	Unwanted string
	Version  int
}

// Due is when it comes, as far as is known.
func (l Line) Due() time.Time {
	if !l.NowDueAt.IsZero() {
		return l.NowDueAt
	}
	return l.DueAt
}

// Left is how much is still to come, in thousandths; nothing once the line is
// closed, or the card says that the part is here.
func (l Line) Left() int64 {
	if !l.Open() {
		return 0
	}
	return l.Qty - l.Came
}

// Open tells whether something is still to come.
func (l Line) Open() bool {
	if l.Closed != "" || !l.ArrivedAt.IsZero() {
		return false
	}
	switch l.Supply {
	case jobcard.Arrived, jobcard.Fitted, jobcard.GoingBack, jobcard.Credited, jobcard.NotComing:
		return false // somebody noted it on the card
	}
	return true
}

// Late tells whether it should have been here by now.
func (l Line) Late(now time.Time) bool { return l.Open() && l.Due().Before(now) }

// Net is what the line comes to.
func (l Line) Net() money.Minor { return money.PartNet(l.Qty, l.Cost) }

// SurchargeNet is what is charged on its exchange units.
func (l Line) SurchargeNet() money.Minor { return money.PartNet(l.Qty, l.Surcharge) }

// Net is what the order comes to, without surcharges.
func (o Order) Net() (sum money.Minor) {
	for _, l := range o.Lines {
		sum += l.Net()
	}
	return sum
}

// Surcharges are what is charged on exchange units until the old ones are back.
func (o Order) Surcharges() (sum money.Minor) {
	for _, l := range o.Lines {
		sum += l.SurchargeNet()
	}
	return sum
}

// Text is the order as it is read out, sent or printed: what, how many, and
// for when; no prices, and nothing about a customer. A part without a number
// carries the car it is for.
func (o Order) Text(set garage.Settings) string {
	var b strings.Builder
	loc := set.Location()
	fmt.Fprintf(&b, "Order %d\nFrom: %s\n", o.ID, set.Name)
	if set.Phone != "" {
		fmt.Fprintf(&b, "Telephone: %s\n", set.Phone)
	}
	fmt.Fprintf(&b, "To: %s\n", o.SupplierName)
	if o.Ref != "" {
		fmt.Fprintf(&b, "Your reference: %s\n", o.Ref)
	}
	b.WriteString("\n")
	for _, l := range o.Lines {
		if l.Closed == "cancelled" {
			continue
		}
		fmt.Fprintf(&b, "%s\n", l.words(o, loc))
	}
	fmt.Fprintf(&b, "\nTo be here: %s\n", moment(o.DueAt, loc))
	if o.Note != "" {
		fmt.Fprintf(&b, "\n%s\n", o.Note)
	}
	return b.String()
}

// words is one line of the order's text.
func (l Line) words(o Order, loc *time.Location) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s x ", money.FormatQuantity(l.Qty))
	if l.Number != "" {
		b.WriteString(l.Number + "  ")
	}
	b.WriteString(l.Name)
	if l.Number == "" && l.Car != "" {
		b.WriteString(", for " + l.Car + " " + l.Mark)
	}
	if l.CardID != 0 {
		fmt.Fprintf(&b, " (our card %d)", l.CardID)
	}
	if !l.DueAt.Equal(o.DueAt) {
		b.WriteString(", to be here " + moment(l.DueAt, loc))
	}
	if l.Surcharge > 0 {
		b.WriteString(", exchange")
	}
	return b.String()
}

func moment(t time.Time, loc *time.Location) string {
	return workday.Of(t, loc).Long() + ", " + workday.FormatClock(workday.ClockOf(t, loc))
}
