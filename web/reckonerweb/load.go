package reckonerweb

import (
	"context"
	"fmt"
	"strconv"

	"rampside/internal/tyre"
	"rampside/web/ui"
)

func loadAndSpeed(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("index", "On the tyre").IfKnown().Short().Max(12).Say("after the size: 91V, 104/102R, (100Y)")},
			{In: f.Field("axle_kg", "Axle load, kg").IfKnown().Decimal().Say("line 1 or 2 of the maker's plate")},
			{In: f.Field("kmh", "Speed, km/h").IfKnown().Digits().Say("the highest of the car, in the logbook or the handbook")},
		}}}
	}
	v.Formulas = []string{
		"Each load index stands for a load of one tyre; a pair gives it for single and for twin wheels. An axle with two wheels needs half its load of each tyre.",
		"Near the speed of symbol V, W or Y a tyre carries less: 3 % (V) or 5 % less for every 10 km/h above 210, 240 and 270.",
	}
	v.Sources = []string{
		"Load indices 0 to 200: UN R30 and R54, annex 4, as annex II of the French arrêté of 24 October 1994 prints them; 201 to 279: makers' tables go on by ten times the load eighty before.",
		"Speed symbols: UN R30, paragraph 2.29; less load near their speed: paragraph 2.30, from memory.",
	}
	v.Limits = []string{
		"A load index holds at the pressure and up to the speed that the tyre's maker gives. The least that the logbook or the handbook asks for comes before what an axle's load alone would need.",
		peopleFirst,
	}
	if !sent(f, "index", "axle_kg", "kmh") {
		return nil
	}
	s := ui.Read(f, "index", tyre.ParseService)
	axle, hasAxle := number(f, "axle_kg", 1, 60000, "kg")
	kmh := f.Int("kmh", 1, 500)
	if f.Err() == nil && !s.Given && !hasAxle && kmh == 0 {
		f.Fail("index", "one of the three, please")
	}
	if f.Err() != nil {
		return nil
	}
	res := &result{}
	var verdict answerOf
	if s.Given {
		res.Says = s.String() + ": " + s.Words() + "."
		res.Facts = append(res.Facts, serviceFigures(s)...)
	}
	if hasAxle {
		verdict.axle(res, s, axle, kmh)
	}
	if kmh > 0 {
		verdict.speed(res, s, kmh)
	}
	if s.Given {
		res.Verdict = verdict.word()
	}
	v.Result = res
	return nil
}

func serviceFigures(s tyre.Service) []figure {
	single, _ := tyre.LoadOf(s.Single)
	out := []figure{
		{Name: "Load index " + strconv.Itoa(s.Single), Value: single.String() + " a tyre"},
		{Name: "Two on an axle", Value: (2 * single).String(), Steps: []ui.Step{step("one tyre", single.String()), sum("times two", (2 * single).String())}},
	}
	if l, ok := s.AxleLoad(true); ok {
		dual, _ := tyre.LoadOf(s.Dual)
		out = append(out, figure{"Twin wheels, four on an axle", l.String(), []ui.Step{step("index "+strconv.Itoa(s.Dual), dual.String()), sum("times four", l.String())}})
	}
	if kmh, ok := tyre.SpeedOf(s.Speed); ok {
		value := fmt.Sprintf("up to %d km/h (%d mph)", kmh, int(float64(kmh)/1.609344+0.5))
		if s.Above {
			value = fmt.Sprintf("more than %d km/h, as its maker says", kmh)
		}
		out = append(out, figure{Name: "Speed symbol " + s.Speed, Value: value})
	}
	return out
}

// answerOf gathers whether a tyre is enough.
type answerOf struct{ known, wrong, unknown bool }

func (a *answerOf) word() string {
	switch {
	case a.wrong:
		return "does not fit"
	case a.unknown:
		return "cannot tell"
	case a.known:
		return "fits"
	}
	return ""
}

func (a *answerOf) axle(res *result, s tyre.Service, axle float64, kmh int) {
	need := axle / 2
	index, ok := tyre.IndexFor(need)
	if ok {
		l, _ := tyre.LoadOf(index)
		res.Facts = append(res.Facts, figure{"The axle needs", fmt.Sprintf("load index %d at least, %s a tyre", index, l), []ui.Step{
			step("load of the axle", trim(axle, 1)+" kg"), step("half of it", trim(need, 1)+" kg"), sum("lowest index that carries it", strconv.Itoa(index)),
		}})
	}
	if !s.Given {
		return
	}
	l, _ := tyre.LoadOf(s.Single)
	carries := l.KG()
	if part, ok := tyre.HighSpeedLoad(s.Speed, float64(kmh)); ok && kmh > 0 && part < 1 {
		carries *= part
		res.Facts = append(res.Facts, figure{Name: fmt.Sprintf("At %d km/h", kmh), Value: fmt.Sprintf("%s %% of that, %s kg a tyre", trim(100*part, 1), trim(carries, 1))})
	}
	a.known = true
	margin := carries - need
	res.Facts = append(res.Facts, figure{"Margin", change(margin, 1) + " kg a tyre", []ui.Step{
		step("carries", trim(carries, 1)+" kg"), step("half of the axle's load", trim(need, 1)+" kg"), sum("margin", change(margin, 1)+" kg"),
	}})
	if margin < 0 {
		a.wrong = true
		res.Says += fmt.Sprintf(" It carries %s kg too little for the axle.", trim(-margin, 1))
	}
}

func (a *answerOf) speed(res *result, s tyre.Service, kmh int) {
	symbol, ok := tyre.SymbolFor(float64(kmh))
	value := "symbol " + symbol + " at least"
	if !ok {
		value = "a tyre marked (Y), as its maker says"
	}
	res.Facts = append(res.Facts, figure{Name: fmt.Sprintf("%d km/h needs", kmh), Value: value})
	if !s.Given {
		return
	}
	has, ok := tyre.SpeedOf(s.Speed)
	switch {
	case !ok, has < kmh && s.Above:
		a.unknown = true
		res.Measure = append(res.Measure, "the speed that the tyre's maker gives for it")
	case has < kmh:
		a.known, a.wrong = true, true
		res.Says += fmt.Sprintf(" Its symbol is %d km/h too low.", kmh-has)
	default:
		a.known = true
	}
}
