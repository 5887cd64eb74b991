package stores_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/stores"
)

func TestWhatTomorrowNeedsIsOrderedInOneStep(t *testing.T) {
	r := newRig(t)
	today := r.Book(cardtest.Op(r.Brakes), cardtest.Op(r.Service))
	pads := r.part(today, 0, jobcard.PartTerms{Name: "Pad set", Number: "EM 12-34", SupplierID: r.Supplier, Cost: 26_50})
	r.part(today, 1, jobcard.PartTerms{Name: "Oil filter", Supply: jobcard.Arrived})
	own := r.part(today, 1, jobcard.PartTerms{Name: "Wiper blades", Source: jobcard.FromCustomer})
	r.Agree(today.ID)
	ahead, err := r.Cards.Book(t.Context(), r.Desk, jobcard.Booking{VehicleID: r.Car, Visit: jobcard.Visit{BookedFor: r.Day.AddDays(1)}, Lines: []jobcard.NewLine{cardtest.Op(r.Service)}})
	r.OK(err)
	tomorrow := r.Sheet(ahead.CardID)
	filter := r.part(tomorrow, 0, jobcard.PartTerms{Name: "Air filter"})
	later, err := r.Cards.Book(t.Context(), r.Desk, jobcard.Booking{VehicleID: r.Car, Visit: jobcard.Visit{BookedFor: r.Day.AddDays(3)}, Lines: []jobcard.NewLine{cardtest.Op(r.Service)}})
	r.OK(err)
	r.part(r.Sheet(later.CardID), 0, jobcard.PartTerms{Name: "Cabin filter", SupplierID: r.Supplier})
	wash := r.item(stores.ItemInput{Name: "Screen wash", Unit: "litre", Least: 5000, Fill: 20_000, Cost: 1_10, SupplierID: r.Supplier})
	r.put(wash, 4000, 4_40)

	n := r.needs(stores.Tomorrow)
	if len(n.Groups) != 2 || n.Count() != 3 || n.Later != 1 || n.Until != r.Day.AddDays(1) {
		t.Fatalf("needs %+v", n)
	}
	first, none := n.Groups[0], n.Groups[1]
	if first.Supplier.ID != r.Supplier || len(first.Needs) != 2 || first.Needs[0].PartID != pads || !first.Needs[0].Agreed || first.Needs[1].ItemID != wash || first.Needs[1].Qty != 16_000 {
		t.Errorf("of the supplier: %+v", first.Needs)
	}
	if none.Supplier.ID != 0 || len(none.Needs) != 1 || none.Needs[0].PartID != filter || none.Needs[0].Agreed {
		t.Errorf("of nobody yet: %+v", none.Needs)
	}
	if len(n.Own) != 1 || n.Own[0].PartID != own {
		t.Errorf("the customers' own: %+v", n.Own)
	}
	if w := r.needs(stores.Week); w.Count() != 4 || w.Later != 0 {
		t.Errorf("in a week %d and %d later", w.Count(), w.Later)
	}

	due, soon := r.Clock.Add(25*time.Hour), r.Clock.Add(2*time.Hour)
	dearer := money.Minor(31_00)
	o := r.order(due, stores.OrderedLine{PartID: pads, Cost: &dearer, DueAt: soon}, partLine(filter), stores.OrderedLine{ItemID: wash, Qty: 16_000})
	if len(o.Lines) != 3 || o.Net() != 31_00+0+16*1_10 || o.Lines[0].DueAt != soon || o.Lines[1].DueAt != due || o.Lines[1].CardID != tomorrow.ID {
		t.Errorf("the order %+v", o)
	}
	if p := r.partOf(today, pads); p.Supply != jobcard.Ordered || p.DueAt != soon || p.Cost != 31_00 {
		t.Errorf("on the card the pads are %s, due %v, at %s", p.Supply, p.DueAt, p.Cost)
	}
	if p := r.partOf(tomorrow, filter); p.Supply != jobcard.Ordered || p.SupplierID != r.Supplier {
		t.Errorf("the filter is %s from %d", p.Supply, p.SupplierID)
	}
	if l := r.Sheet(today.ID).Lines[0]; l.Consent != jobcard.Asked {
		t.Errorf("the line that got dearer is %s", l.Consent)
	}
	if n := r.needs(stores.Tomorrow); n.Count() != 0 {
		t.Errorf("still needed: %+v", n.Groups)
	}
	if n := r.count(`select count(*) from event where kind in ('order made', 'part ordered')`); n != 3 {
		t.Errorf("%d events", n)
	}
}

