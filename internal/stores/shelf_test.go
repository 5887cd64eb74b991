package stores_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/stores"
)

func TestAPartOffTheShelfCostsWhatTheOldestDidAndTheCustomersPriceStays(t *testing.T) {
	r := newRig(t)
	oil := r.item(stores.ItemInput{Name: "Engine oil", Number: "EM-0390", Unit: "litre", Least: 5000, Fill: 20_000, Cost: 4_10, SupplierID: r.Supplier})
	r.put(oil, 3000, 10_00) // 3.33 a litre
	r.order(r.Clock.Add(time.Hour), stores.OrderedLine{ItemID: oil, Qty: 20_000})
	a, err := r.stores.Arrivals(t.Context(), r.Owner, "em 0390")
	r.OK(err)
	r.came(r.Posy, a.Found...)
	if i := r.shelf(oil); i.Have != 23_000 || i.Worth != 10_00+82_00 || len(i.Lots) != 2 {
		t.Fatalf("on the shelf %+v", i.Item)
	}
	s := r.Book(cardtest.Op(r.Service))
	markUp := money.Rate(2500)
	id := r.part(s, 0, jobcard.PartTerms{Name: "Oil", Number: "em0390", Qty: 4200, Cost: 3_00, MarkUp: &markUp, SupplierID: r.Supplier})
	r.Agree(s.ID)
	net := r.Sheet(s.ID).Quote.Agreed.Net
	if n := r.needs(stores.Tomorrow); n.Count() != 1 || n.Groups[0].Needs[0].OnShelf != oil || n.Groups[0].Needs[0].ShelfQty != 23_000 {
		t.Errorf("needs %+v", n.Groups)
	}
	if c := r.shelf(oil).For; len(c) != 1 || c[0].PartID != id || !c[0].Same {
		t.Errorf("what it could be for: %+v", c)
	}
	_, err = r.stores.Use(t.Context(), r.Posy, stores.UseInput{ItemID: oil, PartID: id})
	r.OK(err)
	// All of the first lot, and 1.2 of 20 litres that cost 82.00.
	i := r.shelf(oil)
	if i.Have != 18_800 || i.Worth != 92_00-10_00-4_92 {
		t.Errorf("left %d, worth %s", i.Have, i.Worth)
	}
	sheet := r.Sheet(s.ID)
	p, _ := sheet.Part(id)
	if p.Supply != jobcard.Arrived || p.Cost != 3_55 || sheet.Quote.Agreed.Net != net || sheet.Lines[0].Consent != jobcard.Agreed {
		t.Errorf("on the card: %s, cost %s, the card %s where it was %s, %s", p.Supply, p.Cost, sheet.Quote.Agreed.Net, net, sheet.Lines[0].Consent)
	}
	_, err = r.stores.Use(t.Context(), r.Posy, stores.UseInput{ItemID: oil, PartID: id})
	r.wrong(err, apperr.Conflict)

	_, err = r.stores.PutBack(t.Context(), r.Posy, stores.PutBackInput{PartID: id})
	r.OK(err)
	if i := r.shelf(oil); i.Have != 23_000 || i.Worth != 92_00 || i.Lots[0].Left != 3000 || i.Lots[0].LeftWorth != 10_00 {
		t.Errorf("back on the shelf: %+v", i.Item)
	}
	if p := r.partOf(s, id); p.Supply != jobcard.Needed {
		t.Errorf("on the card it is %s", p.Supply)
	}
	_, err = r.stores.PutBack(t.Context(), r.Posy, stores.PutBackInput{PartID: id})
	r.wrong(err, apperr.Invalid, "part")
}

func TestTheShelfIsNeverBelowNothing(t *testing.T) {
	r := newRig(t)
	bulb := r.item(stores.ItemInput{Name: "Bulb"})
	r.put(bulb, 1000, 90)
	s := r.Book(cardtest.Op(r.Service))
	two := r.part(s, 0, jobcard.PartTerms{Name: "Bulb", Qty: 2000})
	_, err := r.stores.Use(t.Context(), r.Posy, stores.UseInput{ItemID: bulb, PartID: two})
	r.wrong(err, apperr.Invalid, "part")
	if err.Error() == "" || r.shelf(bulb).Have != 1000 {
		t.Error("something was taken")
	}
	for _, sql := range []string{
		`update stock_lot set left_milli = -1`, `update stock_lot set left_milli = 0`, `update stock_lot set left_minor = 91`, `update stock_lot set left_milli = 1001`,
		`update stock_move set qty_milli = 5`, `delete from stock_move`,
		`insert into stock_move (lot_id, kind, qty_milli, cost_minor, at) select id, 'counted short', 1, 0, now() from stock_lot`,
		`insert into stock_move (lot_id, kind, qty_milli, cost_minor, at) select id, 'used', -1, 0, now() from stock_lot`,
	} {
		if _, err := r.DB.Pool.Exec(t.Context(), sql); err == nil {
			t.Errorf("the database let this through: %s", sql)
		}
	}
}

