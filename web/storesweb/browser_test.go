package storesweb_test

import (
	"testing"
	"time"

	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/stores"
	"rampside/web/webtest"
)

// TestPartsGoThroughTheStores is a day of parts as a person has it: ordered for
// tomorrow, late, booked in by the number on the box, wrong and going back,
// credited with less than expected; and a part that the customer brings.
func TestPartsGoThroughTheStores(t *testing.T) {
	s := newSite(t)
	today := s.Book(cardtest.Op(s.Brakes), cardtest.Op(s.Service))
	s.part(today, 0, jobcard.PartTerms{Name: "Pad set", Number: "EM 12-34", SupplierID: s.Supplier, Cost: 26_50})
	housing := s.part(today, 1, jobcard.PartTerms{Name: "Thermostat housing", Number: "TH-1604", SupplierID: s.Supplier, Cost: 52_40})
	s.part(today, 1, jobcard.PartTerms{Name: "Wiper blades", Source: jobcard.FromCustomer})
	s.Agree(today.ID)
	booked, err := s.Cards.Book(t.Context(), s.Desk, jobcard.Booking{VehicleID: s.Car, Visit: jobcard.Visit{BookedFor: s.Day.AddDays(1)}, Lines: []jobcard.NewLine{cardtest.Op(s.Service)}})
	s.OK(err)
	s.part(s.Sheet(booked.CardID), 0, jobcard.PartTerms{Name: "Air filter", SupplierID: s.Supplier, Cost: 11_50})
	_, err = s.clocks.Wait(t.Context(), s.Posy, clocking.ReasonInput{LineID: today.Lines[0].ID, Reason: "the pads"})
	s.OK(err)
	s.order(s.Clock.Add(time.Hour), housing)
	oil, err := s.stores.SaveItem(t.Context(), s.Desk, stores.ItemInput{Name: "Engine oil", Number: "EM-0390", Unit: "litre", Least: 5000, Fill: 20_000, Cost: 4_10, Place: "bench, left"})
	s.OK(err)
	_, err = s.stores.Put(t.Context(), s.Desk, stores.LotInput{ItemID: oil.ItemID, Qty: 3000, Cost: 10_00, Note: "what was there"})
	s.OK(err)

	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	b.Size(1280, 900)

	// What tomorrow needs is ordered in one step.
	b.Go("/stores")
	b.See("For the cards in work, today's, and those of Tuesday 6 October 2026: 3 things to order.")
	b.See("The garage answers for its work, not for a part that the customer brought")
	b.Audit(24)
	b.Dump("stores-needs")
	b.In("How late they are").Fill("They say it is here by", "2026-10-05T16:00")
	b.Click("1 × Air filter")
	b.In("How late they are").Click("Order what is ticked")
	b.See("Order 502, Estuary Motor Factors")
	b.See("1 × Air filter")
	b.Dump("stores-order")

	// The other order's time has passed.
	s.Clock = s.Clock.Add(3 * time.Hour)
	b.Go("/stores/stuck")
	b.See("was due 10:00, 2.0 h ago")
	b.Dump("stores-stuck")
	b.Click("Ring them, and note what they say: 1 × Thermostat housing")
	b.Click("Another time for Thermostat housing")
	b.Fill("When do they say it comes now?", "2026-10-05T13:30")
	b.Click("Note it")
	b.See("first said for 10:00")

	// A number off the box, as a scanner types it.
	b.Go("/stores/arrivals")
	b.See("Order 501, Estuary Motor Factors")
	b.Audit(24)
	b.Dump("stores-arrivals")
	b.Type("em1234")
	b.Press("Enter")
	b.See("Ordered under em1234")
	b.Dump("stores-found")
	b.In("Ordered under em1234").Click("Book in Pad set")
	b.See("Booked in: 1 × Pad set, for card 1002, Front brake pads")
	if l := s.Sheet(today.ID).Lines[0]; l.WorkState != jobcard.Open {
		t.Errorf("the line that waited is %s", l.WorkState)
	}

	// The wrong one came.
	b.Click("Something is wrong with Thermostat housing")
	b.Click("It is the wrong part")
	b.Fill("By what", "three bolts, not four")
	b.Fill("The number it carries", "TH-1404")
	b.Dump("stores-wrong")
	b.Click("It goes back")
	b.See("wrong: three bolts, not four")
	b.Click("It has left: 1 × Thermostat housing")
	b.Fill("How did it leave?", "their driver")
	b.Click("It has left")
	b.See("Suppliers owe £52.40 for what has left.")
	b.Click("A credit came for 1 × Thermostat housing")
	b.Fill("Credit that came", "40")
	b.Click("Note the credit")
	b.See("Suppliers owe £12.40 for what has left.")
	b.Audit(24)
	b.Dump("stores-returns")
	b.Click("Nothing more comes for 1 × Thermostat housing")
	b.Fill("Why is nothing more to come?", "they keep a handling charge")
	b.Click("Settle it")
	b.See("£12.40 less than expected")
	b.Dump("stores-settled")
	if p, _ := s.Sheet(today.ID).Part(housing); p.Supply != jobcard.Ordered {
		t.Errorf("the right housing is %s", p.Supply)
	}

	for _, p := range []struct {
		path, name, see string
		audit           bool
	}{
		{"/stores/shelf", "stores-shelf", "Engine oil", false}, {"/stores/suppliers", "stores-suppliers", "too few to tell", true},
		{"/stores/shelf/1", "stores-item", "First in, first out", false}, {"/stores/shelf/1?do=count", "stores-count", "by the books there are 3", false},
		{"/stores/shelf?do=add", "stores-shelf-add", "Keep it on the shelf", false}, {"/stores?look=all", "stores-all", "Order what is ticked", false},
		{"/stores/returns?do=new", "stores-return-new", "Credit expected", false},
	} {
		b.Go(p.path)
		b.See(p.see)
		if p.audit {
			b.Audit(24)
		}
		b.Dump(p.name)
	}
	b.Go("/stores/orders/502")
	b.PrintPDF("stores-order-paper")

	// A technician sees no money, and books in.
	b.SetCookie("rampside", "technician")
	b.Go("/stores/arrivals")
	b.See("Thermostat housing")
	b.SeeNot("£")
	b.Go("/stores")
	b.SeeNot("£")
	b.SeeNot("Order what is ticked")
	b.Dump("stores-technician")
}
