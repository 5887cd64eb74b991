package demo

import (
	"context"
	"math/rand/v2"
	"slices"
	"time"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/stores"
	"rampside/internal/workday"
)

// kept is something on the demo's shelf, and what the demo knows of it.
type kept struct {
	stores.ItemInput
	id           stores.ItemID
	opening      int64 // thousandths, when the books began
	supplier     int
	used         bool // cards take it; else it is used up and counted
	have, coming int64
}

// stockroom is what the demo keeps in mind of the stores. It has chance of its
// own, so that the cards are the same with it and without.
type stockroom struct {
	items   []*kept
	rand    *rand.Rand
	pending []deed // deliveries on their way
}

// openStores puts the shelf up.
func (m *maker) openStores(ctx context.Context) error {
	m.room.rand = rand.New(rand.NewPCG(m.seed, 0x570e5))
	m.room.items = []*kept{
		{ItemInput: stores.ItemInput{Name: "Oil filter", Number: "EM-4670", Place: "rack 1", Least: 6000, Fill: 16_000, Cost: 4_90}, opening: 12_000, used: true},
		{ItemInput: stores.ItemInput{Name: "Engine oil", Number: "EM-4957", Place: "drum by the door", Unit: "litre", Least: 25_000, Fill: 60_000, Cost: 3_95}, opening: 45_000, used: true},
		{ItemInput: stores.ItemInput{Name: "Screen wash", Number: "HR-SW5", Place: "rack 2", Unit: "litre", Least: 10_000, Fill: 25_000, Cost: 1_15}, opening: 20_000, supplier: 1},
		{ItemInput: stores.ItemInput{Name: "Bulb, 12 V 21 W", Number: "HR-B2112", Place: "drawer 3", Least: 10_000, Fill: 30_000, Cost: 62}, opening: 24_000, supplier: 1},
		{ItemInput: stores.ItemInput{Name: "Brake cleaner", Number: "EM-BC50", Place: "rack 2", Least: 6000, Fill: 18_000, Cost: 2_30}, opening: 12_000},
		{ItemInput: stores.ItemInput{Name: "Trim clip, assorted", Number: "HR-TC9", Place: "drawer 5", Least: 40_000, Fill: 120_000, Cost: 9}, opening: 90_000, supplier: 1},
	}
	for _, k := range m.room.items {
		k.SupplierID = m.supplier(k.supplier)
		done, err := m.stores.SaveItem(ctx, m.ida, k.ItemInput)
		if err != nil {
			return err
		}
		k.id = done.ItemID
		_, err = m.stores.Put(ctx, m.ida, stores.LotInput{ItemID: k.id, Qty: k.opening, Cost: money.PartNet(k.opening, k.Cost), Note: "what was there"})
		if err != nil {
			return err
		}
		k.have = k.opening
	}
	return nil
}

// lateBy is how late a delivery of a supplier is: the first is dependable, the
// second is not, and of the third too little is known. never is a delivery
// that does not come.
func (m *maker) lateBy(supplier int) (late time.Duration, never bool) {
	r := m.room.rand
	minutes := func(from, to int) time.Duration { return time.Duration(from+r.IntN(to-from)) * time.Minute }
	switch n := r.IntN(100); {
	case supplier == 0 && n < 84, supplier == 1 && n < 52:
		return -minutes(5, 70), false
	case supplier == 0 && n < 96, supplier == 1 && n < 66:
		return minutes(5, 58), false
	case supplier == 0, n < 86:
		return minutes(65, 6*60), false
	case n < 97:
		return 24*time.Hour + minutes(0, 120), false
	}
	return 0, true
}

// restock orders what the shelf is short of at the end of a day, and counts
// the consumables at the beginning of a month.
func (m *maker) restock(day workday.Day) []deed {
	at := workday.At(day, 16*60+5, m.loc)
	var out []deed
	for _, k := range m.room.items {
		if !k.used {
			// Somebody takes some and writes nothing down: a stock take finds out.
			k.have -= k.have * int64(m.room.rand.IntN(9)) / 100_000 * 1000
		}
		if k.have+k.coming >= k.Least && m.room.rand.IntN(6) != 0 {
			continue
		}
		qty := (k.Fill - k.have - k.coming) / 1000 * 1000
		if qty < 2000 {
			continue
		}
		k.coming += qty
		out = append(out, deed{at, func(ctx context.Context) error { return m.restockOne(ctx, k, day, qty) }})
		at = at.Add(time.Minute)
	}
	if _, _, dom := day.Date(); dom <= 7 && day.Weekday() == time.Monday {
		out = append(out, deed{at.Add(20 * time.Minute), m.stockTake})
	}
	return out
}

