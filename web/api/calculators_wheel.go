package api

import (
	"rampside/internal/length"
	"rampside/internal/wheel"
)

// WheelIs is a wheel as its marking has it, with what follows from that. What
// the marking does not hold is left out.
type WheelIs struct {
	Marking  string   `json:"marking" doc:"In one order: 7Jx17 H2 ET45 5x112 CB 57.1."`
	Width    *Inches  `json:"rim_width_in,omitempty"`
	WidthMM  *MM      `json:"rim_width_mm,omitempty"`
	Diameter *Inches  `json:"rim_diameter_in,omitempty"`
	Flange   string   `json:"flange,omitempty"`
	Humps    string   `json:"humps,omitempty"`
	Offset   *MM      `json:"offset_mm,omitempty"`
	Holes    int      `json:"holes,omitempty"`
	Circle   *MM      `json:"circle_mm,omitempty"`
	Bore     *MM      `json:"centre_bore_mm,omitempty"`
	Back     *MM      `json:"back_spacing_mm,omitempty" doc:"Half the width plus the offset."`
	Front    *MM      `json:"front_spacing_mm,omitempty"`
	Seat     *MM      `json:"seat_diameter_mm,omitempty"`
	Outer    *MM      `json:"outer_radius_mm,omitempty" doc:"With J flanges."`
	Missing  []string `json:"missing"`
	Left     []string `json:"not_understood"`
	Basis    Basis    `json:"basis"`
}

// WheelChange is how two wheels stand to each other.
type WheelChange struct {
	FromBack  MM    `json:"from_back_spacing_mm"`
	FromFront MM    `json:"from_front_spacing_mm"`
	ToBack    MM    `json:"to_back_spacing_mm"`
	ToFront   MM    `json:"to_front_spacing_mm"`
	Inner     MM    `json:"inner_change_mm" doc:"How much further inward, above nought meaning less room."`
	Outer     MM    `json:"outer_change_mm"`
	Track     MM    `json:"track_change_mm"`
	Basis     Basis `json:"basis"`
}

// RimIs is a rim's diameters.
type RimIs struct {
	Nominal Inches `json:"rim_diameter_in"`
	Seat    MM     `json:"seat_diameter_mm"`
	Outer   MM     `json:"outer_radius_mm" doc:"With J flanges, 17.5 mm above the seat."`
	Basis   Basis  `json:"basis"`
}

// CircleIs is a stud circle.
type CircleIs struct {
	Circle  float64 `json:"circle_mm"`
	Factor  float64 `json:"factor" doc:"What the distance was multiplied by."`
	Nearest MM      `json:"nearest_known_mm"`
	Pattern string  `json:"nearest_pattern"`
	Basis   Basis   `json:"basis"`
}

var wheelBasis = Basis{"inward: half the width plus the offset, less a spacer; outward: half the width less the offset, plus a spacer; width in inches of 25.4 mm between the flanges",
	"geometry", "Room at strut, arm, hose and wing is measured on the car."}

var seatBasis = Basis{"25.4 mm an inch less 0.8 up to 16 in, plus 4.8 from 17 in on; codes with half an inch are exact", "ISO 4000-2 in a published series", "Specified diameters; a made rim has its tolerance."}

// mmOf and inOf give what is there, and nothing for what is not.
func mmOf(l length.Micron, ok bool) *MM {
	if !ok {
		return nil
	}
	return ptr(MM(l))
}

func inOf(l length.Micron) *Inches {
	if l == 0 {
		return nil
	}
	return ptr(Inches(l))
}

func wheelIs(m wheel.Marking) WheelIs {
	hasBoth := m.Width > 0 && m.HasOffset
	s := wheel.Stance{Width: m.Width, Offset: m.Offset}
	d := m.Diameter > 0
	return WheelIs{
		Marking: m.String(), Width: inOf(m.Width), WidthMM: mmOf(m.Width, m.Width > 0), Diameter: inOf(m.Diameter), Flange: m.Flange, Humps: m.Humps,
		Offset: mmOf(m.Offset, m.HasOffset), Holes: m.Pattern.Holes, Circle: mmOf(m.Pattern.Circle, m.Pattern.Circle > 0), Bore: mmOf(m.Bore, m.Bore > 0),
		Back: mmOf(s.Back(), hasBoth), Front: mmOf(s.Front(), hasBoth), Seat: mmOf(wheel.SeatDiameter(m.Diameter), d), Outer: mmOf(wheel.OuterRadius(m.Diameter), d),
		Missing: list(m.Missing(), same), Left: list(m.Left, same), Basis: wheelBasis,
	}
}

