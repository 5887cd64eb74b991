package forecast_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/forecast/law"
)

func TestALineThatWaitsForAnAnswerIsDoneAfterAYesAndNotAtAllAfterANo(t *testing.T) {
	d := oneLine(opening.Add(time.Hour))
	l := &d.Cars[0].Lines[0]
	l.Asked = &forecast.Asked{Agreed: 0.6}
	// Two hours' work does not fit into one but for a few times: the rest are
	// the noes.
	r := engine(t, d, nil, forecast.Options{Seed: 5})
	o := r.Look()
	l.Asked = nil
	fits := chance(t, d)
	if want := 0.4 + 0.6*fits; math.Abs(o.Cars[0].Chance-want) > 0.01 {
		t.Errorf("asked, the chance is %g, want %g", o.Cars[0].Chance, want)
	}
	if len(o.Turns) != 0 {
		t.Errorf("somebody is told to begin it: %+v", o.Turns)
	}
	// With a line of no length to speak of the chance is that of the answer: by
	// an hour after, 1 − e^(−1/2) of the yeses where one takes two hours on
	// average (the exponential law, by hand).
	l.Estimate, l.Asked = law.Single(1e-6), &forecast.Asked{Agreed: 0.7, Answer: 2}
	o = engine(t, d, nil, forecast.Options{Seed: 5}).Look()
	if want := 0.3 + 0.7*(1-math.Exp(-0.5)); math.Abs(o.Cars[0].Chance-want) > 0.01 {
		t.Errorf("waiting for an answer, the chance is %g, want %g", o.Cars[0].Chance, want)
	}
	// The rest of the causes is the break, which an answer may come in.
	if c := o.Cars[0].Causes; len(c) == 0 || c[0].Kind != forecast.Unanswered || c[0].Share < 0.95 {
		t.Errorf("it is late by %+v", c)
	}
	// Somebody is at it: then they need no answer.
	l.Spent, l.On = 0.1, []int64{1}
	if got := chance(t, d); got < 0.99 {
		t.Errorf("a line that runs waits for an answer: %g", got)
	}
	l.Asked.Agreed = 1.2
	if _, err := forecast.New(d, nil, forecast.Options{}); err == nil {
		t.Error("a chance above 1 passes")
	}
}

func TestADayIsFollowedAsItWent(t *testing.T) {
	d := oneLine(clock(12, 0))
	d.Technicians = staff(2)
	f := forecast.UsualFinds
	d.Cars[0].Lines[0].Finds = &f
	d.Cars = append(d.Cars, forecast.Car{ID: 2, Lines: []forecast.Line{{ID: 21, Operation: "oil", Estimate: law.Single(1), Men: 2}, {ID: 22, Operation: "oil", Estimate: law.Single(1), Asked: &forecast.Asked{Agreed: 0.5, Answer: 1}}}})
	actual := func(id int64) forecast.Actual {
		return map[int64]forecast.Actual{11: {Hours: 1.5, Found: 1, Asked: 0.5}, 21: {Hours: 3}, 22: {}}[id]
	}
	// By hand: the first line ends at 1.5. Then both are free for the line for
	// two, which takes 1.5 of the 3 hours' work; what was found waits for its
	// answer until 2 and for somebody until 3, and takes 1. The customer said
	// no to the last.
	e := engine(t, d, nil, forecast.Options{Seed: 1})
	c := e.Follow(actual, nil)
	if !slices.Equal(c.Finish, []float64{4, 3}) || c.Lines[11].End != 1.5 || c.Lines[21].Begin != 1.5 || len(c.Lines[21].By) != 2 || c.Found[11].Begin != 3 || !math.IsInf(c.Lines[22].Begin, 1) {
		t.Errorf("%+v", c)
	}
	// With the second car first, the line for two comes first.
	if got := e.PlayOut(actual, []int{1, 0}); !slices.Equal(got, []float64{4.5, 1.5}) && !slices.Equal(got, []float64{5, 1.5}) {
		t.Errorf("in the other order %v", got)
	}
}