func TestAStockTakeCorrectsAndKeepsTheCorrection(t *testing.T) {
	r := newRig(t)
	clip := r.item(stores.ItemInput{Name: "Clip", Cost: 20, Least: 5000, Fill: 50_000})
	r.put(clip, 30_000, 3_00)
	count := func(was, counted int64, reason string) error {
		_, err := r.stores.Count(t.Context(), r.Desk, stores.CountInput{ItemID: clip, Was: was, Counted: counted, Reason: reason})
		return err
	}
	r.wrong(count(30_000, 28_000, ""), apperr.Invalid, "reason")
	r.wrong(count(30_000, -1, "x"), apperr.Invalid, "counted")
	r.wrong(count(29_000, 28_000, "x"), apperr.Conflict)
	_, err := r.stores.Count(t.Context(), r.Posy, stores.CountInput{ItemID: clip})
	r.wrong(err, apperr.Forbidden)
	r.OK(count(30_000, 30_000, ""))
	r.OK(count(30_000, 27_000, "brittle, thrown away"))
	r.OK(count(27_000, 29_000, "two were in the drawer"))
	i := r.shelf(clip)
	if i.Have != 29_000 || i.Worth != 2_70+40 || len(i.Counts) != 3 || i.Counts[1].Reason != "brittle, thrown away" {
		t.Errorf("after the counts: %+v, %+v", i.Item, i.Counts)
	}
	if i.Moves[0].Kind != "counted over" || i.Moves[1].Kind != "counted short" || i.Moves[1].Cost != -30 || i.Moves[1].Reason != "brittle, thrown away" {
		t.Errorf("moves %+v", i.Moves)
	}
	_, err = r.stores.SaveItem(t.Context(), r.Desk, stores.ItemInput{ID: clip, Version: 1, Name: "Clip"})
	r.wrong(err, apperr.Invalid, "active")
	r.OK(count(29_000, 0, "sold off"))
	_, err = r.stores.SaveItem(t.Context(), r.Desk, stores.ItemInput{ID: clip, Version: 1, Name: "Clip"})
	r.OK(err)
}

func TestAnItemOfTheShelfIsHeldToSense(t *testing.T) {
	r := newRig(t)
	r.item(stores.ItemInput{Name: "Oil filter", Number: "EM 04-80"})
	for field, in := range map[string]stores.ItemInput{
		"name": {Name: "Oil filter"}, "number": {Name: "Filter, oil", Number: "em0480"}, "supplier": {Name: "x", SupplierID: 999}, "unit": {Name: "x", Unit: "barrel"},
		"least": {Name: "x", Least: -1}, "fill": {Name: "x", Least: 5000, Fill: 1000}, "cost": {Name: "x", Cost: -1},
	} {
		_, err := r.stores.SaveItem(t.Context(), r.Desk, in)
		r.wrong(err, apperr.Invalid, field)
	}
	_, err := r.stores.SaveItem(t.Context(), r.Posy, stores.ItemInput{Name: "x"})
	r.wrong(err, apperr.Forbidden)
	_, err = r.stores.SaveItem(t.Context(), r.Desk, stores.ItemInput{ID: 1, Version: 7, Name: "x", Active: true})
	r.wrong(err, apperr.Conflict)
	if _, err := r.stores.Item(t.Context(), r.Posy, 999); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("%v", err)
	}
}

// TestWhatWasPaidIsWhatWasUsedAndWhatIsLeft holds the books of the shelf over
// any history: value in is value out and value left, for the shelf and for
// each lot, and the movements say the same as the lots.
func TestWhatWasPaidIsWhatWasUsedAndWhatIsLeft(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	n := 0
	rapid.Check(t, func(rt *rapid.T) {
		if n++; n > 6 {
			return // each history is some dozen transactions
		}
		item := r.item(stores.ItemInput{Name: time.Duration(n).String(), Cost: money.Minor(rapid.Int64Range(0, 500).Draw(rt, "cost"))})
		var used []jobcard.PartID
		for range rapid.IntRange(4, 9).Draw(rt, "steps") {
			have := r.shelf(item).Have
			switch rapid.IntRange(0, 4).Draw(rt, "what") {
			case 0, 1:
				r.put(item, rapid.Int64Range(1, 9000).Draw(rt, "qty"), money.Minor(rapid.Int64Range(0, 99_99).Draw(rt, "paid")))
			case 2:
				id := r.part(s, -1, jobcard.PartTerms{Name: "Bit", Qty: rapid.Int64Range(1, 6000).Draw(rt, "want")})
				_, err := r.stores.Use(t.Context(), r.Posy, stores.UseInput{ItemID: item, PartID: id})
				if err == nil {
					used = append(used, id)
				} else {
					r.wrong(err, apperr.Invalid, "part")
				}
			case 3:
				_, err := r.stores.Count(t.Context(), r.Desk, stores.CountInput{ItemID: item, Was: have, Counted: rapid.Int64Range(0, have+2000).Draw(rt, "counted"), Reason: "so it is"})
				r.OK(err)
			case 4:
				if len(used) > 0 {
					_, err := r.stores.PutBack(t.Context(), r.Posy, stores.PutBackInput{PartID: used[len(used)-1]})
					r.OK(err)
					used = used[:len(used)-1]
				}
			}
		}
	})
	if bad := r.count(`
		select count(*) from stock_lot t, lateral (select sum(qty_milli) as qty, sum(cost_minor) as cost,
			sum(cost_minor) filter (where cost_minor > 0 and kind in ('in', 'counted over')) as paid from stock_move m where m.lot_id = t.id) m
		where m.qty <> t.left_milli or m.cost <> t.left_minor or coalesce(m.paid, 0) <> t.cost_minor`); bad != 0 {
		t.Errorf("%d lots whose movements say otherwise", bad)
	}
	if lots := r.count(`select count(*) from stock_lot`); lots < 6 {
		t.Errorf("only %d lots were tried", lots)
	}
}