func TestAnOrderThatCannotBeIsRefusedAtItsFieldsAndChangesNothing(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	here := r.part(s, 0, jobcard.PartTerms{Name: "Filter", Supply: jobcard.Arrived})
	own := r.part(s, 0, jobcard.PartTerms{Name: "Blades", Source: jobcard.FromCustomer})
	good := r.part(s, 0, jobcard.PartTerms{Name: "Plug"})
	due := r.Clock.Add(time.Hour)
	low := money.Minor(-1)
	for name, c := range map[string]struct {
		in     stores.OrderInput
		fields []string
	}{
		"nothing":       {stores.OrderInput{}, []string{"supplier", "due_at", "lines"}},
		"no such one":   {stores.OrderInput{SupplierID: 999, DueAt: due, Lines: []stores.OrderedLine{partLine(good)}}, []string{"supplier"}},
		"past":          {stores.OrderInput{SupplierID: r.Supplier, DueAt: r.Clock.Add(-2 * time.Hour), Lines: []stores.OrderedLine{partLine(good)}}, []string{"due_at"}},
		"far":           {stores.OrderInput{SupplierID: r.Supplier, DueAt: r.Clock.AddDate(3, 0, 0), Lines: []stores.OrderedLine{partLine(good)}}, []string{"due_at"}},
		"by pigeon":     {stores.OrderInput{SupplierID: r.Supplier, DueAt: due, How: "by pigeon", Lines: []stores.OrderedLine{partLine(good)}}, []string{"how"}},
		"here already":  {stores.OrderInput{SupplierID: r.Supplier, DueAt: due, Lines: []stores.OrderedLine{partLine(good), partLine(here), partLine(own), partLine(999_999)}}, []string{"lines.1.part", "lines.2.part", "lines.3.part"}},
		"twice":         {stores.OrderInput{SupplierID: r.Supplier, DueAt: due, Lines: []stores.OrderedLine{partLine(good), partLine(good)}}, []string{"lines.1.part"}},
		"odd":           {stores.OrderInput{SupplierID: r.Supplier, DueAt: due, Lines: []stores.OrderedLine{{}, {ItemID: 7, Qty: 0}, {PartID: good, Cost: &low, Surcharge: -5}}}, []string{"lines.0.part", "lines.1.qty", "lines.2.cost", "lines.2.surcharge"}},
		"no such shelf": {stores.OrderInput{SupplierID: r.Supplier, DueAt: due, Lines: []stores.OrderedLine{{ItemID: 7, Qty: 1000}}}, []string{"lines.0.part"}},
	} {
		_, err := r.stores.Order(t.Context(), r.Desk, c.in)
		t.Log(name)
		r.wrong(err, apperr.Invalid, c.fields...)
	}
	_, err := r.stores.Order(t.Context(), r.Posy, stores.OrderInput{SupplierID: r.Supplier, DueAt: due, Lines: []stores.OrderedLine{partLine(good)}})
	r.wrong(err, apperr.Forbidden)
	if p := r.partOf(s, good); p.Supply != jobcard.Needed || r.count(`select count(*) from purchase`) != 0 {
		t.Errorf("something was ordered: %s", p.Supply)
	}
}