func (m *maker) restockOne(ctx context.Context, k *kept, day workday.Day, qty int64) error {
	cost := k.Cost + money.Minor(m.room.rand.IntN(int(k.Cost)/12+2))
	next := m.workingDayAfter(day)
	due := workday.At(next, 10*60, m.loc)
	made, err := m.stores.Order(ctx, m.ida, stores.OrderInput{
		SupplierID: m.supplier(k.supplier), DueAt: due, How: stores.Ways[m.room.rand.IntN(3)], Lines: []stores.OrderedLine{{ItemID: k.id, Qty: qty, Cost: &cost}},
	})
	if err != nil {
		return err
	}
	late, never := m.lateBy(k.supplier)
	came := due.Add(late)
	if open := workday.At(next, 8*60+35, m.loc); came.Before(open) {
		came = open
	}
	if d := workday.Of(came, m.loc); d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		came = workday.At(m.workingDayAfter(d), 9*60, m.loc)
	}
	if never {
		came = workday.At(m.workingDayAfter(next), 16*60, m.loc)
	}
	m.room.pending = append(m.room.pending, deed{came, func(ctx context.Context) error {
		o, _, err := m.stores.OrderBy(ctx, m.ida, made.OrderID)
		if err != nil {
			return err
		}
		l := o.Lines[0]
		k.coming -= qty
		if never {
			_, err = m.stores.Close(ctx, m.ida, stores.CloseInput{LineID: l.ID, Version: l.Version, Never: true, Note: "they cannot say when"})
			return err
		}
		k.have += qty
		_, err = m.stores.Arrive(ctx, m.posy, stores.ArriveInput{Lines: []stores.CameLine{{LineID: l.ID, Version: l.Version, Qty: qty}}})
		return err
	}})
	return nil
}

func (m *maker) workingDayAfter(d workday.Day) workday.Day {
	for d = d.AddDays(1); d.Weekday() == time.Saturday || d.Weekday() == time.Sunday; {
		d = d.AddDays(1)
	}
	return d
}

// due takes the deliveries that come before a time out of those on their way.
func (m *maker) due(before time.Time) []deed {
	var now []deed
	m.room.pending = slices.DeleteFunc(m.room.pending, func(d deed) bool {
		if d.at.Before(before) {
			now = append(now, d)
			return true
		}
		return false
	})
	return now
}

// stockTake counts the consumables.
func (m *maker) stockTake(ctx context.Context) error {
	for _, k := range m.room.items {
		if k.used {
			continue
		}
		i, err := m.stores.Item(ctx, m.ida, k.id)
		if err != nil {
			return err
		}
		k.have = min(max(0, k.have), i.Have)
		_, err = m.stores.Count(ctx, m.ida, stores.CountInput{ItemID: k.id, Was: i.Have, Counted: k.have, Reason: "used and not written down"})
		if err != nil {
			return err
		}
	}
	return nil
}

// takeFromShelf takes a card's part from the shelf where it is kept there and
// there is enough; part is 0 where it is not.
func (m *maker) takeFromShelf(ctx context.Context, card jobcard.CardID, terms jobcard.PartTerms) (part jobcard.PartID, version int, err error) {
	for _, k := range m.room.items {
		if k.Number != terms.Number || k.have < terms.Qty {
			continue
		}
		terms.Supply = jobcard.Needed
		added, err := m.cards.AddPart(ctx, m.ida, jobcard.AddPartInput{CardID: card, PartTerms: terms})
		if err != nil {
			return 0, 0, err
		}
		k.have -= terms.Qty
		done, err := m.stores.Use(ctx, m.posy, stores.UseInput{ItemID: k.id, PartID: added.PartID})
		return added.PartID, done.Version, err
	}
	return 0, 0, nil
}

// orderPart orders one of today's parts.
func (m *maker) orderPart(ctx context.Context, id jobcard.PartID, supplier garage.SupplierID, due time.Time) error {
	_, err := m.stores.Order(ctx, m.ida, stores.OrderInput{SupplierID: supplier, DueAt: due, Lines: []stores.OrderedLine{{PartID: id}}})
	return err
}

// storesToday lets the stores' day happen: deliveries, what goes back, and
// the money for what went.
func (m *maker) storesToday(ctx context.Context) error {
	m.say("the stores")
	deeds := m.due(m.now)
	writeUp := func(at time.Time, in stores.WriteUpInput, then func(context.Context, stores.ReturnID) error) {
		deeds = append(deeds, deed{at, func(ctx context.Context) error {
			done, err := m.stores.WriteUp(ctx, m.ida, in)
			if err != nil || then == nil {
				return err
			}
			return then(ctx, done.ReturnID)
		}})
	}
	sent := func(ctx context.Context, id stores.ReturnID) error {
		_, err := m.stores.Send(ctx, m.posy, stores.SentInput{ReturnID: id, Version: 1, How: "their driver"})
		return err
	}
	writeUp(m.now.AddDate(0, 0, -6), stores.WriteUpInput{
		SupplierID: m.supplier(1), Kind: stores.Faulty, Name: "Wheel bearing kit", Number: "HR-WB22", Qty: 1000, Why: "rumbles out of the box", Expected: 31_80,
	}, sent)
	writeUp(m.now.AddDate(0, 0, -9), stores.WriteUpInput{
		SupplierID: m.supplier(0), Kind: stores.WrongPart, Name: "Drop link", Number: "EM-1450R", Qty: 2000, Why: "the right-hand one twice", Expected: 29_00,
	}, func(ctx context.Context, id stores.ReturnID) error {
		if err := sent(ctx, id); err != nil {
			return err
		}
		_, err := m.stores.Credit(ctx, m.ida, stores.CreditInput{ReturnID: id, Version: 2, Amount: 24_65, Ref: "CN 2088"})
		return err
	})
	writeUp(m.when(20), stores.WriteUpInput{
		SupplierID: m.supplier(1), Kind: stores.ExchangeUnit, Name: "Old unit of Starter motor, exchange", Number: "HR-SM3", Qty: 1000,
		Why: "the surcharge is charged until it is back", Expected: 45_00, SendBy: m.today.AddDays(8),
	}, nil)
	return m.perform(ctx, deeds)
}
