// Package outlookui shows the outlook of one car wherever the car is shown: as
// a picture of twenty days, and as a line of words.
//
// The picture has no words in it and no colour that means anything: a filled
// dot is a day on which the promise is kept, a hollow one a day on which it is
// not, the heavy upright is the promise, the thin one is now, and what is
// finished after closing is stacked beyond the double rule. The same counts
// stand beside it as a sentence. Counting dots suits people better than reading
// curves: M. Kay, T. Kola, J. R. Hullman and S. A. Munson, When (ish) is My Bus?
// User-centered Visualizations of Uncertainty in Everyday, Mobile Predictive
// Systems, CHI 2016.
package outlookui

import (
	"math"
	"strconv"
	"time"

	"rampside/internal/outlook"
)

// Measures of the picture, in its own units: the day is across plot, and what
// is after closing stands in edge.
const (
	plot   = 410.0
	edge   = 70.0
	radius = 4.4
	step   = 10.0 // from dot to dot
	most   = 8    // dots above one another before they are pressed together
	deep   = 4    // columns of dots after closing
	foot   = 3.0
)

// Axis is the day that pictures are drawn over: whole hours from first to last.
type Axis struct {
	From, Close time.Time
	Now         time.Time
	// Hours are written above the pictures, one for each part of the day.
	Hours []string
	width float64 // of the day in hours
}

// NewAxis makes the axis of a day: from the hour that it opens in, or the hour
// of now where that is earlier, to the hour in which it closes.
func NewAxis(r outlook.Read) Axis {
	loc := r.Garage.Location()
	from := r.Opens
	if r.At.Before(from) {
		from = r.At
	}
	from = from.In(loc).Truncate(time.Minute)
	from = from.Add(-time.Duration(from.Minute()) * time.Minute)
	to := r.Close.In(loc)
	if to.Minute() > 0 {
		to = to.Add(time.Duration(60-to.Minute()) * time.Minute)
	}
	a := Axis{From: from, Close: r.Close, Now: r.At, width: max(1, to.Sub(from).Hours())}
	for k := range int(a.width + 0.5) {
		a.Hours = append(a.Hours, strconv.Itoa(from.Add(time.Duration(k)*time.Hour).In(loc).Hour()))
	}
	return a
}

func (a Axis) x(t time.Time) float64 {
	return math.Min(math.Max(t.Sub(a.From).Hours()/a.width, 0), 1) * plot
}

// dot is one of the twenty.
type dot struct {
	X, Y string
	Kept bool
}

// Picture is one car's, ready to be drawn.
type Picture struct {
	Box   string
	Label string
	Dots  []dot
	// Ticks are the hours; Promise and Now are empty where they are not on the
	// day.
	Ticks        []string
	Promise, Now string
	Closing      string
	Edge         string // the double rule
	Top, Bottom  string
}

// NewPicture draws a car's twenty days.
func NewPicture(a Axis, s outlook.Strip) Picture {
	type place struct {
		bin  int
		kept bool
	}
	bins := map[place]int{}
	promise := math.Inf(1)
	onDay := s.HasPromise && !s.PromiseAt.After(a.Close) && s.PromiseAt.After(a.From)
	if onDay {
		promise = a.x(s.PromiseAt)
	}
	type drawn struct {
		x    float64
		n    int // from the bottom
		kept bool
	}
	var all []drawn
	highest, past := 0, 0
	for _, d := range s.Dots {
		if d.Past {
			all = append(all, drawn{plot + 12 + float64(past%deep)*(edge-22)/(deep-1), past / deep, d.Kept})
			highest = max(highest, past/deep+1)
			past++
			continue
		}
		at := place{int(a.x(d.At) / step), d.Kept}
		x := (float64(at.bin) + 0.5) * step
		if d.Kept {
			x = math.Min(x, promise-radius-1.5) // never across the promise
		} else {
			x = math.Max(x, ifFinite(promise)+radius+1.5)
		}
		all = append(all, drawn{math.Min(math.Max(x, radius), plot-radius), bins[at], d.Kept})
		bins[at]++
		highest = max(highest, bins[at])
	}
	rise := step
	if highest > most {
		rise = step * most / float64(highest)
	}
	tall := max(3, min(highest, most))
	height := float64(tall)*step + 2*foot
	p := Picture{
		Box: "0 0 " + num(plot+edge) + " " + num(height), Label: s.Name + ": " + s.Counts,
		Top: "0", Bottom: num(height), Edge: num(plot + 3), Closing: num(a.x(a.Close)),
	}
	for _, d := range all {
		p.Dots = append(p.Dots, dot{num(d.x), num(height - foot - radius - float64(d.n)*rise), d.kept})
	}
	for k := range len(a.Hours) + 1 {
		p.Ticks = append(p.Ticks, num(float64(k)/a.width*plot))
	}
	if onDay {
		p.Promise = num(promise)
	}
	if a.Now.After(a.From) && a.Now.Before(a.Close) {
		p.Now = num(a.x(a.Now))
	}
	return p
}

func ifFinite(x float64) float64 {
	if math.IsInf(x, 0) {
		return math.Inf(-1)
	}
	return x
}

func num(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }
