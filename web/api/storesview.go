package api

import (
	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/lateness"
	"rampside/internal/money"
	"rampside/internal/stores"
)

// Lateness is a supplier's record of being late: a distribution, no average.
type Lateness struct {
	N         int            `json:"deliveries"`
	Never     int            `json:"never_came"`
	Counts    []LateCount    `json:"counts" doc:"By class; together they are all deliveries."`
	Quantiles []LateQuantile `json:"quantiles" doc:"Only those that there are enough deliveries to tell."`
}

// LateCount is how many deliveries were so late.
type LateCount struct {
	Class string `json:"class"`
	N     int    `json:"deliveries"`
}

// LateQuantile is how late a delivery is that so many in a hundred are not
// later than.
type LateQuantile struct {
	Percent int   `json:"percent"`
	Late    int64 `json:"late_seconds" doc:"Of the garage's open hours; below zero, early."`
	Never   bool  `json:"never" doc:"So many did not come at all."`
}

func latenessOf(r lateness.Record) Lateness {
	out := Lateness{N: r.N, Never: r.Never, Quantiles: []LateQuantile{}, Counts: list(r.Counts(), func(c lateness.Count) LateCount { return LateCount{c.Label, c.N} })}
	for _, percent := range lateness.Usual {
		if q, ok := r.Quantile(percent); ok {
			out.Quantiles = append(out.Quantiles, LateQuantile{percent, seconds(q.Late), q.Never})
		}
	}
	return out
}

// Needs is what must be ordered.
type Needs struct {
	Until  Day         `json:"until,omitzero" doc:"The last day looked at; absent for all."`
	Groups []NeedGroup `json:"groups" doc:"By supplier; those without one last."`
	Own    []Need      `json:"customers_own" doc:"What customers bring, and have not yet."`
	Cover  string      `json:"cover_of_customers_own"`
	Later  int         `json:"later" doc:"How many more cards of later days need."`
}

// NeedGroup is what is to be ordered from one supplier.
type NeedGroup struct {
	SupplierID garage.SupplierID `json:"supplier_id,omitempty"`
	Supplier   string            `json:"supplier_name,omitempty"`
	Lateness   Lateness          `json:"lateness"`
	Needs      []Need            `json:"needs"`
}

// Need is one thing to order.
type Need struct {
	PartID    jobcard.PartID `json:"part_id,omitempty"`
	ItemID    stores.ItemID  `json:"item_id,omitempty" doc:"Of the shelf, where it is for that."`
	CardID    jobcard.CardID `json:"card_id,omitempty"`
	LineID    jobcard.LineID `json:"line_id,omitempty"`
	Name      string         `json:"name"`
	Number    string         `json:"number,omitempty"`
	Qty       int64          `json:"qty_milli"`
	Cost      *money.Minor   `json:"cost_minor,omitempty" doc:"Net, each."`
	BookedFor Day            `json:"booked_for,omitzero"`
	Promised  Time           `json:"promised_at,omitzero"`
	Agreed    bool           `json:"agreed"`
	OnShelf   stores.ItemID  `json:"on_shelf_id,omitempty" doc:"The shelf's own of the same number."`
	ShelfQty  int64          `json:"shelf_milli,omitempty"`
}

func needsOf(n stores.Needs) Needs {
	need := func(x stores.Need) Need {
		return Need{
			PartID: x.PartID, ItemID: x.ItemID, CardID: x.CardID, LineID: x.LineID, Name: x.Name, Number: x.Number, Qty: x.Qty, Cost: onlyIf(n.Costs, x.Cost),
			BookedFor: on(x.BookedFor), Promised: at(x.PromisedAt), Agreed: x.Agreed, OnShelf: x.OnShelf, ShelfQty: x.ShelfQty,
		}
	}
	return Needs{
		Until: on(n.Until), Own: list(n.Own, need), Cover: stores.CoverOfOwn, Later: n.Later,
		Groups: list(n.Groups, func(g stores.NeedGroup) NeedGroup {
			return NeedGroup{g.Supplier.ID, g.Supplier.Name, latenessOf(g.Late), list(g.Needs, need)}
		}),
	}
}

