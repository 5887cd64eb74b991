package api

import (
	"rampside/internal/tyre"
)

// TyreFigures are a tyre's dimensions by its size.
type TyreFigures struct {
	Size          string     `json:"size" doc:"As it is kept: 205/55 R16 91V."`
	Form          tyre.Form  `json:"form"`
	Structure     string     `json:"structure"`
	ZR            bool       `json:"zr"`
	Extra         bool       `json:"extra_load"`
	Commercial    bool       `json:"commercial" doc:"For vans and trucks, UN R54 rather than R30."`
	Marks         []string   `json:"marks"`
	Width         MM         `json:"width_mm"`
	Aspect        int        `json:"aspect_ratio"`
	Stated        bool       `json:"aspect_ratio_stated" doc:"False where the side wall has none and it was assumed."`
	Doubt         float64    `json:"doubt_percent" doc:"By how much the diameter may be off where the aspect ratio was assumed."`
	RimCode       string     `json:"rim_code"`
	Rim           MM         `json:"rim_diameter_mm"`
	Height        MM         `json:"section_height_mm"`
	CatHeight     int64      `json:"catalogue_section_height_mm"`
	Diameter      MM         `json:"diameter_mm" doc:"Exact."`
	CatRim        int64      `json:"catalogue_rim_mm"`
	CatDiameter   int64      `json:"catalogue_diameter_mm" doc:"As makers' tables print it: UN R30, paragraph 6.1.2."`
	Least         MM         `json:"least_made_mm" doc:"How small a tyre of this size may be made."`
	Most          MM         `json:"most_made_mm"`
	Round         float64    `json:"circumference_mm" doc:"Of the exact diameter, unloaded."`
	Turns         float64    `json:"turns_per_km"`
	Rims          RimRange   `json:"rims"`
	OnRim         *OnRim     `json:"on_rim,omitempty" doc:"On the rim that was asked about."`
	Service       *ServiceIs `json:"service,omitempty"`
	SecondService *ServiceIs `json:"second_service,omitempty"`
	Basis         Basis      `json:"basis"`
}

// RimRange is the rims that a tyre usually takes.
type RimRange struct {
	Narrowest Inches `json:"narrowest_in"`
	Measuring Inches `json:"measuring_in"`
	Widest    Inches `json:"widest_in"`
}

// RimStanding is how a rim stands to the usual range.
type RimStanding string

// rimStandings are the words, by the answer.
var rimStandings = []RimStanding{"within", "half an inch beyond", "outside"}

// OnRim is a tyre on one rim.
type OnRim struct {
	Width    Inches      `json:"rim_width_in"`
	Standing RimStanding `json:"standing" doc:"Half an inch beyond the computed range, only the tyre maker's list tells."`
	Section  MM          `json:"section_width_mm"`
}

// ServiceIs is what a service description means.
type ServiceIs struct {
	Text      string   `json:"text"`
	Index     int      `json:"load_index"`
	Load      float64  `json:"load_kg" doc:"Of one tyre."`
	Axle      float64  `json:"axle_load_kg" doc:"Of two."`
	DualIndex *int     `json:"dual_load_index,omitempty"`
	Dual      *float64 `json:"dual_load_kg,omitempty" doc:"Of one of twin wheels."`
	DualAxle  *float64 `json:"dual_axle_load_kg,omitempty" doc:"Of four."`
	Symbol    string   `json:"speed_symbol,omitempty"`
	Speed     int      `json:"speed_kmh,omitempty"`
	Above     bool     `json:"above,omitempty" doc:"In brackets: more than that speed, as its maker says."`
}

func serviceIs(s tyre.Service) *ServiceIs {
	if !s.Given {
		return nil
	}
	l, _ := tyre.LoadOf(s.Single)
	out := &ServiceIs{Text: s.String(), Index: s.Single, Load: l.KG(), Axle: 2 * l.KG(), Symbol: s.Speed, Above: s.Above}
	if s.Dual >= 0 {
		d, _ := tyre.LoadOf(s.Dual)
		out.DualIndex, out.Dual, out.DualAxle = &s.Dual, ptr(d.KG()), ptr(4*d.KG())
	}
	out.Speed, _ = tyre.SpeedOf(s.Speed)
	return out
}

const tyreLimits = "A size says what a tyre is to be: makes differ, and wear takes more. The maker's data come first."

func tyreFigures(s tyre.Size) TyreFigures {
	least, most := s.MakeRange()
	r := s.Rims()
	marks := s.Marks
	if marks == nil {
		marks = []string{}
	}
	return TyreFigures{
		Size: s.String(), Form: s.Form, Structure: string(s.Structure), ZR: s.ZR, Extra: s.Extra(), Commercial: s.Commercial(), Marks: marks,
		Width: MM(s.Width), Aspect: s.Aspect, Stated: s.AspectStated, Doubt: 100 * s.Doubt(), RimCode: s.RimCode, Rim: MM(s.Rim),
		Height: MM(s.SectionHeight()), CatHeight: s.CatalogueHeight(), Diameter: MM(s.Diameter()), CatRim: s.CatalogueRim(), CatDiameter: s.CatalogueDiameter(),
		Least: MM(least), Most: MM(most), Round: s.Circumference(), Turns: s.TurnsPerKM(),
		Rims: RimRange{Inches(r.Narrowest), Inches(r.Measuring), Inches(r.Widest)}, Service: serviceIs(s.Service), SecondService: serviceIs(s.Second),
		Basis: Basis{"25.4 mm for each inch of the rim, plus twice width times aspect ratio; in a catalogue each is rounded to whole millimetres first",
			"UN R30, paragraphs 2.23, 6.1.1 and 6.1.2; rims by the guide of ISO 4000-1 and ETRTO, the ratios from memory", tyreLimits},
	}
}

// sizeAt reads a tyre size out of a parameter.
func sizeAt(name, text string) (tyre.Size, error) {
	s, err := tyre.Parse(text)
	if err != nil {
		return s, parameterError(name, err.Error())
	}
	return s, nil
}

// TyreChange is what another size does.
type TyreChange struct {
	From    TyreFigures  `json:"from"`
	To      TyreFigures  `json:"to"`
	Percent float64      `json:"change_percent" doc:"Of diameter, circumference and the distance a turn goes."`
	Change  MM           `json:"diameter_change_mm"`
	Ride    MM           `json:"ride_height_change_mm"`
	Speeds  []SpeedAfter `json:"speeds"`
	Answer  Fits         `json:"speedometer" doc:"Whether the speedometer stays right by UN R39."`
	Least   float64      `json:"least_over_reading_percent" doc:"How much it has to over-read now to be right with the new tyres, at 40, 80 and 120 km/h."`
	Most    float64      `json:"most_over_reading_percent"`
	Basis   Basis        `json:"basis"`
}

// SpeedAfter is one reading with the old tyres and with the new.
type SpeedAfter struct {
	Before float64 `json:"true_before_kmh"`
	After  float64 `json:"true_after_kmh" doc:"True speed with the new tyres at the same reading."`
}

// Fits is whether something fits, in the words of the fit.
type Fits string

func speedometerAnswer(c tyre.Change, over *float64) Fits {
	switch answer := c.Speedometer(); {
	case answer == tyre.SpeedometerSame:
		return "fits"
	case answer == tyre.SpeedometerWrong:
		return "does not fit"
	case over == nil:
		return "cannot tell"
	case c.SpeedometerWith(*over):
		return "fits"
	}
	return "does not fit"
}

func tyreChange(c tyre.Change, over *float64) TyreChange {
	d := c.To.Diameter() - c.From.Diameter()
	out := TyreChange{
		From: tyreFigures(c.From), To: tyreFigures(c.To), Percent: c.Percent(), Change: MM(d), Ride: MM(d / 2), Answer: speedometerAnswer(c, over),
		Basis: Basis{"new exact diameter over old; shown less true speed is at least nought and at most a tenth of the true one and 4 km/h",
			"UN R39, paragraph 5.3; what two makes of a size may differ by: UN R30, paragraph 6.1.4, from memory", tyreLimits},
	}
	for i, v := range tyre.TestSpeeds {
		low, high := c.OverReading(v)
		if i == 0 {
			out.Least, out.Most = low, high
		}
		out.Least, out.Most = max(out.Least, low, 0), min(out.Most, high)
	}
	for _, v := range []float64{30, 50, 80, 100, 110, 120} {
		out.Speeds = append(out.Speeds, SpeedAfter{v, c.TrueSpeed(v)})
	}
	return out
}

func (a *API) tyreCalculators() {
	calculator(a, "tyre", "calculate-tyre", "A tyre's dimensions by its size", "Exact and as a catalogue has them, with the rims it takes.", func(in *struct {
		asSent
		Size string  `query:"size" required:"true" maxLength:"80" doc:"As on the side wall: 205/55 R16 91V, 195/70 R15C 104/102R, 31x10.50 R15LT, 5.60-15."`
		Rim  float64 `query:"rim_width_in" doc:"A rim, to see how the tyre stands on it."`
	}) (TyreFigures, error) {
		s, err := sizeAt("size", in.Size)
		if err != nil {
			return TyreFigures{}, err
		}
		out, l := tyreFigures(s), lengths{asSent: in.asSent}
		if rim := l.in("rim_width_in", in.Rim, 2, 16); rim > 0 {
			out.OnRim = &OnRim{Inches(rim), rimStandings[s.Rims().Take(rim)], MM(s.WidthOn(rim))}
		}
		return out, l.err
	})
	calculator(a, "tyre-change", "calculate-tyre-change", "What another tyre size does", "To diameter, ride height and speedometer.", func(in *struct {
		asSent
		From string  `query:"from" required:"true" maxLength:"80" doc:"The size on the car."`
		To   string  `query:"to" required:"true" maxLength:"80"`
		Over float64 `query:"over_reading_percent" doc:"By how much the speedometer over-reads with the old tyres."`
	}) (TyreChange, error) {
		from, err := sizeAt("from", in.From)
		if err != nil {
			return TyreChange{}, err
		}
		to, err := sizeAt("to", in.To)
		if err != nil {
			return TyreChange{}, err
		}
		var over *float64
		if in.has("over_reading_percent") {
			v, err := figure("over_reading_percent", in.Over, 0, 30)
			if err != nil {
				return TyreChange{}, err
			}
			over = &v
		}
		return tyreChange(tyre.Change{From: from, To: to}, over), nil
	})
	a.serviceCalculators()
	calculator(a, "tread", "calculate-tread", "Tread and cuts by law", "", func(in *struct {
		asSent
		Depth float64 `query:"depth_mm" required:"true"`
		Heavy bool    `query:"heavy_or_motorcycle" doc:"More than 3500 kg, or a motor cycle."`
		Width float64 `query:"width_mm" doc:"Section width, for the longest cut."`
	}) (TreadIs, error) {
		l := lengths{asSent: in.asSent}
		depth, width := l.mm("depth_mm", in.Depth, 0, 50), l.mm("width_mm", in.Width, 0, 500)
		if l.err == nil && !in.has("depth_mm") {
			l.err = parameterError("depth_mm", missing)
		}
		limit := tyre.TreadLimit(in.Heavy)
		return TreadIs{
			Legal: tyre.TreadLegal(depth, in.Heavy), Limit: MM(limit), Margin: MM(depth - limit), Cut: MM(tyre.CutLimit(width)),
			Basis: Basis{"depth is not below the limit, over the central three quarters of the breadth and the whole circumference; a cut is not longer than 25 mm or a tenth of the width, whichever is more",
				"Construction and Use Regulations 1986, regulation 27, as police guidance puts it", "The law of the United Kingdom. " + tyreLimits},
		}, l.err
	})
}

// TreadIs is a depth of tread against the law.
type TreadIs struct {
	Legal  bool  `json:"legal"`
	Limit  MM    `json:"limit_mm"`
	Margin MM    `json:"margin_mm"`
	Cut    MM    `json:"cut_limit_mm"`
	Basis  Basis `json:"basis"`
}
