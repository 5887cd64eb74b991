package reckonerweb

import (
	"context"
	"fmt"

	"rampside/internal/length"
	"rampside/internal/wheel"
	"rampside/web/ui"
)

func overBrake(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{
			{"Between barrel and caliper", []entry{
				{In: f.Field("barrel_radius_mm", "Barrel radius, mm").Decimal().Say("inner diameter of the rim where the caliper stands, halved")},
				{In: f.Field("rim_diameter_in", "Or rim, in").IfKnown().Decimal().Say("with the rim's inches alone the barrel is estimated, which tells only what cannot go")},
				{In: f.Field("caliper_radius_mm", "Caliper radius, mm").Must().Decimal().Say("its outermost point from the middle of the hub: straight edge over the caliper, and down")},
				{In: f.Field("weights_mm", "Weights, mm").IfKnown().Decimal().Say("how far balance weights stand off inside the barrel")},
				{In: f.Field("runout_mm", "Out of true, mm").IfKnown().Decimal().Say("of the rim: half of what a dial shows over a turn")},
			}},
			{"Between spokes and caliper", []entry{
				{In: f.Field("spoke_mm", "Spokes, mm").IfKnown().Decimal().Say("from the wheel's mounting face to their inner side, at the caliper's radius; outward above nought")},
				{In: f.Field("caliper_reach_mm", "Caliper reach, mm").IfKnown().Decimal().Say("from the hub's face to the caliper's outer side; outward above nought")},
				{In: f.Field("spacer_mm", "Spacer, mm").IfKnown().Decimal()},
			}},
			{"Counted against it", []entry{
				{In: f.Field("measured_to_mm", "Measured to, mm").Decimal().Of("0.5").Say("either way: half a millimetre for a rule in hand, 0.1 for a gauge")},
				{In: f.Field("need_mm", "Stays free, mm").Decimal().Of("3")},
			}},
		}
	}
	v.Formulas = []string{
		"Barrel: inner radius, less weights, less the caliper's radius. Spokes: from the mounting face, plus a spacer, less the caliper from the hub's face.",
		"Worst case: the sum of what the measurements may be off by. Likely: the root of the sum of their squares. The answer goes by the worst case.",
	}
	v.Sources = []string{"Geometry. The 3 mm that stay free, for dirt, heat and a bearing's play, and what a rule is off by are common practice, no published source."}
	v.Limits = []string{
		"The caliper's bolts, hose and the pads' wear sensor count as caliper; a new pad pushes the outer half out. Turn the wheel by hand once before it carries the car.",
		makersFirst, peopleFirst,
	}
	if !sent(f, "barrel_radius_mm", "caliper_radius_mm", "rim_diameter_in") {
		return nil
	}
	o, ok, estimated := readOver(f)
	if !ok || f.Err() != nil {
		return nil
	}
	v.Result = overResult(o, estimated)
	return nil
}

func readOver(f *ui.Form) (o wheel.Over, ok, estimated bool) {
	off, given := mm(f, "measured_to_mm", 0, 10*length.MM)
	if !given {
		off = wheel.MeasureOff
	}
	o.Need, given = mm(f, "need_mm", 0, 50*length.MM)
	if !given {
		o.Need = wheel.RunningGap
	}
	f.Required("caliper_radius_mm")
	barrel, hasBarrel := mm(f, "barrel_radius_mm", 80*length.MM, 400*length.MM)
	rim, hasRim := inch(f, "rim_diameter_in", 10*inchUnit, 30*inchUnit)
	caliper, hasCaliper := mm(f, "caliper_radius_mm", 50*length.MM, 400*length.MM)
	o.Barrel, o.CaliperRadius = wheel.Measured{Size: barrel, Off: off}, wheel.Measured{Size: caliper, Off: off}
	switch {
	case !hasBarrel && !hasRim && f.Problem("barrel_radius_mm") == "" && f.Problem("rim_diameter_in") == "":
		f.Fail("barrel_radius_mm", "the barrel's inner radius, please, or the rim's inches below")
	case !hasBarrel && hasRim:
		o.Barrel, estimated = wheel.Barrel(rim), true
	}
	o.Weights, _ = mm(f, "weights_mm", 0, 20*length.MM)
	o.Runout, _ = mm(f, "runout_mm", 0, 10*length.MM)
	o.Spacer, _ = mm(f, "spacer_mm", 0, 100*length.MM)
	spoke, hasSpoke := mm(f, "spoke_mm", -150*length.MM, 250*length.MM)
	reach, hasReach := mm(f, "caliper_reach_mm", -150*length.MM, 250*length.MM)
	if o.HasSpoke = hasSpoke && hasReach; o.HasSpoke {
		o.Spoke, o.CaliperReach = wheel.Measured{Size: spoke, Off: off}, wheel.Measured{Size: reach, Off: off}
	}
	if hasSpoke != hasReach && f.Problem("spoke_mm") == "" && f.Problem("caliper_reach_mm") == "" {
		missing := "spoke_mm"
		if hasSpoke {
			missing = "caliper_reach_mm"
		}
		f.Fail(missing, "the spokes and the caliper's reach are measured together, please, or both left out")
	}
	return o, hasCaliper && (hasBarrel || hasRim), estimated
}