func (a *API) wheelCalculators() {
	calculator(a, "wheel", "calculate-wheel", "A wheel's marking, read", "In any order, with or without words.", func(in *struct {
		Marking string `query:"marking" required:"true" maxLength:"120" doc:"7Jx17 H2 ET45 5x112 57.1, or 17 4H PCD 114.3 7J ET34 C/B:73."`
	}) (WheelIs, error) {
		m, err := wheel.Parse(in.Marking)
		if err != nil {
			return WheelIs{}, parameterError("marking", err.Error())
		}
		return wheelIs(m), nil
	})
	calculator(a, "wheel-change", "calculate-wheel-change", "How much further in and out another wheel reaches", "", func(in *struct {
		asSent
		FromWidth  float64 `query:"from_width_in" required:"true"`
		FromOffset float64 `query:"from_offset_mm" required:"true"`
		ToWidth    float64 `query:"to_width_in" required:"true"`
		ToOffset   float64 `query:"to_offset_mm" required:"true"`
		Spacer     float64 `query:"spacer_mm" doc:"Under the other wheel."`
	}) (WheelChange, error) {
		l := lengths{asSent: in.asSent}
		was := wheel.Stance{Width: l.in("from_width_in", in.FromWidth, 2, 16), Offset: l.mm("from_offset_mm", in.FromOffset, -150, 150)}
		now := wheel.Stance{Width: l.in("to_width_in", in.ToWidth, 2, 16), Offset: l.mm("to_offset_mm", in.ToOffset, -150, 150), Spacer: l.mm("spacer_mm", in.Spacer, 0, 100)}
		if l.err == nil {
			l.err = in.need("from_width_in", "from_offset_mm", "to_width_in", "to_offset_mm")
		}
		m := now.Against(was)
		return WheelChange{MM(was.Back()), MM(was.Front()), MM(now.Back()), MM(now.Front()), MM(m.Inner), MM(m.Outer), MM(m.Track), wheelBasis}, l.err
	})
	calculator(a, "rim", "calculate-rim", "The specified diameters of a rim", "", func(in *struct {
		asSent
		Code float64 `query:"rim_diameter_in" required:"true" doc:"The nominal diameter: 17, or 22.5."`
	}) (RimIs, error) {
		l := lengths{asSent: in.asSent}
		d := l.in("rim_diameter_in", in.Code, 8, 30)
		if l.err == nil {
			l.err = in.need("rim_diameter_in")
		}
		return RimIs{Inches(d), MM(wheel.SeatDiameter(d)), MM(wheel.OuterRadius(d)), seatBasis}, l.err
	})
	calculator(a, "stud-circle", "calculate-stud-circle", "The stud circle from the distance between two fixings", "", func(in *struct {
		asSent
		Holes int     `query:"holes" required:"true" minimum:"3" maximum:"12"`
		Apart float64 `query:"apart_mm" required:"true" doc:"Between the middles of two next to each other."`
	}) (CircleIs, error) {
		l := lengths{asSent: in.asSent}
		apart := l.mm("apart_mm", in.Apart, 20, 250)
		if l.err != nil {
			return CircleIs{}, l.err
		}
		mm, err := wheel.CircleOf(in.Holes, apart)
		if err != nil {
			return CircleIs{}, parameterError("apart_mm", err.Error())
		}
		near := wheel.Nearest(mm)
		return CircleIs{mm, mm / apart.MM(), MM(near), wheel.Pattern{Holes: in.Holes, Circle: near}.String(),
			Basis{"distance over the sine of 180 degrees divided by the number of fixings", "geometry; the list of circles is common practice, no published source", "Circles as near as 107.95 and 108 are told apart by the maker's data only."}}, nil
	})
}
