package stores_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rampside/internal/garage"
	"rampside/internal/stores"
)

func anOrder() (stores.Order, garage.Settings) {
	due := time.Date(2026, 10, 6, 9, 0, 0, 0, time.UTC)
	o := stores.Order{
		ID: 501, SupplierName: "Estuary Motor Factors", How: "by e-mail", Ref: "WR/17", Note: "Please ring when the van leaves.\nThe gate is on the latch.",
		DueAt: due, OrderedAt: due.Add(-20 * time.Hour),
		Lines: []stores.Line{
			{CardID: 1002, Mark: "BD51 SMR", Car: "Brisling Tern", Name: "Pad set, front — № 4 Ω", Number: "EM-1234", Qty: 1000, DueAt: due, Cost: 26_50},
			{CardID: 1002, Mark: "BD51 SMR", Car: "Brisling Tern", Name: "Thermostat housing", Qty: 1000, DueAt: due.Add(4 * time.Hour)},
			{ItemID: 3, Name: "Engine oil", Number: "EM-0390", Qty: 20_000, DueAt: due},
			{ItemID: 4, Name: "Caliper", Number: "C-1", Qty: 1000, DueAt: due, Surcharge: 45_00},
			{ItemID: 5, Name: "Wrong one", Number: "X-1", Qty: 1000, DueAt: due, Closed: "cancelled"},
		},
	}
	return o, garage.Settings{Name: "Saltmarsh Lane Garage", Address: "3 Saltmarsh Lane\nSedgeholm", Phone: "01632 960400", ZoneName: "Europe/London"}
}

func TestAnOrderReadsAsItIsSaidOnTheTelephone(t *testing.T) {
	o, set := anOrder()
	want := `Order 501
From: Saltmarsh Lane Garage
Telephone: 01632 960400
To: Estuary Motor Factors
Your reference: WR/17

1 x EM-1234  Pad set, front — № 4 Ω (our card 1002)
1 x Thermostat housing, for Brisling Tern BD51 SMR (our card 1002), to be here Tuesday 6 October 2026, 14:00
20 x EM-0390  Engine oil
1 x C-1  Caliper, exchange

To be here: Tuesday 6 October 2026, 10:00

Please ring when the van leaves.
The gate is on the latch.
`
	if got := o.Text(set); got != want {
		t.Errorf("the order reads\n%s\nwant\n%s", got, want)
	}
}

func TestAnOrderOnPaperIsTheSameEachTimeAndHoldsItsFonts(t *testing.T) {
	o, set := anOrder()
	for i := range 60 {
		l := o.Lines[0]
		l.Name = strings.Repeat("long name ", 1+i%12)
		o.Lines = append(o.Lines, l)
	}
	o.Lines[2].Name = "Oil 🚗 Łódź"
	a, err := o.PDF(set)
	if err != nil {
		t.Fatal(err)
	}
	b, err := o.PDF(set)
	if err != nil || !bytes.Equal(a, b) {
		t.Errorf("the second print differs, %v", err)
	}
	if !bytes.HasPrefix(a, []byte("%PDF-")) || !bytes.Contains(a, []byte("/FontFile2")) || !bytes.Contains(a, []byte("595.28 841.89")) {
		t.Errorf("no A4 sheet with its fonts: %.200q", a)
	}
	if n := bytes.Count(a, []byte("/Type /Page\n")); n < 2 || n > 6 {
		t.Errorf("64 lines are on %d sheets", n)
	}
	if dir := os.Getenv("RAMPSIDE_SHOTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "order.pdf"), a, 0o600); err != nil {
			t.Error(err)
		}
	}
}
