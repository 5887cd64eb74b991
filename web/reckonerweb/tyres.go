package reckonerweb

import (
	"context"
	"fmt"

	"rampside/internal/tyre"
	"rampside/internal/wheel"
	"rampside/web/ui"
)

func tyres(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("from", "On the car").Must().Max(80).Say("as on the side wall: 205/55 R16 91V, 195/70 R15C 104/102R, 31x10.50 R15LT")},
			{In: f.Field("to", "Other size").Max(80).IfKnown()},
			{In: f.Field("rim", "Rim width, in").IfKnown().Decimal().Say("the figure before J, to see whether the tyres go on it")},
			{In: f.Field("over", "Over-reads, %").IfKnown().Decimal().Say("the speedometer, now: shown less true at a steady 80 km/h, by satellite")},
		}}}
	}
	v.Formulas = []string{
		"Diameter, exact: 25.4 mm times the rim's inches, plus twice width times aspect ratio. In a catalogue, rim and side wall are rounded to whole millimetres first.",
		"Change of the speed: the new diameter over the old. A right speedometer shows at least the true speed, and at most a tenth and 4 km/h more.",
		"Rims: section width times a ratio of its aspect band, to the nearest half inch.",
	}
	v.Sources = []string{
		"UN R30, paragraphs 2.23, 6.1.1 and 6.1.2, for dimensions; paragraph 6.1.4, from memory, for what two makes may differ by.",
		"UN R39, paragraph 5.3, for the speedometer.",
		"Guide of ISO 4000-1 and ETRTO for rims, the ratios from memory, held against published tables.",
	}
	v.Limits = []string{
		"A size says what a tyre is to be: makes differ by a per cent or more, and wear takes another. Flotation sizes are made some 12 mm smaller than they are marked.",
		"The tyre maker's list of rims and the handbook's list of sizes come before these figures; insurer and type approval may want to be asked.",
		peopleFirst,
	}
	if !sent(f, "from", "to") {
		return nil
	}
	f.Required("from")
	from, ok := size(f, "from")
	to, both := size(f, "to")
	rim, hasRim := inch(f, "rim", 2*inchUnit, 16*inchUnit)
	over, hasOver := percent(f, "over", 0, 20)
	if !ok || f.Err() != nil {
		return nil
	}
	list := []tyre.Size{from}
	if both {
		list = append(list, to)
	}
	res := &result{Picture: tyrePicture(list), Tables: []table{sizeTable(list)}}
	for _, s := range list {
		res.Facts = append(res.Facts, figure{Name: s.Base(), Value: s.Words()})
		if s.Service.Given {
			res.Facts = append(res.Facts, figure{Name: s.Service.String(), Value: s.Service.Words()})
		}
		r := s.Rims()
		res.Facts = append(res.Facts, figure{Name: "Rims of " + s.Base(), Value: fmt.Sprintf("%s to %s in, measured on %s", wheel.InchText(r.Narrowest), wheel.InchText(r.Widest), wheel.InchText(r.Measuring))})
		if !s.AspectStated {
			res.Notes = append(res.Notes, fmt.Sprintf("%s states no aspect ratio: %d %% is taken, and the diameter may be off by %s %%.", s.Base(), s.Aspect, trim(100*s.Doubt(), 1)))
		}
	}
	if both {
		speedometer(res, tyre.Change{From: from, To: to}, over, hasOver)
	} else {
		res.Says = fmt.Sprintf("%s is %s mm over all and turns %s times in a kilometre.", from.Base(), from.Diameter().Text(), fixed(from.TurnsPerKM(), 1))
	}
	if hasRim {
		for _, s := range list {
			res.Facts = append(res.Facts, rimFigure(s, rim))
		}
	}
	v.Result = res
	return nil
}

