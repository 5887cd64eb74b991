package reckonerweb

import (
	"context"
	"fmt"
	"strings"

	"rampside/internal/length"
	"rampside/internal/wheel"
	"rampside/web/ui"
)

type inchLength = length.Micron

const inchUnit = length.Inch

func wheels(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("from", "On the car").Must().Max(120).Say("as cast into the wheel: 7Jx17 ET45 5x112 57.1; at least width and ET")},
			{In: f.Field("to", "Other wheel").Must().Max(120).Say("in any order: 17 5H PCD 112 8J ET35 C/B:66.6")},
			{In: f.Field("spacer", "Spacer, mm").IfKnown().Decimal().Say("under the other wheel")},
		}}}
	}
	v.Formulas = []string{
		"Inward: half the width plus the offset, less a spacer. Outward: half the width less the offset, plus a spacer.",
		"The width is that between the flanges, in inches of 25.4 mm; over all a wheel is about an inch wider.",
		"Seat diameter: 25.4 mm an inch less 0.8 up to 16 in, plus 4.8 from 17 in on; a J flange stands 17.5 mm above it.",
	}
	v.Sources = []string{"Geometry; the seats of ISO 4000-2 in a published series."}
	v.Limits = []string{
		"Room at strut, arm, hose and wing is measured on the car, springs pressed together and at full lock; the tyre's own width counts too.",
		"Stud pattern, bore and load rating have to be right as well. " + makersFirst, peopleFirst,
	}
	if !sent(f, "from", "to") {
		return nil
	}
	f.Required("from", "to")
	from, to := marking(f, "from"), marking(f, "to")
	spacer, _ := mm(f, "spacer", 0, 100*length.MM)
	if f.Err() != nil {
		return nil
	}
	was, now := wheel.Stance{Width: from.Width, Offset: from.Offset}, wheel.Stance{Width: to.Width, Offset: to.Offset, Spacer: spacer}
	m := now.Against(was)
	res := &result{Picture: wheelPicture(was, now)}
	res.Says = "The other wheel reaches " + reach(m.Inner, "inward") + " and " + reach(m.Outer, "outward") + "."
	res.Facts = []figure{
		{Name: "Read, on the car", Value: from.String()}, {Name: "Read, other", Value: to.String()},
		{"Inward", m.Inner.Signed() + " mm", []ui.Step{
			step("on the car", was.Back().String()), step("other", now.Back().String()), sum("further in", m.Inner.Signed()+" mm"),
		}},
		{"Outward", m.Outer.Signed() + " mm", []ui.Step{
			step("on the car", was.Front().String()), step("other", now.Front().String()), sum("further out", m.Outer.Signed()+" mm"),
		}},
		{"Track, both sides", m.Track.Signed() + " mm", []ui.Step{
			step("offset less spacer, on the car", from.Offset.String()), step("offset less spacer, other", (to.Offset - spacer).String()), sum("twice the difference", m.Track.Signed()+" mm"),
		}},
	}
	res.Tables = []table{{
		Caption: "The two wheels", Heads: []ui.Col{{Label: "Dimension"}, {Label: "On the car", Num: true}, {Label: "Other", Num: true}},
		Rows: [][]string{
			{"Inward, mm", was.Back().Text(), now.Back().Text()}, {"Outward, mm", was.Front().Text(), now.Front().Text()},
			{"Seat diameter, mm", seat(from), seat(to)}, {"Outer radius, mm", outer(from), outer(to)},
		},
	}}
	res.Notes = differences(from, to)
	v.Result = res
	return nil
}

// marking reads a wheel's marking that has at least width and offset.
func marking(f *ui.Form, name string) wheel.Marking {
	m := ui.Read(f, name, wheel.Parse)
	switch {
	case f.Problem(name) != "" || strings.TrimSpace(f.Get(name)) == "":
	case len(m.Left) > 0:
		f.Fail(name, "%.20q is not understood; leave it out, please. Read so far: %s", strings.Join(m.Left, " "), m)
	case m.Width == 0:
		f.Fail(name, "the width in inches is missing, such as 7J; read so far: %s", m)
	case !m.HasOffset:
		f.Fail(name, "the offset is missing, such as ET45; read so far: %s", m)
	}
	return m
}

func reach(l length.Micron, way string) string {
	switch {
	case l == 0:
		return "as far " + way
	case l < 0:
		return (-l).Text() + " mm less far " + way
	}
	return l.Text() + " mm further " + way
}

func seat(m wheel.Marking) string {
	if m.Diameter == 0 {
		return "not given"
	}
	return wheel.SeatDiameter(m.Diameter).Text()
}

func outer(m wheel.Marking) string {
	if m.Diameter == 0 {
		return "not given"
	}
	return wheel.OuterRadius(m.Diameter).Text()
}

// differences are what else of the two does not go together.
func differences(a, b wheel.Marking) []string {
	var t []string
	if a.Pattern.Given() && b.Pattern.Given() && a.Pattern != b.Pattern {
		t = append(t, fmt.Sprintf("The stud patterns differ: %s and %s. The other wheel does not go on.", a.Pattern, b.Pattern))
	}
	if a.Bore > 0 && b.Bore > 0 && b.Bore < a.Bore {
		t = append(t, fmt.Sprintf("The other wheel's bore of %s may be too small for the hub; the one on the car is %s.", b.Bore, a.Bore))
	}
	if a.Bore > 0 && b.Bore > a.Bore {
		t = append(t, fmt.Sprintf("The other wheel's bore is larger: it needs a spigot ring %s to %s mm, or fixings that centre it.", b.Bore.Text(), a.Bore.Text()))
	}
	if a.Diameter > 0 && b.Diameter > 0 && a.Diameter != b.Diameter {
		t = append(t, "The rims differ in diameter, so they take other tyres: see Tyre sizes.")
	}
	return t
}

func studCircle(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("holes", "Fixings").Must().Digits()},
			{In: f.Field("apart", "Between two next to each other, mm").Must().Decimal().Say("from middle to middle; or from the edge of one to the same edge of the next")},
		}}}
	}
	v.Formulas = []string{"Diameter of the circle: the distance over the sine of 180 degrees divided by the number of fixings."}
	v.Sources = []string{"Geometry; the list of circles that cars have is common practice, no published source."}
	v.Limits = []string{"Of five fixings an error of half a millimetre is 0.85 mm in the circle: 108 and 107.95, or 114.3 and 115, are told apart by the maker's data only.", peopleFirst}
	if !sent(f, "holes", "apart") {
		return nil
	}
	f.Required("holes", "apart")
	holes := f.Int("holes", 3, 12)
	apart, ok := mm(f, "apart", 20*length.MM, 250*length.MM)
	if !ok || f.Err() != nil {
		return nil
	}
	circle, err := wheel.CircleOf(holes, apart)
	if err != nil {
		f.Fail("apart", "%s", err)
		return nil
	}
	near := wheel.Nearest(circle)
	p := wheel.Pattern{Holes: holes, Circle: near}
	v.Result = &result{
		Says: fmt.Sprintf("The circle is %s mm across; the nearest that cars have is %s.", fixed(circle, 2), p),
		Facts: []figure{
			{"Circle", fixed(circle, 3) + " mm", []ui.Step{
				step("distance", apart.String()), step("times", fixed(circle/apart.MM(), 4)), sum("diameter", fixed(circle, 3)+" mm"),
			}},
			{Name: "Nearest", Value: p.String() + ", " + signed(circle-near.MM(), 2) + " mm off"},
			{Name: p.String() + " would be", Value: fixed(wheel.ApartOf(p), 2) + " mm apart"},
		},
	}
	return nil
}
