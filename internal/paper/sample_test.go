package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"testing"
	"time"
)

var when = time.Date(2026, 10, 6, 15, 4, 5, 0, time.UTC)

func top() Top {
	return Top{
		At:   when,
		From: Party{Name: "Saltmarsh Lane Garage", Address: "3 Saltmarsh Lane\nSedgeholm", Phone: "01632 960400", Email: "desk@saltmarsh.example", VATNumber: "GB 350 9836 37"},
		To:   Party{Name: "Łukasz Öztürk-Ştefănescu", Address: "2 Οδός Quay\nNorthhaven", Phone: "07700 900123"},
		Facts: []Fact{
			{"Car", "Brisling Tern, BD51 SMR"}, {"Mileage", "48,210 miles"}, {"Card", "1002"}, {"Not there", ""},
		},
		Link: "https://garage.example/your-car/abcdefghijklmnopqrstuv", LinkSays: "See it and answer on your telephone",
	}
}

// many gives n rows with what they come to so far.
func many(n int) []Row {
	rows := make([]Row, n)
	sum := 0
	for i := range rows {
		sum += 1050 + i
		rows[i] = Row{
			What: fmt.Sprintf("Job number %d on the front axle", i+1), Number: fmt.Sprintf("EM-%04d/A", i+1), Qty: []string{"2", "1.6 h", "0.25", "12.5 l"}[i%4],
			Each: "£10.50", Tax: "20%", Net: pounds(1050 + i), Running: pounds(sum),
		}
	}
	return rows
}

func pounds(p int) string {
	whole, tail := fmt.Sprint(p/100), fmt.Sprintf(".%02d", p%100)
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	return "£" + whole + tail
}

func aQuote() Quote {
	return Quote{
		Top: top(), Kind: "Quote", Number: "1002/2", Opening: []string{"Valid until 20 October 2026. VAT is on top of the prices in the list."},
		Rows: []Row{
			{What: "Brakes", Heading: true},
			{What: "Front pads and discs, new", Qty: "1.6 h", Each: "£60.00", Tax: "20%", Net: "£96.00", Mark: "agreed"},
			{What: "Pad set, front", Number: "EM-1234", Qty: "1", Each: "£1,026.50", Tax: "20%", Net: "£1,026.50", Mark: "agreed", Details: []string{"with the old set in exchange"}},
			{What: "MOT test", Qty: "1", Each: "£54.85", Tax: "none", Net: "£54.85", Mark: "declined"},
		},
		Taxes:  []Tax{{"standard, 20%", "£1,122.50", "£224.50"}, {"outside VAT", "£54.85", "£0.00"}},
		Totals: []Amount{{"Without VAT", "£1,177.35", false}, {"VAT", "£224.50", false}, {"To pay", "£1,401.85", true}},
		Notes:  []string{"A yes to a line is a yes to its price here and to no more."}, Sign: true,
	}
}

func aBill(n int) Bill {
	return Bill{
		Top: top(), Kind: "VAT invoice", Number: "B-000123", Corrects: "For bill B-000100 of 1 October 2026: pads returned", Rows: many(n),
		Taxes:  []Tax{{"standard, 20%", "£2,299.00", "£459.80"}},
		Totals: []Amount{{"Without VAT", "£2,299.00", false}, {"VAT", "£459.80", false}, {"Total", "£2,758.80", true}},
		Paid:   []Amount{{"Paid by card on 6 October 2026", "−£758.80", false}, {"Still to pay", "£2,000.00", true}},
		Pay:    []string{"By transfer to 00-00-00 12345678, with B-000123 as the reference."}, EInvoice: "This bill also goes out electronically, as EN 16931 in UBL 2.1.",
		Notes: []string{"Thank you."},
	}
}