// Order is one order to a supplier.
type Order struct {
	ID         stores.OrderID    `json:"id"`
	SupplierID garage.SupplierID `json:"supplier_id"`
	Supplier   string            `json:"supplier_name"`
	How        Method            `json:"how"`
	Ref        string            `json:"ref,omitempty"`
	Note       string            `json:"note,omitempty"`
	DueAt      Time              `json:"due_at"`
	OrderedAt  Time              `json:"ordered_at"`
	OrderedBy  actor.StaffID     `json:"ordered_by_id,omitempty"`
	Lines      []OrderLine       `json:"lines"`
	Net        *money.Minor      `json:"net_minor,omitempty"`
	Surcharges *money.Minor      `json:"surcharges_minor,omitempty"`
	Text       string            `json:"text,omitempty" doc:"As it goes to the supplier: no prices, and nothing about a customer."`
}

// OrderLine is one line of an order.
type OrderLine struct {
	ID        stores.LineID  `json:"id"`
	OrderID   stores.OrderID `json:"order_id"`
	PartID    jobcard.PartID `json:"part_id,omitempty"`
	ItemID    stores.ItemID  `json:"item_id,omitempty"`
	CardID    jobcard.CardID `json:"card_id,omitempty"`
	Name      string         `json:"name"`
	Number    string         `json:"number,omitempty"`
	Qty       int64          `json:"qty_milli"`
	Came      int64          `json:"came_milli"`
	Left      int64          `json:"left_milli" doc:"Still to come."`
	Cost      *money.Minor   `json:"cost_minor,omitempty" doc:"Net, each."`
	Surcharge *money.Minor   `json:"surcharge_minor,omitempty"`
	BackBy    Day            `json:"back_by,omitzero"`
	FirstDue  Time           `json:"first_due_at" doc:"As they said it first."`
	DueAt     Time           `json:"due_at" doc:"As they say it now."`
	ArrivedAt Time           `json:"arrived_at,omitzero"`
	Closed    string         `json:"closed,omitempty" doc:"Cancelled, or never came."`
	Open      bool           `json:"open" doc:"Something is still to come."`
	Unwanted  string         `json:"unwanted,omitempty" doc:"Why nobody needs it any more."`
	Version   int            `json:"version"`
}

func orderLineOf(l stores.Line, costs bool) OrderLine {
	return OrderLine{
		ID: l.ID, OrderID: l.OrderID, PartID: l.PartID, ItemID: l.ItemID, CardID: l.CardID, Name: l.Name, Number: l.Number, Qty: l.Qty, Came: l.Came,
		Left: l.Left(), Cost: onlyIf(costs, l.Cost), Surcharge: onlyIf(costs, l.Surcharge), BackBy: on(l.BackBy), FirstDue: at(l.DueAt), DueAt: at(l.Due()),
		ArrivedAt: at(l.ArrivedAt), Closed: l.Closed, Open: l.Open(), Unwanted: l.Unwanted, Version: l.Version,
	}
}

func orderOf(o stores.Order, text string) Order {
	return Order{
		ID: o.ID, SupplierID: o.SupplierID, Supplier: o.SupplierName, How: Method(o.How), Ref: o.Ref, Note: o.Note, DueAt: at(o.DueAt),
		OrderedAt: at(o.OrderedAt), OrderedBy: o.OrderedBy, Net: onlyIf(o.Costs, o.Net()), Surcharges: onlyIf(o.Costs, o.Surcharges()), Text: text,
		Lines: list(o.Lines, func(l stores.Line) OrderLine { return orderLineOf(l, o.Costs) }),
	}
}

// Arrivals is what is still to come.
type Arrivals struct {
	Orders []Order     `json:"orders" doc:"With their open lines only."`
	Found  []OrderLine `json:"found" doc:"The lines that the number leads to."`
	Cut    bool        `json:"cut" doc:"There is more than the list holds."`
}