func overResult(o wheel.Over, estimated bool) *result {
	answer := o.Answer()
	r := o.Radial()
	res := &result{Verdict: string(answer), Picture: overPicture(o), Measure: nil}
	res.Facts = append(res.Facts, roomFigures("At the barrel", r)...)
	narrow, where := r, "barrel"
	if o.HasSpoke {
		s := o.Spokes()
		res.Facts = append(res.Facts, roomFigures("At the spokes", s)...)
		if s.WorstMargin() < narrow.WorstMargin() {
			narrow, where = s, "spokes"
		}
	} else {
		res.Notes = append(res.Notes, "The spokes are not measured, so that it cannot be told whether they clear.")
	}
	switch {
	case answer == wheel.Clears:
		res.Says = fmt.Sprintf("It clears: %s of air at the %s, %s more than has to stay free even in the worst case.", narrow.Gap(), where, narrow.WorstMargin())
	case answer == wheel.Fouls && narrow.Gap() < 0:
		res.Says = fmt.Sprintf("It does not go over: %s too near at the %s.", -narrow.Gap(), where)
	case answer == wheel.Fouls:
		res.Says = fmt.Sprintf("Only %s of air at the %s, and %s have to stay free: %s short.", narrow.Gap(), where, narrow.Need, -narrow.Margin())
	case !o.HasSpoke && r.Answer() == wheel.Clears:
		res.Says = fmt.Sprintf("It clears at the barrel by %s; the spokes have to be measured.", r.Gap())
	case estimated:
		res.Says = fmt.Sprintf("The barrel is only estimated, at %s give or take %s: measure it.", o.Barrel.Size, o.Barrel.Off)
	default:
		res.Says = fmt.Sprintf("It is tight: %s of air at the %s, give or take %s, where %s stay free.", narrow.Gap(), where, narrow.Worst(), narrow.Need)
	}
	if answer == wheel.CannotTell {
		res.Measure = o.ToMeasure()
	}
	return res
}

func roomFigures(name string, r wheel.Room) []figure {
	var steps []ui.Step
	for _, l := range r.Stack {
		if l.Size == 0 && l.Off == 0 {
			continue
		}
		value := l.Size.Signed() + " mm"
		if l.Off != 0 {
			value += " ± " + l.Off.Text()
		}
		steps = append(steps, step(l.Name, value))
	}
	steps = append(steps, sum("air", r.Gap().String()), step("has to stay free", r.Need.String()), sum("margin", r.Margin().String()),
		step("off in the worst case", r.Worst().String()), step("off by chance", r.Likely().Fixed(2)+" mm"))
	return []figure{
		{name + ", air", r.Gap().String(), steps},
		{Name: name + ", margin", Value: fmt.Sprintf("%s; worst case %s, likely %s", r.Margin(), r.WorstMargin(), r.LikelyMargin().Fixed(2)+" mm")},
	}
}
