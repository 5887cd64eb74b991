package api

import (
	"rampside/internal/tyre"
)

// LoadIs is one load index.
type LoadIs struct {
	Index int     `json:"load_index"`
	Load  float64 `json:"load_kg" doc:"Of one tyre."`
	Basis Basis   `json:"basis"`
}

// SpeedIs is one speed symbol.
type SpeedIs struct {
	Symbol string `json:"speed_symbol"`
	Speed  int    `json:"speed_kmh"`
	Above  bool   `json:"above,omitempty" doc:"ZR, or a symbol in brackets: more than this speed, as the tyre's maker says."`
	Basis  Basis  `json:"basis"`
}

// ServiceAnswer is a service description and what an axle and a speed need.
type ServiceAnswer struct {
	Service     ServiceIs `json:"service"`
	NeedsIndex  *int      `json:"needs_load_index,omitempty" doc:"The lowest that carries half of the axle's load."`
	Carries     *float64  `json:"carries_kg,omitempty" doc:"What one tyre carries, less near the speed of V, W and Y."`
	Margin      *float64  `json:"margin_kg,omitempty" doc:"That less half of the axle's load."`
	NeedsSymbol string    `json:"needs_speed_symbol,omitempty"`
	Answer      Fits      `json:"answer,omitempty" doc:"Left out where neither axle nor speed was given."`
	Basis       Basis     `json:"basis"`
}

// SpeedometerIs is what a speedometer may show at a true speed.
type SpeedometerIs struct {
	True  float64 `json:"true_kmh"`
	Least float64 `json:"least_shown_kmh"`
	Most  float64 `json:"most_shown_kmh"`
	Right *bool   `json:"right,omitempty" doc:"Whether what is shown is within them; left out where that was not given."`
	Basis Basis   `json:"basis"`
}

var (
	loadBasis  = Basis{"table", "load indices 0 to 200: UN R30 and R54, annex 4; 201 to 279 go on by ten times the load eighty before, as makers print it", "At the pressure and up to the speed that the tyre's maker gives."}
	speedBasis = Basis{"table", "UN R30, paragraph 2.29; W, Y and those below Q: ISO 4223-1, from memory", "In brackets a symbol means more than its speed, as its maker says."}
)

