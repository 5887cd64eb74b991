package app_test

import (
	"rampside/internal/app/apptest"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/stores"
	"rampside/web/ui"
)

// What the stores' forms find there. None of it needs a card but needed and
// shelved.

// kept is a new item on the shelf, with a hundred of it there.
func (w *world) kept() stores.ItemID {
	w.t.Helper()
	key := apptest.Key()[:8]
	done, err := w.Services.Stores.SaveItem(w.t.Context(), w.Desk, stores.ItemInput{
		Name: "Clip " + key, Number: "CL-" + key, SupplierID: w.Supplier, Least: 5000, Fill: 20_000, Cost: 20,
	})
	w.OK(err)
	_, err = w.Services.Stores.Put(w.t.Context(), w.Desk, stores.LotInput{ItemID: done.ItemID, Qty: 100_000, Cost: 12_34, Note: "what was there"})
	w.OK(err)
	w.at["item"], w.at["boxnumber"] = ui.Itoa(done.ItemID), "CL-"+key
	return done.ItemID
}

// ordered is an order that is still to come.
func (w *world) ordered() {
	w.t.Helper()
	done, err := w.Services.Stores.Order(w.t.Context(), w.Desk, stores.OrderInput{
		SupplierID: w.Supplier, DueAt: w.Now().Add(1e12), Lines: []stores.OrderedLine{{ItemID: w.kept(), Qty: 40_000}},
	})
	w.OK(err)
	o, _, err := w.Services.Stores.OrderBy(w.t.Context(), w.Desk, done.OrderID)
	w.OK(err)
	w.at["order"], w.at["orderline"] = ui.Itoa(o.ID), ui.Itoa(o.Lines[0].ID)
}

// goingBack is something that goes back, with money to come.
func (w *world) goingBack() {
	w.t.Helper()
	done, err := w.Services.Stores.WriteUp(w.t.Context(), w.Desk, stores.WriteUpInput{
		SupplierID: w.Supplier, Kind: stores.Faulty, Name: "Pump", Number: "P-1", Qty: 1000, Why: "it whines", Expected: money.Minor(80_00),
	})
	w.OK(err)
	w.at["return"] = ui.Itoa(done.ReturnID)
}

// needed is a card with a part that has to be ordered.
func (w *world) needed() {
	w.t.Helper()
	card, line := w.card()
	done, err := w.Cards.AddPart(w.t.Context(), w.Desk, jobcard.AddPartInput{CardID: card, PartTerms: jobcard.PartTerms{
		LineID: line, Name: "Pad set", Number: "SL-100", SupplierID: w.Supplier, Qty: 2000, Cost: 1250,
	}})
	w.OK(err)
	w.at["part"] = ui.Itoa(done.PartID)
}

// shelved is an item on the shelf, and a card's part that it could be.
func (w *world) shelved() {
	w.t.Helper()
	w.kept()
	w.needed()
}

// takenFromShelf is a card's part that came off the shelf.
func (w *world) takenFromShelf() {
	w.t.Helper()
	item := w.kept()
	card, line := w.card()
	done, err := w.Cards.AddPart(w.t.Context(), w.Desk, jobcard.AddPartInput{CardID: card, PartTerms: jobcard.PartTerms{LineID: line, Name: "Clip", Qty: 2000}})
	w.OK(err)
	w.at["part"] = ui.Itoa(done.PartID)
	_, err = w.Services.Stores.Use(w.t.Context(), w.Posy, stores.UseInput{ItemID: item, PartID: done.PartID})
	w.OK(err)
}

// shelfCleared takes away what forms put on the shelf, and nothing was put in.
func (w *world) shelfCleared() {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `delete from stock_item i where not exists (select from stock_lot t where t.item_id = i.id)`)
	w.OK(err)
}