func arrivalsOf(a stores.Arrivals) Arrivals {
	return Arrivals{
		Orders: list(a.Orders, func(o stores.Order) Order { return orderOf(o, "") }), Cut: a.Cut,
		Found: list(a.Found, func(l stores.Line) OrderLine { return orderLineOf(l, a.Costs) }),
	}
}

// StuckLines is what is stuck for want of parts.
type StuckLines struct {
	Lines []StuckLine `json:"lines"`
}

// StuckLine is a line that cannot go on.
type StuckLine struct {
	CardID    jobcard.CardID `json:"card_id"`
	LineID    jobcard.LineID `json:"line_id,omitempty" doc:"Absent for the card as a whole."`
	Mark      string         `json:"mark"`
	Title     string         `json:"title,omitempty"`
	Reason    string         `json:"reason,omitempty"`
	BookedFor Day            `json:"booked_for"`
	Promised  Time           `json:"promised_at,omitzero"`
	Parts     []StuckPart    `json:"parts"`
}

// StuckPart is a part that a line waits for.
type StuckPart struct {
	PartID   jobcard.PartID `json:"part_id"`
	Name     string         `json:"name"`
	Number   string         `json:"number,omitempty"`
	Supply   jobcard.Supply `json:"supply"`
	Own      bool           `json:"customers_own"`
	Supplier string         `json:"supplier_name,omitempty"`
	OrderID  stores.OrderID `json:"order_id,omitempty"`
	DueAt    Time           `json:"due_at,omitzero"`
	Came     int64          `json:"came_milli"`
	Late     bool           `json:"late"`
	After    bool           `json:"after_promise" doc:"It is due once the car should be ready."`
}

func stuckOf(l stores.Stuck) StuckLine {
	return StuckLine{
		CardID: l.CardID, LineID: l.LineID, Mark: l.Mark, Title: l.Title, Reason: l.Reason, BookedFor: on(l.BookedFor), Promised: at(l.PromisedAt),
		Parts: list(l.Parts, func(p stores.StuckPart) StuckPart {
			return StuckPart{p.PartID, p.Name, p.Number, p.Supply, p.Own, p.Supplier, p.OrderID, at(p.DueAt), p.Came, p.Late, p.AfterPromise}
		}),
	}
}

// Returns is what goes back to suppliers.
type Returns struct {
	ToWrite []PartGoingBack `json:"to_be_written_up" doc:"Parts that go back by the card, or came for nobody."`
	Open    []Return        `json:"open"`
	Settled []Return        `json:"settled" doc:"Lately."`
}

// PartGoingBack is a card's part that is still to be written up.
type PartGoingBack struct {
	PartID     jobcard.PartID    `json:"part_id"`
	CardID     jobcard.CardID    `json:"card_id"`
	Name       string            `json:"name"`
	Number     string            `json:"number,omitempty"`
	Qty        int64             `json:"qty_milli"`
	SupplierID garage.SupplierID `json:"supplier_id,omitempty"`
	Why        string            `json:"why,omitempty"`
	Aside      string            `json:"aside,omitempty" doc:"Why nobody needs it any more."`
	Cost       *money.Minor      `json:"cost_minor,omitempty" doc:"Net, each."`
}

