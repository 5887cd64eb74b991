package api

import (
	"rampside/internal/brake"
	"rampside/internal/length"
	"rampside/internal/wheel"
)

// OverBrake is a wheel over a brake.
type OverBrake struct {
	Answer    Fits       `json:"answer"`
	Barrel    Clearance  `json:"barrel"`
	Spokes    *Clearance `json:"spokes,omitempty" doc:"Left out where the spokes were not measured."`
	Estimated bool       `json:"barrel_estimated" doc:"The barrel's radius was only estimated from the rim's diameter."`
	Measure   []string   `json:"measure" doc:"What would settle it."`
	Basis     Basis      `json:"basis"`
}

// Clearance is the room in one direction.
type Clearance struct {
	Gap          MM     `json:"gap_mm" doc:"Air between the two, as measured."`
	Need         MM     `json:"need_mm" doc:"What has to stay free."`
	Margin       MM     `json:"margin_mm" doc:"Gap less need."`
	Worst        MM     `json:"worst_tolerance_mm" doc:"The sum of what the measurements may be off by."`
	WorstMargin  MM     `json:"worst_margin_mm"`
	Likely       MM     `json:"likely_tolerance_mm" doc:"The root of the sum of their squares."`
	LikelyMargin MM     `json:"likely_margin_mm"`
	Answer       Fits   `json:"answer"`
	Chain        []Link `json:"chain"`
}

// Link is one measurement of a chain.
type Link struct {
	Name string `json:"name"`
	Size MM     `json:"size_mm" doc:"With its sign."`
	Off  MM     `json:"tolerance_mm"`
}

func clearanceOf(r wheel.Room) Clearance {
	return Clearance{
		MM(r.Gap()), MM(r.Need), MM(r.Margin()), MM(r.Worst()), MM(r.WorstMargin()), MM(r.Likely()), MM(r.LikelyMargin()), Fits(r.Answer()),
		list(r.Stack, func(l wheel.Link) Link { return Link{l.Name, MM(l.Size), MM(l.Off)} }),
	}
}

// WearIs is how far worn a brake is.
type WearIs struct {
	Left    MM       `json:"left_mm" doc:"Until the limit; below nought, beyond it."`
	Worn    *MM      `json:"worn_mm,omitempty"`
	Percent *float64 `json:"worn_percent,omitempty" doc:"Of what may wear."`
	Rate    *float64 `json:"rate_mm_per_1000,omitempty"`
	Lasts   *int64   `json:"lasts,omitempty" doc:"In the unit of the distance, rounded down; left out without a rate."`
	Near    *int64   `json:"lasts_at_least,omitempty" doc:"With what measuring is off by."`
	Far     *int64   `json:"lasts_at_most,omitempty"`
	Danger  bool     `json:"mot_dangerous" doc:"A pad below 1.5 mm of lining. A disc below its maker's least is no category of the inspection."`
	Basis   Basis    `json:"basis"`
}

// WearKind is what wears.
type WearKind string

// OverQuery is what is measured of wheel and brake.
type OverQuery struct {
	asSent
	Barrel  float64 `query:"barrel_radius_mm" doc:"Inner radius of the rim where the caliper stands. Left out, it is estimated from rim_diameter_in."`
	Rim     float64 `query:"rim_diameter_in"`
	Caliper float64 `query:"caliper_radius_mm" required:"true" doc:"The caliper's outermost point from the middle of the hub."`
	Weights float64 `query:"weights_mm" doc:"How far balance weights stand off inside the barrel."`
	Runout  float64 `query:"runout_mm" doc:"Half of what a dial shows over a turn."`
	Spoke   float64 `query:"spoke_mm" doc:"Inner side of the spokes from the mounting face, outward above nought."`
	Reach   float64 `query:"caliper_reach_mm" doc:"Outer side of the caliper from the hub's face, outward above nought."`
	Spacer  float64 `query:"spacer_mm"`
	Off     float64 `query:"tolerance_mm" doc:"By how much each measurement may be off; 0.5 when left out."`
	BarrelT float64 `query:"barrel_tolerance_mm" doc:"That of the barrel alone."`
	CalipT  float64 `query:"caliper_tolerance_mm" doc:"That of the caliper's two measurements alone."`
	Need    float64 `query:"need_mm" doc:"What has to stay free; 3 when left out."`
}