func TestASuppliersNewWordMovesThePartAndLeavesTheirRecord(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	id := r.part(s, 0, jobcard.PartTerms{Name: "Plug"})
	first, now := r.Clock.Add(2*time.Hour), r.Clock.Add(26*time.Hour)
	l := r.order(first, partLine(id)).Lines[0]
	_, err := r.stores.SetDue(t.Context(), r.Desk, stores.DueInput{LineID: l.ID, Version: l.Version, DueAt: now})
	r.OK(err)
	_, err = r.stores.SetDue(t.Context(), r.Desk, stores.DueInput{LineID: l.ID, Version: l.Version, DueAt: now})
	r.wrong(err, apperr.Conflict)
	if p := r.partOf(s, id); p.DueAt != now {
		t.Errorf("the card says %v", p.DueAt)
	}
	r.Clock = now
	l = r.read(l.OrderID).Lines[0]
	if l.Due() != now || l.DueAt != first || l.Late(now) {
		t.Errorf("the line %+v", l)
	}
	r.came(r.Posy, l)
	// From ten on Monday to ten on Tuesday is nine hours of an open garage.
	if late := r.account(r.Supplier).Late; late.N != 1 || late.Came[0] != 9*time.Hour {
		t.Errorf("the record %+v", late)
	}
}

func TestALineThatComesToNothingIsNeededAgainAndOnlyNeverCountsAgainstThem(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	a, b := r.part(s, 0, jobcard.PartTerms{Name: "Plug"}), r.part(s, 0, jobcard.PartTerms{Name: "Lead"})
	o := r.order(r.Clock.Add(time.Hour), partLine(a), partLine(b))
	_, err := r.stores.Close(t.Context(), r.Desk, stores.CloseInput{LineID: o.Lines[0].ID, Version: 1})
	r.wrong(err, apperr.Invalid, "note")
	_, err = r.stores.Close(t.Context(), r.Desk, stores.CloseInput{LineID: o.Lines[0].ID, Version: 1, Note: "the customer changed her mind"})
	r.OK(err)
	_, err = r.stores.Close(t.Context(), r.Desk, stores.CloseInput{LineID: o.Lines[1].ID, Version: 1, Note: "out of print", Never: true, Drop: true})
	r.OK(err)
	if p, q := r.partOf(s, a), r.partOf(s, b); p.Supply != jobcard.Needed || !p.DueAt.IsZero() || q.Supply != jobcard.NotComing {
		t.Errorf("the parts are %s and %s", p.Supply, q.Supply)
	}
	late := r.account(r.Supplier).Late
	if late.N != 1 || late.Never != 1 {
		t.Errorf("the record %+v", late)
	}
	if again := r.order(r.Clock.Add(time.Hour), partLine(a)); again.Lines[0].Name != "Plug" {
		t.Errorf("ordered again %+v", again)
	}
}

func TestTheCardHasTheLastWordOnWhereAPartIs(t *testing.T) {
	r := newRig(t)
	s := r.Book(cardtest.Op(r.Service))
	tapped, needed := r.part(s, 0, jobcard.PartTerms{Name: "Plug"}), r.part(s, 0, jobcard.PartTerms{Name: "Lead"})
	o := r.order(r.Clock.Add(time.Hour), partLine(tapped), partLine(needed))
	r.Clock = r.Clock.Add(3 * time.Hour)
	// On the floor somebody taps that it is here, and the desk takes the other
	// off the order by hand.
	_, err := r.Cards.SetSupply(t.Context(), r.Posy, jobcard.SupplyInput{PartID: tapped, Version: r.partOf(s, tapped).Version, Supply: jobcard.Arrived})
	r.OK(err)
	_, err = r.Cards.SetSupply(t.Context(), r.Desk, jobcard.SupplyInput{PartID: needed, Version: r.partOf(s, needed).Version, Supply: jobcard.Needed})
	r.OK(err)
	late := r.account(r.Supplier).Late
	if late.N != 1 || late.Came[0] != 2*time.Hour {
		t.Errorf("the record %+v", late)
	}
	_, err = r.stores.Arrive(t.Context(), r.Posy, stores.ArriveInput{Lines: []stores.CameLine{{LineID: o.Lines[0].ID, Version: 1, Qty: 1000}}})
	r.wrong(err, apperr.Conflict)
	again := r.order(r.Clock.Add(time.Hour), partLine(needed))
	if old := r.read(o.ID).Lines[1]; old.Closed != "cancelled" || !again.Lines[0].Open() {
		t.Errorf("the old line is %+v", old)
	}
}