// Return is something that goes back, and the money for it.
type Return struct {
	ID         stores.ReturnID   `json:"id"`
	SupplierID garage.SupplierID `json:"supplier_id"`
	Supplier   string            `json:"supplier_name"`
	PartID     jobcard.PartID    `json:"part_id,omitempty"`
	CardID     jobcard.CardID    `json:"card_id,omitempty"`
	OrderID    stores.OrderID    `json:"order_id,omitempty"`
	Kind       stores.ReturnKind `json:"kind"`
	Name       string            `json:"name"`
	Number     string            `json:"number,omitempty"`
	Qty        int64             `json:"qty_milli"`
	Why        string            `json:"why"`
	SendBy     Day               `json:"send_by,omitzero"`
	SentAt     Time              `json:"sent_at,omitzero"`
	SentHow    string            `json:"sent_how,omitempty"`
	SettledAt  Time              `json:"settled_at,omitzero"`
	SettledWhy string            `json:"settled_why,omitempty"`
	Expected   *money.Minor      `json:"expected_minor,omitempty"`
	Received   *money.Minor      `json:"received_minor,omitempty"`
	Owed       *money.Minor      `json:"owed_minor,omitempty" doc:"Still to come for what has left."`
	Credits    []Credit          `json:"credits,omitempty"`
	Version    int               `json:"version"`
}

// Credit is one credit that came.
type Credit struct {
	Amount money.Minor `json:"amount_minor"`
	Day    Day         `json:"day"`
	Ref    string      `json:"ref,omitempty"`
}

func returnOf(r stores.Return, costs bool) Return {
	out := Return{
		ID: r.ID, SupplierID: r.SupplierID, Supplier: r.SupplierName, PartID: r.PartID, CardID: r.CardID, OrderID: r.OrderID, Kind: r.Kind, Name: r.Name,
		Number: r.Number, Qty: r.Qty, Why: r.Why, SendBy: on(r.SendBy), SentAt: at(r.SentAt), SentHow: r.SentHow, SettledAt: at(r.SettledAt),
		SettledWhy: r.SettledWhy, Expected: onlyIf(costs, r.Expected), Received: onlyIf(costs, r.Received), Owed: onlyIf(costs, r.Owed()), Version: r.Version,
	}
	if costs {
		out.Credits = list(r.Credits, func(k stores.Credit) Credit { return Credit{k.Amount, on(k.Day), k.Ref} })
	}
	return out
}

func returnsOf(x stores.Returns) Returns {
	show := func(r stores.Return) Return { return returnOf(r, x.Costs) }
	return Returns{
		Open: list(x.Open, show), Settled: list(x.Settled, show),
		ToWrite: list(x.ToWrite, func(g stores.GoingBack) PartGoingBack {
			return PartGoingBack{g.PartID, g.CardID, g.Name, g.Number, g.Qty, g.SupplierID, g.Why, g.Aside, onlyIf(x.Costs, g.Cost)}
		}),
	}
}

// SupplierAccounts is how things stand with every supplier.
type SupplierAccounts struct {
	Suppliers []SupplierAccount `json:"suppliers"`
	Owed      *money.Minor      `json:"owed_minor,omitempty" doc:"By all of them."`
}

// SupplierAccount is how things stand with one supplier.
type SupplierAccount struct {
	SupplierID garage.SupplierID `json:"supplier_id"`
	Name       string            `json:"name"`
	Lateness   Lateness          `json:"lateness"`
	ToCome     int               `json:"lines_to_come"`
	Overdue    int               `json:"lines_overdue"`
	ToSend     int               `json:"to_send_back"`
	Exchange   int               `json:"exchange_units" doc:"Of what is to be sent back."`
	Held       *money.Minor      `json:"owed_once_sent_minor,omitempty"`
	Owed       *money.Minor      `json:"owed_minor,omitempty"`
	Short      *money.Minor      `json:"given_up_minor,omitempty" doc:"What came less than expected, of what was settled in a year."`
}

func accountsOf(a stores.Accounts) SupplierAccounts {
	return SupplierAccounts{Owed: onlyIf(a.Costs, a.Owed()), Suppliers: list(a.All, func(x stores.Account) SupplierAccount {
		return SupplierAccount{
			x.Supplier.ID, x.Supplier.Name, latenessOf(x.Late), x.ToCome, x.Overdue, x.ToSend, x.Old, onlyIf(a.Costs, x.Held), onlyIf(a.Costs, x.Owed), onlyIf(a.Costs, x.Short),
		}
	})}
}