func aStatement() Statement {
	return Statement{
		Top: top(), Period: "1 to 31 October 2026",
		Moves:  []Move{{"1 October 2026", "B-000100", "Bill", "£120.00", "", "£120.00"}, {"6 October 2026", "", "Paid by card", "", "£20.00", "£100.00"}},
		Totals: []Amount{{"Owed on 31 October 2026", "£100.00", true}},
		Ages:   []Amount{{"up to 30 days", "£0.00", false}, {"31 to 60 days", "£100.00", false}}, Pay: []string{"By transfer."}, Notes: []string{"Questions? Ring us."},
	}
}

func picture(t *testing.T, w, h int) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for x := range w {
		for y := range h {
			m.Set(x, y, color.RGBA{uint8(x * 255 / w), uint8(y * 255 / h), 120, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func aHandover(t *testing.T) Handover {
	return Handover{
		Top: top(), Number: "1002",
		Unsafe: []Unsafe{{"Dangerous", "Brake hose, front left, bulges when the pedal is pressed", "2.5 mm swelling", "none", "Declined by Łukasz on Tuesday 6 October 2026, 14:20, by phone"}},
		Done: []Work{
			{Title: "Front pads and discs", Checks: []string{"Checked by Bram, wheels at 110 Nm"}, Parts: []string{"1 × Pad set, front (EM-1234)", "2 × Disc (EM-1235)"}},
			{Title: "Oil and filter"},
		},
		NotDone:  []Work{{Title: "Brake hose, front left", Why: "Declined by Łukasz"}, {Title: "Thermostat housing", Why: "Waiting on parts: to be here on Thursday"}},
		Found:    []Finding{{"Dangerous", "Brake hose, front left", "2.5 mm swelling", "none", "declined"}, {"Advisory", "Tyre, rear right", "2.8 mm", "1.6 mm", "noted"}},
		Returned: []string{"Front pads", "Front discs"}, Next: []Fact{{"Oil and filter", "by 6 October 2027 or 58,210 miles"}},
		Photos: []Photo{{picture(t, 120, 90), "Hose under pressure"}, {picture(t, 90, 160), "The old pad"}, {picture(t, 120, 90), ""}, {picture(t, 64, 64), "Disc"}},
		Notes:  []string{"Keys and the locking-nut key were given back."},
		Acknowledged: &Acknowledgement{
			Words: "I have been told what is written above and that the car is dangerous to drive.", Name: "Łukasz Öztürk", When: "Tuesday 6 October 2026, 16:40", How: "in person",
			Drawn: &Drawing{300, 100, [][]Point{{{10, 80}, {60, 10}, {90, 80}, {160, 20}, {280, 60}}}},
		},
	}
}

func aJobCard() JobCard {
	c := JobCard{
		Top: top(), Number: "1002", Promise: "Tuesday 6 October 2026, 16:30", Words: "Squeals when braking; please look at the heating too.",
		Cautions: []Caution{{"Lifting", "Support the car on stands before going under it.", "HSE, INDG 261"}}, Decides: "Local codes and the trained person decide.",
		CarFacts: []Fact{{"Engine code", "QX-18"}, {"Brake disc, front", "280 mm"}},
		Parts:    []JobPart{{"1", "Wiper blades", "W-22", "arrived", "fits"}},
	}
	for i := range 14 {
		c.Lines = append(c.Lines, JobLine{
			Title: fmt.Sprintf("Work %d: front pads and discs", i+1), Hours: "1.6 h", State: "open", Who: "for Bram", After: "after “Oil and filter”", Note: "Mind the sensor.", Ticked: i == 1,
			Second: i%3 == 0, Torque: i == 0, Cautions: []string{"Lifting"}, Parts: []JobPart{{"2", "Disc", "EM-1235", "arrived", "fits"}},
		})
	}
	return c
}

func anOrder() Order {
	return Order{Top: top(), Number: "501", Lines: []OrderLine{{"20", "EM-0390", "Engine oil", "", ""}, {"2.5", "EM-1", "Hose", "Tue 6 Oct 15:00", "1002"}}, Note: "Please ring.\nThe gate is on the latch."}
}
