package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/stores"
)

// ItemBody is what is written of an item of the shelf.
type ItemBody struct {
	Name       string            `json:"name" maxLength:"400"`
	Number     string            `json:"number,omitempty" maxLength:"400"`
	SupplierID garage.SupplierID `json:"supplier_id,omitempty" minimum:"1"`
	Place      string            `json:"place,omitempty" maxLength:"400"`
	Unit       ShelfUnit         `json:"unit,omitempty" doc:"Each when left out."`
	Least      int64             `json:"least_milli,omitempty" doc:"Below it, it is to be ordered."`
	Fill       int64             `json:"fill_milli,omitempty" doc:"Up to so many; the least when left out."`
	Cost       money.Minor       `json:"cost_minor,omitempty" doc:"What one is thought to cost, net."`
}

func (b ItemBody) input() stores.ItemInput {
	return stores.ItemInput{
		Name: b.Name, Number: b.Number, SupplierID: b.SupplierID, Place: b.Place, Unit: string(b.Unit), Least: b.Least, Fill: b.Fill, Cost: b.Cost, Active: true,
	}
}

// ItemEdit is an item with the version it was made from.
type ItemEdit struct {
	ItemBody
	Version int   `json:"version" minimum:"1" maximum:"2147483647"`
	Active  *bool `json:"active,omitempty" doc:"False when it is not kept any more. True when left out."`
}

// LotBody puts something on the shelf that came by no order.
type LotBody struct {
	Qty  int64       `json:"qty_milli"`
	Cost money.Minor `json:"cost_minor" doc:"Altogether, net."`
	Note string      `json:"note" maxLength:"400" doc:"Where it is from."`
}

// CountBody corrects an item by what was counted.
type CountBody struct {
	Was     int64  `json:"was_milli" doc:"What there was by the books when it was counted."`
	Counted int64  `json:"counted_milli"`
	Reason  string `json:"reason,omitempty" maxLength:"400" doc:"Needed where they differ."`
}

// UseBody names the card's part that is taken from the shelf.
type UseBody struct {
	PartID jobcard.PartID `json:"part_id"`
}

// ShelfItem is something kept on the shelf.
type ShelfItem struct {
	ID         stores.ItemID     `json:"id"`
	Name       string            `json:"name"`
	Number     string            `json:"number,omitempty"`
	SupplierID garage.SupplierID `json:"supplier_id,omitempty"`
	Supplier   string            `json:"supplier_name,omitempty"`
	Place      string            `json:"place,omitempty"`
	Unit       ShelfUnit         `json:"unit"`
	Least      int64             `json:"least_milli"`
	Fill       int64             `json:"fill_milli"`
	Have       int64             `json:"have_milli"`
	Coming     int64             `json:"coming_milli" doc:"On order."`
	Short      bool              `json:"short" doc:"It is to be ordered."`
	Cost       *money.Minor      `json:"cost_minor,omitempty" doc:"What one is thought to cost, net."`
	Worth      *money.Minor      `json:"worth_minor,omitempty" doc:"What was paid for what is left."`
	Active     bool              `json:"active"`
	Version    int               `json:"version"`
}

func shelfItemOf(i stores.Item, costs bool) ShelfItem {
	return ShelfItem{
		ID: i.ID, Name: i.Name, Number: i.Number, SupplierID: i.SupplierID, Supplier: i.SupplierName, Place: i.Place, Unit: ShelfUnit(i.Unit),
		Least: i.Least, Fill: i.Fill, Have: i.Have, Coming: i.Coming, Short: i.Short(), Cost: onlyIf(costs, i.Cost), Worth: onlyIf(costs, i.Worth),
		Active: i.Active, Version: i.Version,
	}
}

// Shelf is all that is kept.
type Shelf struct {
	Items []ShelfItem `json:"items"`
}

// ShelfSheet is an item with its lots, movements and stock takes.
type ShelfSheet struct {
	ShelfItem
	Lots   []ShelfLot   `json:"lots" doc:"What is left, the oldest first: it is used first."`
	Moves  []ShelfMove  `json:"moves" doc:"The newest first."`
	Counts []ShelfCount `json:"counts"`
}

// ShelfLot is what is left of what came at one time.
type ShelfLot struct {
	ID      stores.LotID   `json:"id"`
	OrderID stores.OrderID `json:"order_id,omitempty"`
	Qty     int64          `json:"qty_milli"`
	Left    int64          `json:"left_milli"`
	Cost    *money.Minor   `json:"cost_minor,omitempty" doc:"Altogether."`
	Worth   *money.Minor   `json:"left_minor,omitempty"`
	Note    string         `json:"note,omitempty"`
	GotAt   Time           `json:"got_at"`
}

