package forecast

import (
	"math/bits"

	"rampside/internal/forecast/schedule"
)

// Actual is how a line really went: for playing a day whose outcome is made up
// by something other than this model, to see how good the forecasts are.
type Actual struct {
	// Hours of work it took from Now on, of both together where two work on it.
	// Of a line that the customer was asked about 0 is a no.
	Hours float64
	// Here is when its parts came, in hours from Now.
	Here float64
	// Found is how many hours of work were found and agreed to; 0 for none.
	Found float64
	// Asked is how long, in hours, it took to get the answer; 0 when nobody
	// was asked.
	Asked float64
}

// Went is when a line was worked on, in hours from Now, and by whom; +Inf where
// it was not within the technicians' spans.
type Went struct {
	Begin, End float64
	By         []int64
}

// Course is how a day went.
type Course struct {
	// Finish of each car in the order of the day.
	Finish []float64
	// Lines by their ID; Found what was found on a line, by that line's.
	Lines, Found map[int64]Went
}

// PlayOut plays the day as it really went and gives, for each car in the order
// of the day, in how many hours from Now it was finished; +Inf when it was not
// within the technicians' spans. The cars were taken in this order, nil for the
// one of the day.
func (e *Engine) PlayOut(actual func(line int64) Actual, order []int) []float64 {
	return append([]float64(nil), e.follow(actual, order).Finish...)
}

// Follow is PlayOut with all that happened.
func (e *Engine) Follow(actual func(line int64) Actual, order []int) Course {
	p := e.follow(actual, order)
	c := Course{append([]float64(nil), p.Finish...), map[int64]Went{}, map[int64]Went{}}
	for i := range e.lines {
		w := Went{Begin: p.Start[i], End: p.End[i]}
		for b := p.By[i]; b != 0; b &= b - 1 {
			w.By = append(w.By, e.who[bits.TrailingZeros64(b)])
		}
		if e.lines[i].finds != nil {
			c.Found[e.lines[i].id] = w
		} else {
			c.Lines[e.lines[i].id] = w
		}
	}
	return c
}

func (e *Engine) follow(actual func(line int64) Actual, order []int) *schedule.Played {
	d := schedule.NewDraw(len(e.lines))
	for i := range e.lines {
		a := actual(e.lines[i].id)
		if e.lines[i].finds != nil {
			d.Hours[i], d.Lag[i], d.Gone[i] = a.Found, a.Asked, a.Found <= 0
			continue
		}
		d.Hours[i], d.Here[i] = a.Hours/e.lines[i].men, a.Here
		if e.lines[i].asked != nil {
			d.Lag[i], d.Gone[i] = a.Asked, a.Hours <= 0
		}
	}
	if order == nil {
		order = e.order
	}
	return e.player.Play(d, order, nil)
}