func (a *API) serviceCalculators() {
	calculator(a, "load-index", "calculate-load-index", "The load of a load index, or the index for a load", "One of the two.", func(in *struct {
		asSent
		Index int     `query:"load_index" minimum:"0" maximum:"279"`
		Load  float64 `query:"load_kg" doc:"The lowest index that carries this much."`
	}) (LoadIs, error) {
		switch {
		case in.has("load_index") && in.has("load_kg"):
			return LoadIs{}, parameterError("load_kg", "one of the two, please: a load index or a load")
		case in.has("load_index"):
			l, _ := tyre.LoadOf(in.Index)
			return LoadIs{in.Index, l.KG(), loadBasis}, nil
		case !in.has("load_kg"):
			return LoadIs{}, parameterError("load_index", missing)
		}
		kg, err := figure("load_kg", in.Load, 0, 136_000)
		if err != nil {
			return LoadIs{}, err
		}
		index, _ := tyre.IndexFor(kg)
		l, _ := tyre.LoadOf(index)
		return LoadIs{index, l.KG(), loadBasis}, nil
	})
	calculator(a, "speed-symbol", "calculate-speed-symbol", "The speed of a speed symbol, or the symbol for a speed", "One of the two.", func(in *struct {
		asSent
		Symbol string `query:"speed_symbol" maxLength:"8" doc:"From A1 to Y; W and Y in brackets, and ZR, are for more."`
		Speed  int    `query:"speed_kmh" minimum:"1" maximum:"300" doc:"The lowest symbol that is good for it."`
	}) (SpeedIs, error) {
		switch {
		case in.has("speed_symbol") && in.has("speed_kmh"):
			return SpeedIs{}, parameterError("speed_kmh", "one of the two, please: a symbol or a speed")
		case !in.has("speed_symbol") && !in.has("speed_kmh"):
			return SpeedIs{}, parameterError("speed_symbol", missing)
		case in.has("speed_kmh"):
			symbol, _ := tyre.SymbolFor(float64(in.Speed))
			kmh, _ := tyre.SpeedOf(symbol)
			return SpeedIs{symbol, kmh, false, speedBasis}, nil
		}
		symbol, kmh, above, err := tyre.ParseSymbol(in.Symbol)
		if err != nil {
			return SpeedIs{}, parameterError("speed_symbol", err.Error())
		}
		return SpeedIs{symbol, kmh, above, speedBasis}, nil
	})
	calculator(a, "service", "calculate-service", "A service description, against an axle and a speed", "", func(in *struct {
		asSent
		Text  string  `query:"service" required:"true" maxLength:"20" doc:"As on the side wall: 91V, 104/102R, (100Y)."`
		Axle  float64 `query:"axle_load_kg" doc:"Of an axle with two wheels."`
		Speed int     `query:"speed_kmh" minimum:"1" maximum:"500" doc:"The highest that the car goes."`
	}) (ServiceAnswer, error) {
		s, err := tyre.ParseService(in.Text)
		if err != nil {
			return ServiceAnswer{}, parameterError("service", err.Error())
		}
		out := ServiceAnswer{Service: *serviceIs(s), Basis: Basis{"one tyre carries at least half of the axle's load; near the speed of V, W and Y less: 3 % (V) or 5 % for every 10 km/h above 210, 240 and 270",
			loadBasis.Source + "; " + speedBasis.Source, "The least that the logbook or the handbook asks for comes first."}}
		return out, out.against(s, in.has("axle_load_kg"), in.Axle, in.Speed)
	})
	calculator(a, "speedometer", "calculate-speedometer", "What a speedometer may show", "", func(in *struct {
		asSent
		True  float64 `query:"true_kmh" required:"true"`
		Shown float64 `query:"shown_kmh"`
	}) (SpeedometerIs, error) {
		v, err := figure("true_kmh", in.True, 1, 500)
		if err != nil {
			return SpeedometerIs{}, err
		}
		low, high := tyre.SpeedometerRange(v)
		out := SpeedometerIs{True: v, Least: low, Most: high, Basis: Basis{"shown less true speed is at least nought and at most a tenth of the true one and 4 km/h", "UN R39, paragraph 5.3", "Approved at 40, 80 and 120 km/h; the instrument itself is off too."}}
		if in.has("shown_kmh") {
			shown, err := figure("shown_kmh", in.Shown, 0, 600)
			if err != nil {
				return SpeedometerIs{}, err
			}
			out.Right = ptr(tyre.SpeedometerRight(shown, v))
		}
		return out, nil
	})
}

// against fills in what the axle and the speed ask for.
func (out *ServiceAnswer) against(s tyre.Service, hasAxle bool, axle float64, speed int) error {
	wrong, unknown := false, false
	if hasAxle {
		kg, err := figure("axle_load_kg", axle, 1, 60_000)
		if err != nil {
			return err
		}
		if index, ok := tyre.IndexFor(kg / 2); ok {
			out.NeedsIndex = &index
		}
		carries := out.Service.Load
		if part, ok := tyre.HighSpeedLoad(s.Speed, float64(speed)); ok && speed > 0 {
			carries *= part
		}
		out.Carries, out.Margin = ptr(carries), ptr(carries-kg/2)
		wrong = carries < kg/2
	}
	if speed > 0 {
		out.NeedsSymbol, _ = tyre.SymbolFor(float64(speed))
		has, ok := tyre.SpeedOf(s.Speed)
		unknown = !ok || has < speed && s.Above
		wrong = wrong || ok && has < speed && !s.Above
	}
	switch {
	case !hasAxle && speed == 0:
	case wrong:
		out.Answer = "does not fit"
	case unknown:
		out.Answer = "cannot tell"
	default:
		out.Answer = "fits"
	}
	return nil
}