// ShelfMove is one movement.
type ShelfMove struct {
	Kind   string         `json:"kind"`
	LotID  stores.LotID   `json:"lot_id"`
	Qty    int64          `json:"qty_milli" doc:"Below zero: out."`
	Cost   *money.Minor   `json:"cost_minor,omitempty"`
	PartID jobcard.PartID `json:"part_id,omitempty"`
	CardID jobcard.CardID `json:"card_id,omitempty"`
	Reason string         `json:"reason,omitempty"`
	By     string         `json:"by,omitempty"`
	At     Time           `json:"at"`
}

// ShelfCount is one stock take.
type ShelfCount struct {
	Was     int64  `json:"was_milli"`
	Counted int64  `json:"counted_milli"`
	Reason  string `json:"reason,omitempty"`
	By      string `json:"by,omitempty"`
	At      Time   `json:"at"`
}

func shelfSheetOf(s stores.Sheet) ShelfSheet {
	return ShelfSheet{
		ShelfItem: shelfItemOf(s.Item, s.Costs),
		Lots: list(s.Lots, func(l stores.Lot) ShelfLot {
			return ShelfLot{l.ID, l.OrderID, l.Qty, l.Left, onlyIf(s.Costs, l.Cost), onlyIf(s.Costs, l.LeftWorth), l.Note, at(l.GotAt)}
		}),
		Moves: list(s.Moves, func(m stores.Move) ShelfMove {
			return ShelfMove{m.Kind, m.LotID, m.Qty, onlyIf(s.Costs, m.Cost), m.PartID, m.CardID, m.Reason, m.By, at(m.At)}
		}),
		Counts: list(s.Counts, func(c stores.Count) ShelfCount { return ShelfCount{c.Was, c.Counted, c.Reason, c.By, at(c.At)} }),
	}
}

func (a *API) shelfOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/stores/shelf", id: "list-shelf", need: actor.ReadCards, tag: "Stores", short: "All that is kept on the shelf",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Shelf, error) {
		all, err := a.Stores.Shelf(ctx, who)
		costs := who.May(actor.SeeMargins)
		return Shelf{list(all, func(i stores.Item) ShelfItem { return shelfItemOf(i, costs) })}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/shelf", id: "add-shelf-item", need: actor.EditCard, tag: "Stores", status: http.StatusCreated, short: "Keep something on the shelf",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body ItemBody }) (StoresChanged, error) {
		return storesChanged(a.Stores.SaveItem(ctx, who, in.Body.input()))
	})
	register(a, operation{
		method: http.MethodGet, path: "/stores/shelf/{item}", id: "get-shelf-item", need: actor.ReadCards, tag: "Stores",
		short: "An item of the shelf, with what is left and what moved it",
	}, func(ctx context.Context, who actor.Actor, in *ItemAt) (ShelfSheet, error) {
		s, err := a.Stores.Item(ctx, who, in.Item)
		return shelfSheetOf(s), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/stores/shelf/{item}", id: "edit-shelf-item", need: actor.EditCard, tag: "Stores", short: "Change what is written of an item",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ItemAt
		Body ItemEdit
	}) (StoresChanged, error) {
		item := in.Body.input()
		item.ID, item.Version, item.Active = in.Item, in.Body.Version, orTrue(in.Body.Active)
		return storesChanged(a.Stores.SaveItem(ctx, who, item))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/shelf/{item}/lots", id: "put-on-shelf", need: actor.EditCard, tag: "Stores",
		short: "Put something on the shelf that came by no order",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ItemAt
		Body LotBody
	}) (StoresChanged, error) {
		return storesChanged(a.Stores.Put(ctx, who, stores.LotInput{ItemID: in.Item, Qty: in.Body.Qty, Cost: in.Body.Cost, Note: in.Body.Note}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/shelf/{item}/counts", id: "count-shelf-item", need: actor.EditCard, tag: "Stores",
		short: "Correct an item by what was counted",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ItemAt
		Body CountBody
	}) (StoresChanged, error) {
		b := in.Body
		return storesChanged(a.Stores.Count(ctx, who, stores.CountInput{ItemID: in.Item, Was: b.Was, Counted: b.Counted, Reason: b.Reason}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/stores/shelf/{item}/use", id: "take-from-shelf", need: actor.Work, tag: "Stores",
		short: "Take a card's part from the shelf", long: "At what it cost first in, first out. What the customer agreed to pay stays.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		ItemAt
		Body UseBody
	}) (StoresChanged, error) {
		return storesChanged(a.Stores.Use(ctx, who, stores.UseInput{ItemID: in.Item, PartID: in.Body.PartID}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/put-back", id: "put-back-on-shelf", need: actor.Work, tag: "Stores",
		short: "Put a card's part that came off the shelf back on it",
	}, func(ctx context.Context, who actor.Actor, in *PartAt) (StoresChanged, error) {
		return storesChanged(a.Stores.PutBack(ctx, who, stores.PutBackInput{PartID: in.Part}))
	})
}
