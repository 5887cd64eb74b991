package forecast

import "rampside/internal/forecast/schedule"

// Actual is how a line really went: for playing a day whose outcome is made up
// by something other than this model, to see how good the forecasts are.
type Actual struct {
	// Hours of work it took from Now on, of both together where two work on it.
	Hours float64
	// Here is when its parts came, in hours from Now.
	Here float64
	// Found is how many hours of work were found and agreed to; 0 for none.
	Found float64
	// Asked is how long, in hours, it took to get the answer; 0 when nobody
	// was asked.
	Asked float64
}

// PlayOut plays the day as it really went and gives, for each car in the order
// of the day, in how many hours from Now it was finished; +Inf when it was not
// within the technicians' spans.
func (e *Engine) PlayOut(actual func(line int64) Actual) []float64 {
	d := schedule.NewDraw(len(e.lines))
	for i := range e.lines {
		a := actual(e.lines[i].id)
		if e.lines[i].finds != nil {
			d.Hours[i], d.Lag[i], d.Gone[i] = a.Found, a.Asked, a.Found <= 0
			continue
		}
		d.Hours[i], d.Here[i] = a.Hours/e.lines[i].men, a.Here
	}
	out := e.player.Play(d, e.order, nil)
	return append([]float64(nil), out.Finish...)
}
