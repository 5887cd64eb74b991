package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"
)

// soon is some hours from now, as a body has it.
func (s *site) soon(hours int) string {
	return s.Clock.Add(time.Duration(hours) * time.Hour).UTC().Format(time.RFC3339)
}

// stocked puts something of the stores into everything that an address can
// name there, with money in it, and gives the names for a filler.
func (s *site) stocked() []string {
	s.t.Helper()
	item := as[StoresChanged](s.post("desk", "/stores/shelf", obj{"name": "Clip", "number": "CL-1", "cost_minor": 2222, "fill_milli": 50_000}), 201)
	as[StoresChanged](s.post("desk", fmt.Sprintf("/stores/shelf/%d/lots", item.ItemID), obj{"qty_milli": 20_000, "cost_minor": 4321, "note": "what was there"}), 200)
	made := as[OrderMade](s.post("desk", "/stores/orders", obj{
		"supplier_id": s.Supplier, "due_at": s.soon(2), "lines": []obj{{"item_id": item.ItemID, "qty_milli": 40_000, "cost_minor": 3333, "surcharge_minor": 7777}},
	}), 201)
	o := as[Order](s.get("desk", fmt.Sprintf("/stores/orders/%d", made.OrderID)), 200)
	back := as[StoresChanged](s.post("desk", "/stores/returns", obj{
		"supplier_id": s.Supplier, "kind": "faulty", "name": "Pump", "qty_milli": 1000, "why": "it whines", "expected_minor": 4321,
	}), 201)
	return []string{
		"{item}", fmt.Sprint(item.ItemID), "{order}", fmt.Sprint(made.OrderID), "{orderline}", fmt.Sprint(o.Lines[0].ID), "{return}", fmt.Sprint(back.ReturnID),
	}
}

// storesWork goes through what the stores do.
func (s *site) storesWork() {
	t := s.t
	t.Helper()
	c := s.book()
	s.agree(c.ID)
	part := func(body obj) int64 {
		body["line_id"], body["qty_milli"] = c.Lines[0].ID, 2000
		return int64(as[Changed](s.post("desk", fmt.Sprintf("/cards/%d/parts", c.ID), body), 201).PartID)
	}
	disc, clip := part(obj{"name": "Disc", "number": "D-77 b", "supplier_id": s.Supplier, "cost_minor": 3400}), part(obj{"name": "Clip", "number": "CL 1"})

	item := as[StoresChanged](s.post("desk", "/stores/shelf", obj{"name": "Clip", "number": "CL-1", "cost_minor": 20, "least_milli": 30_000, "fill_milli": 50_000}), 201)
	at := fmt.Sprintf("/stores/shelf/%d", item.ItemID)
	as[StoresChanged](s.put("desk", at, obj{"name": "Clip, small", "number": "CL-1", "cost_minor": 21, "least_milli": 30_000, "version": 1}), 200)
	as[StoresChanged](s.post("desk", at+"/lots", obj{"qty_milli": 20_000, "cost_minor": 401, "note": "what was there"}), 200)
	as[StoresChanged](s.post("desk", at+"/counts", obj{"was_milli": 20_000, "counted_milli": 19_000, "reason": "lost"}), 200)
	needs := as[Needs](s.get("desk", "/stores/needs"), 200)
	if len(needs.Groups) == 0 || needs.Cover == "" || needs.Until.String() != "2026-10-06" {
		t.Errorf("needs %+v", needs)
	}
	as[StoresChanged](s.post("posy", at+"/use", obj{"part_id": clip}), 200)
	as[StoresChanged](s.post("posy", fmt.Sprintf("/parts/%d/put-back", clip), nil), 200)
	sheet := as[ShelfSheet](s.get("owner", at), 200)
	if sheet.Have != 19_000 || *sheet.Worth != 381 || len(sheet.Moves) != 4 || len(sheet.Counts) != 1 || len(sheet.Lots) != 1 {
		t.Errorf("the item %+v", sheet)
	}
	if all := as[Shelf](s.get("posy", "/stores/shelf"), 200); len(all.Items) != 1 || all.Items[0].Cost != nil {
		t.Errorf("the shelf %+v", all)
	}

	made := as[OrderMade](s.post("desk", "/stores/orders", obj{
		"supplier_id": s.Supplier, "due_at": s.soon(2), "how": "by e-mail",
		"lines": []obj{{"part_id": disc, "surcharge_minor": 4500, "back_by": "2026-10-20"}, {"item_id": item.ItemID, "qty_milli": 10_000}, {"part_id": clip}},
	}), 201)
	path := fmt.Sprintf("/stores/orders/%d", made.OrderID)
	o := as[Order](s.get("desk", path), 200)
	if len(o.Lines) != 3 || *o.Net != 2*3400+10*21+2*20 || *o.Surcharges != 9000 || !strings.Contains(o.Text, "2 x D-77 b  Disc") || strings.Contains(o.Text, "£") {
		t.Errorf("the order %+v", o)
	}
	if pdf := s.get("posy", path+"/pdf"); pdf.Status != 200 || !strings.HasPrefix(string(pdf.Raw), "%PDF-") {
		t.Errorf("the PDF: %d", pdf.Status)
	}
	line := func(i int) string { return fmt.Sprintf("/stores/order-lines/%d", o.Lines[i].ID) }
	as[StoresChanged](s.post("desk", line(0)+"/due", obj{"version": 1, "due_at": s.soon(3)}), 200)
	as[StoresChanged](s.post("desk", line(2)+"/close", obj{"version": 1, "note": "found one", "drop": true}), 200)
	as[StoresChanged](s.post("posy", line(0)+"/wrong", obj{"version": 2, "qty_milli": 2000, "kind": "wrong", "why": "vented, not solid"}), 200)
	if stuck := as[StuckLines](s.get("posy", "/stores/stuck"), 200); len(stuck.Lines) == 0 {
		t.Error("nothing is stuck")
	}
	found := as[Arrivals](s.get("posy", "/stores/arrivals?number=d77B"), 200)
	if len(found.Found) != 1 || found.Found[0].Version != 3 || found.Found[0].Cost != nil {
		t.Errorf("found %+v", found.Found)
	}
	body := obj{"lines": []obj{{"line_id": o.Lines[0].ID, "version": 3, "qty_milli": 2000}, {"line_id": o.Lines[1].ID, "version": 1, "qty_milli": 4000}}}
	got := as[BookedIn](s.post("posy", "/stores/arrivals", body), 200)
	if len(got.Lines) != 2 || !got.Lines[0].Whole || got.Lines[1].Whole {
		t.Errorf("booked in %+v", got)
	}
	again := s.post("bram", "/stores/arrivals", body).problem(http.StatusConflict, "stale")
	if now, ok := again.Current.(obj); !ok || now["arrived_at"] == nil {
		t.Errorf("the second is told %+v", again.Current)
	}

	back := as[Returns](s.get("desk", "/stores/returns"), 200)
	if len(back.Open) != 2 || back.Open[0].Kind != "exchange unit" && back.Open[1].Kind != "exchange unit" {
		t.Fatalf("going back %+v", back)
	}
	as[StoresChanged](s.post("desk", "/stores/returns", obj{"supplier_id": s.Supplier, "kind": "not needed", "name": "Oil", "qty_milli": 1000, "why": "one too many", "expected_minor": 390}), 201)
	back = as[Returns](s.get("desk", "/stores/returns"), 200)
	for i, r := range back.Open {
		at := fmt.Sprintf("/stores/returns/%d", r.ID)
		as[StoresChanged](s.post("posy", at+"/sent", obj{"version": 1, "how": "their driver"}), 200)
		if i == 0 {
			as[StoresChanged](s.post("desk", at+"/credits", obj{"version": 2, "amount_minor": 100, "ref": "CN 1"}), 200)
			as[StoresChanged](s.post("desk", at+"/settle", obj{"version": 3, "why": "a handling charge"}), 200)
		}
	}
	all := as[SupplierAccounts](s.get("owner", "/stores/suppliers"), 200)
	if *all.Owed == 0 || len(all.Suppliers) == 0 {
		t.Errorf("the suppliers %+v", all)
	}
	for _, a := range all.Suppliers {
		if int64(a.SupplierID) == int64(s.Supplier) && (a.Lateness.N != 1 || len(a.Lateness.Quantiles) != 0 || len(a.Lateness.Counts) != 6 || *a.Short == 0) {
			t.Errorf("the supplier %+v", a)
		}
	}
}

func TestTheStoresPointAtTheFieldThatIsWrong(t *testing.T) {
	s := newSite(t)
	for path, c := range map[string]struct {
		body    obj
		pointer string
	}{
		"/stores/orders":   {obj{"supplier_id": s.Supplier, "due_at": s.soon(2), "lines": []obj{{"part_id": 999_999}}}, "#/lines/0/part_id"},
		"/stores/arrivals": {obj{"lines": []obj{{"line_id": 1, "version": 1, "qty_milli": 0}}}, "#/lines/0/qty_milli"},
		"/stores/returns":  {obj{"supplier_id": s.Supplier, "kind": "faulty", "name": "Pump", "qty_milli": 1000, "why": "", "expected_minor": 0}, "#/why"},
		"/stores/shelf":    {obj{"name": "Clip", "least_milli": 5000, "fill_milli": 10}, "#/fill_milli"},
	} {
		p := s.post("desk", path, c.body).problem(http.StatusUnprocessableEntity, "invalid")
		if p.at(c.pointer) == "" {
			t.Errorf("%s: nothing at %s: %+v", path, c.pointer, p.Errors)
		}
	}
}