func (in *OverQuery) over() (o wheel.Over, estimated bool, err error) {
	l := lengths{asSent: in.asSent}
	off := wheel.MeasureOff
	if in.has("tolerance_mm") {
		off = l.mm("tolerance_mm", in.Off, 0, 20)
	}
	barrelOff, caliperOff := off, off
	if in.has("barrel_tolerance_mm") {
		barrelOff = l.mm("barrel_tolerance_mm", in.BarrelT, 0, 20)
	}
	if in.has("caliper_tolerance_mm") {
		caliperOff = l.mm("caliper_tolerance_mm", in.CalipT, 0, 20)
	}
	o.Need = wheel.RunningGap
	if in.has("need_mm") {
		o.Need = l.mm("need_mm", in.Need, 0, 50)
	}
	o.Barrel = wheel.Measured{Size: l.mm("barrel_radius_mm", in.Barrel, 80, 400), Off: barrelOff}
	if rim := l.in("rim_diameter_in", in.Rim, 10, 30); !in.has("barrel_radius_mm") && rim > 0 {
		o.Barrel, estimated = wheel.Barrel(rim), true
	}
	o.CaliperRadius = wheel.Measured{Size: l.mm("caliper_radius_mm", in.Caliper, 50, 400), Off: caliperOff}
	o.Weights, o.Runout, o.Spacer = l.mm("weights_mm", in.Weights, 0, 20), l.mm("runout_mm", in.Runout, 0, 10), l.mm("spacer_mm", in.Spacer, 0, 100)
	if o.HasSpoke = in.has("spoke_mm") && in.has("caliper_reach_mm"); o.HasSpoke {
		o.Spoke = wheel.Measured{Size: l.mm("spoke_mm", in.Spoke, -150, 250), Off: off}
		o.CaliperReach = wheel.Measured{Size: l.mm("caliper_reach_mm", in.Reach, -150, 250), Off: caliperOff}
	}
	switch {
	case l.err != nil:
	case o.Barrel.Size == 0:
		l.err = parameterError("barrel_radius_mm", missing)
	case in.has("spoke_mm") != in.has("caliper_reach_mm"):
		l.err = parameterError("spoke_mm", "spoke_mm and caliper_reach_mm come together, please, or not at all")
	default:
		l.err = in.need("caliper_radius_mm")
	}
	return o, estimated, l.err
}

func (a *API) brakeCalculators() {
	calculator(a, "wheel-over-brake", "calculate-wheel-over-brake", "The room of a wheel over a brake", "With the tolerance of the measurements, in the worst case and by chance.", func(in *OverQuery) (OverBrake, error) {
		o, estimated, err := in.over()
		if err != nil {
			return OverBrake{}, err
		}
		out := OverBrake{Answer: Fits(o.Answer()), Barrel: clearanceOf(o.Radial()), Estimated: estimated, Measure: list(o.ToMeasure(), same), Basis: Basis{
			"barrel: inner radius less weights less the caliper's radius; spokes: from the mounting face plus a spacer less the caliper from the hub's face; it fits when it does in the worst case",
			"geometry; 3 mm free and half a millimetre for a rule are common practice, no published source", "Bolts, hose and wear sensor count as caliper. Turn the wheel by hand before it carries the car.",
		}}
		if o.HasSpoke {
			out.Spokes = ptr(clearanceOf(o.Spokes()))
		}
		return out, nil
	})
	calculator(a, "brake-wear", "calculate-brake-wear", "What is left of a disc, pad or drum, and how far it lasts", "", func(in *struct {
		asSent
		Kind     WearKind `query:"kind" required:"true"`
		Now      float64  `query:"now_mm" required:"true" doc:"Thickness now; of a drum its inner diameter."`
		Limit    float64  `query:"limit_mm" required:"true" doc:"The maker's least; of a drum the greatest."`
		Then     float64  `query:"then_mm" doc:"New, or when last measured."`
		Distance int64    `query:"distance" minimum:"0" maximum:"2000000" doc:"Driven since then, in miles or kilometres; the answer is in the same."`
		Off      float64  `query:"tolerance_mm" doc:"By how much each thickness may be off; 0.05 when left out."`
	}) (WearIs, error) {
		l := lengths{asSent: in.asSent}
		w := brake.Wear{Drum: in.Kind == "drum", Distance: in.Distance, Now: l.mm("now_mm", in.Now, 0, 600), Limit: l.mm("limit_mm", in.Limit, 0, 600), Then: l.mm("then_mm", in.Then, 0, 600)}
		off := l.mm("tolerance_mm", in.Off, 0, 5)
		if !in.has("tolerance_mm") {
			off = 50
		}
		if l.err == nil {
			l.err = in.need("now_mm", "limit_mm")
		}
		if l.err == nil && in.Distance > 0 {
			l.err = in.need("then_mm")
		}
		if l.err != nil {
			return WearIs{}, l.err
		}
		if err := w.Check(in.has("then_mm")); err != nil {
			return WearIs{}, parameterError("now_mm", err.Error())
		}
		return wearIs(w, in.Kind, off, in.has("then_mm")), nil
	})
}

func wearIs(w brake.Wear, kind WearKind, off length.Micron, then bool) WearIs {
	out := WearIs{Left: MM(w.Left()), Danger: kind == "pad" && w.Now < brake.PadDangerous, Basis: Basis{
		"left: now less the limit; rate: what has worn over the distance; lasts: what is left times the distance over what has worn",
		"common practice, no published source; pads below 1.5 mm: MOT inspection manual for cars, 1.1.13", "Measure every face and go by the worst; rust, cracks and run-out end a disc before its limit.",
	}}
	if !then {
		return out
	}
	out.Worn = ptr(MM(w.Worn()))
	if p, ok := w.WornPercent(); ok {
		out.Percent = &p
	}
	if r, ok := w.Rate(); ok {
		out.Rate = &r
	}
	if d, ok := w.Lasts(); ok {
		out.Lasts = &d
	}
	if near, far, ok := w.Spread(off); ok {
		out.Near, out.Far = &near, &far
	}
	return out
}