func sizeTable(list []tyre.Size) table {
	t := table{Caption: "Dimensions", Heads: []ui.Col{{Label: "Dimension"}}}
	for _, s := range list {
		t.Heads = append(t.Heads, ui.Col{Label: s.Base(), Num: true})
	}
	rows := []struct {
		label  string
		of     func(s tyre.Size) float64
		places int
	}{
		{"Diameter, mm", func(s tyre.Size) float64 { return s.Diameter().MM() }, 2},
		{"In catalogues, mm", func(s tyre.Size) float64 { return float64(s.CatalogueDiameter()) }, 0},
		{"Width, mm", func(s tyre.Size) float64 { return s.Width.MM() }, 1},
		{"Side wall, mm", func(s tyre.Size) float64 { return s.SectionHeight().MM() }, 2},
		{"Round it, mm", tyre.Size.Circumference, 1},
		{"Turns a km", tyre.Size.TurnsPerKM, 1},
	}
	for _, r := range rows {
		row := []string{r.label}
		for _, s := range list {
			row = append(row, trim(r.of(s), r.places))
		}
		if len(list) == 2 {
			row = append(row, change(r.of(list[1])-r.of(list[0]), r.places))
		}
		t.Rows = append(t.Rows, row)
	}
	if len(list) == 2 {
		t.Heads = append(t.Heads, ui.Col{Label: "Change", Num: true})
	}
	return t
}

func rimFigure(s tyre.Size, rim inchLength) figure {
	r := s.Rims()
	words := map[tyre.RimAnswer]string{
		tyre.RimWithin: "within its usual range", tyre.RimAtEdge: "half an inch beyond its usual range: only the tyre maker's list tells", tyre.RimOutside: "outside its usual range",
	}[r.Take(rim)]
	return figure{
		Name: "On " + wheel.InchText(rim) + " in", Value: s.Base() + ": " + words + ", " + s.WidthOn(rim).Fixed(0) + " mm wide on it",
		Steps: []ui.Step{
			step("usual rims", wheel.InchText(r.Narrowest)+" to "+wheel.InchText(r.Widest)+" in"), step("nominal width", s.Width.String()),
			sum("width on this rim: nominal, and 0.4 of what the rim differs from the theoretical one", s.WidthOn(rim).String()),
		},
	}
}

// speedometer is what the change does to it, with the answer of UN R39.
func speedometer(res *result, c tyre.Change, over float64, known bool) {
	p := signed(c.Percent(), 2)
	res.Facts = append([]figure{
		{Name: "Change", Value: p + " %", Steps: []ui.Step{
			step("new diameter", c.To.Diameter().String()), step("old diameter", c.From.Diameter().String()), sum("new over old, less one", p+" %"),
		}},
		{Name: "Ride height", Value: change((c.To.Diameter()-c.From.Diameter()).MM()/2, 3) + " mm"},
	}, res.Facts...)
	t := table{Caption: "True speed at the same reading, km/h", Heads: []ui.Col{{Label: "With the old", Num: true}, {Label: "With the new", Num: true}, {Label: "May show", Num: true}}}
	for _, at := range []float64{30, 50, 80, 100, 110, 120} {
		low, high := tyre.SpeedometerRange(c.TrueSpeed(at))
		t.Rows = append(t.Rows, []string{trim(at, 0), fixed(c.TrueSpeed(at), 1), fixed(low, 1) + " to " + fixed(high, 1)})
	}
	res.Tables = append(res.Tables, t)
	switch answer := c.Speedometer(); {
	case answer == tyre.SpeedometerSame:
		least, most := c.From.MakeRange()
		res.Verdict = "fits"
		res.Says = fmt.Sprintf("%s %% in diameter: no more than another make of %s may be (%s to %s mm), so the speedometer stays as it is.", p, c.From.Base(), least.Fixed(1), most.Fixed(1))
	case answer == tyre.SpeedometerWrong:
		res.Verdict, res.Says = "does not fit", p+" % in diameter: the speedometer would be wrong whatever it shows now."
	case known && c.SpeedometerWith(over):
		res.Verdict, res.Says = "fits", fmt.Sprintf("%s %% in diameter: with a speedometer that over-reads by %s %% it stays right at 40, 80 and 120 km/h.", p, trim(over, 2))
	case known:
		res.Verdict, res.Says = "does not fit", fmt.Sprintf("%s %% in diameter: a speedometer that over-reads by %s %% would be wrong.", p, trim(over, 2))
	default:
		low, high := c.OverReading(tyre.TestSpeeds[len(tyre.TestSpeeds)-1])
		res.Verdict = "cannot tell"
		res.Says = fmt.Sprintf("%s %% in diameter: the speedometer stays right if it over-reads now by %s to %s %%.", p, trim(max(low, 0), 1), trim(high, 1))
		res.Measure = []string{"what the speedometer shows against satellite speed at a steady 80 km/h, with a second person reading"}
	}
}
