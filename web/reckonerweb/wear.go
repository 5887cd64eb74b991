package reckonerweb

import (
	"context"
	"fmt"
	"strconv"

	"rampside/internal/brake"
	"rampside/internal/length"
	"rampside/web/ui"
)

var wearParts = []ui.Option{{Value: "disc", Label: "Disc"}, {Value: "pad", Label: "Pad"}, {Value: "drum", Label: "Drum"}}

func brakeWear(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("part", "What wears").Of("disc"), Options: wearParts},
			{In: f.Field("now_mm", "Now, mm").Must().Decimal().Say("disc: inside the worn edge, the thinnest of some places; pad: the lining alone; drum: its inner diameter")},
			{In: f.Field("limit_mm", "Maker's limit, mm").Must().Decimal().Say("MIN TH on the disc, MAX DIA on the drum")},
			{In: f.Field("then_mm", "Before, mm").IfKnown().Decimal().Say("new, or when it was last measured")},
			{In: f.Field("distance", "Driven since").IfKnown().Digits()},
			{In: f.Field("unit", "Driven in").Of("miles"), Options: []ui.Option{{Value: "miles", Label: "miles"}, {Value: "km", Label: "km"}}},
			{In: f.Field("measured_to_mm", "Measured to, mm").Decimal().Of("0.05").Say("either way")},
		}}}
	}
	v.Formulas = []string{
		"Left: now less the limit (a drum: the limit less now). Rate: what has worn over the distance. Lasts: what is left times the distance over what has worn, rounded down.",
	}
	v.Sources = []string{
		"Common practice, no published source: wear goes on as it went.",
		"Pads below 1.5 mm of lining are dangerous, discs below their maker's least do not fail by that alone: MOT inspection manual for cars, 1.1.13 and 1.1.14.",
	}
	v.Limits = []string{
		"Inner and outer pads and faces wear differently: measure each and go by the worst. Rust, cracks, score marks and run-out end a disc before its limit does. Another driver or another load wears at another rate.",
		makersFirst, peopleFirst,
	}
	if !sent(f, "now_mm", "limit_mm") {
		v.First = 1
		return nil
	}
	f.Required("now_mm", "limit_mm")
	part := f.OneOf("part", "disc", "pad", "drum")
	unit := f.OneOf("unit", "miles", "km")
	if unit == "" {
		unit = "miles"
	}
	w := brake.Wear{Drum: part == "drum", Distance: int64(f.Int("distance", 0, brake.DistanceMost))}
	w.Now, _ = mm(f, "now_mm", 0, 600*length.MM)
	w.Limit, _ = mm(f, "limit_mm", 0, 600*length.MM)
	then, hasThen := mm(f, "then_mm", 0, 600*length.MM)
	w.Then = then
	off, given := mm(f, "measured_to_mm", 0, 5*length.MM)
	if !given {
		off = 50
	}
	if !hasThen && w.Distance > 0 && f.Problem("then_mm") == "" {
		f.Fail("then_mm", "for a rate both are needed: what it was, and how far it went since")
	}
	if f.Err() == nil {
		if err := w.Check(hasThen); err != nil {
			name := map[error]string{brake.ErrNowThicker: "now_mm", brake.ErrNowSmaller: "now_mm", brake.ErrLimit: "limit_mm", brake.ErrLimitDrum: "limit_mm"}[err]
			f.Fail(name, "%s", err)
		}
	}
	if f.Err() != nil {
		return nil
	}
	v.Result = wearResult(w, part, unit, off, hasThen)
	return nil
}

func wearResult(w brake.Wear, part, unit string, off length.Micron, hasThen bool) *result {
	left := w.Left()
	labels := []ui.Step{step("now", w.Now.String()), step("limit", w.Limit.String()), sum("left", left.String())}
	res := &result{Facts: []figure{{"Left until the limit", left.String(), labels}}}
	switch {
	case left < 0:
		res.Says = fmt.Sprintf("It is %s beyond its maker's limit.", -left)
	case left == 0:
		res.Says = "It is at its maker's limit."
	default:
		res.Says = fmt.Sprintf("%s are left until its maker's limit.", left)
	}
	if part == "pad" && w.Now < brake.PadDangerous {
		res.Notes = append(res.Notes, "Below 1.5 mm of lining the MOT inspection calls a pad dangerous: the car should not be driven.")
	}
	if !hasThen {
		return res
	}
	worn := w.Worn()
	res.Facts = append(res.Facts, figure{"Worn since then", worn.String(), []ui.Step{step("then", w.Then.String()), step("now", w.Now.String()), sum("worn", worn.String())}})
	if p, ok := w.WornPercent(); ok {
		res.Facts = append(res.Facts, figure{Name: "Of what may wear", Value: trim(p, 1) + " %"})
	}
	rate, ok := w.Rate()
	if !ok {
		return res
	}
	distance := strconv.FormatInt(w.Distance, 10) + " " + unit
	res.Facts = append(res.Facts, figure{"Rate", trim(rate, 4) + " mm in 1000 " + unit, []ui.Step{step("worn", worn.String()), step("in", distance), sum("in 1000 "+unit, trim(rate, 4)+" mm")}})
	lasts, ok := w.Lasts()
	if !ok {
		res.Notes = append(res.Notes, "Nothing has worn, so there is no rate to go by.")
		return res
	}
	res.Facts = append(res.Facts, figure{"Lasts", strconv.FormatInt(lasts, 10) + " " + unit, []ui.Step{
		step("left", left.String()), step("times", distance), step("over what has worn", worn.String()), sum("rounded down", strconv.FormatInt(lasts, 10)+" "+unit),
	}})
	if left > 0 {
		res.Says += fmt.Sprintf(" At the rate so far it reaches it in %d %s.", lasts, unit)
	}
	if near, far, known := w.Spread(off); known {
		res.Facts = append(res.Facts, figure{Name: "With what measuring is off by", Value: fmt.Sprintf("%d to %d %s", near, far, unit)})
	} else {
		res.Notes = append(res.Notes, "What has worn is within what measuring is off by, so that the rate says little.")
	}
	return res
}
