package forecast

import (
	"math"

	"rampside/internal/forecast/law"
	"rampside/internal/forecast/schedule"
)

// Plain is what is said of a car without any of this: the two things people do.
type Plain struct {
	Car int64
	// Added: the hours of the lines that are left, added up and shared among the
	// technicians at work; 1 when that ends before the promise, else 0.
	Added float64
	// Normal: the plan with the estimates as they stand, and around its end a
	// normal with the variances of the lines that whoever ends it has worked on,
	// added up, as the planning method with three estimates does.
	Normal float64
	// Planned is when that plan ends, in hours from Now; +Inf when not within
	// the technicians' spans.
	Planned float64
}

// Plain gives the two for every car, to be scored beside the forecast.
func (e *Engine) Plain() []Plain {
	d := schedule.NewDraw(len(e.lines))
	variance := make([]float64, len(e.lines))
	own := make([]float64, len(e.day.Cars))
	for c, car := range e.day.Cars {
		for _, l := range car.Lines {
			i := e.index[l.ID]
			if l.Done {
				continue
			}
			left := max(l.Estimate.Mean()-l.Spent, 0)
			d.Hours[i] = left / e.lines[i].men
			own[c] += d.Hours[i]
			variance[i] = l.Estimate.SD() * l.Estimate.SD()
			for _, p := range e.lines[i].parts {
				d.Here[i] = max(d.Here[i], p.due)
			}
		}
	}
	for i := range e.lines {
		d.Gone[i] = e.lines[i].finds != nil
	}
	p := e.player.Play(d, e.order, nil)
	out := make([]Plain, len(own))
	ahead := 0.0
	men := 0.0
	for _, t := range e.shop.Technicians {
		if len(t.Spans) > 0 {
			men++
		}
	}
	for c := range out {
		ahead += own[c]
		out[c].Car, out[c].Planned = e.day.Cars[c].ID, p.Finish[c]
		out[c].Added = hit(men > 0 && max(ahead/men, own[c]) <= e.promise[c])
		var v float64
		last := e.lastLine(c, p)
		if last >= 0 {
			for i := range e.lines {
				if p.By[i]&p.By[last] != 0 && p.End[i] <= p.End[last] {
					v += variance[i]
				}
			}
		}
		switch f := p.Finish[c]; {
		case f == schedule.Never:
			out[c].Normal = 0
		case v == 0:
			out[c].Normal = hit(f <= e.promise[c])
		default:
			out[c].Normal = law.Below((e.promise[c] - f) / math.Sqrt(v))
		}
	}
	return out
}

// lastLine is the line that a car ends with, or -1.
func (e *Engine) lastLine(c int, p *schedule.Played) int {
	last := -1
	for i := range e.lines {
		if e.lines[i].car == c && p.By[i] != 0 && (last < 0 || p.End[i] > p.End[last]) {
			last = i
		}
	}
	return last
}
