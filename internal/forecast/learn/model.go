package learn

import (
	"math"

	"rampside/internal/forecast/law"
)

// Share is one step down the levels: what a group makes of what the level above
// says.
type Share struct {
	Z   float64 // how much its own lines are believed, 0 to 1
	Own float64 // what those say
	SD  float64 // what is left unknown
}

// Of gives the group's value where the level above has up, z deviations from
// its middle.
func (s Share) Of(up, z float64) float64 { return s.Z*s.Own + (1-s.Z)*up + s.SD*z }

// Learned is all that is known of one operation on one layout.
type Learned struct {
	// Garage is μ with its deviation; Operation and Layout are the steps down.
	Garage, GarageSD  float64
	Operation, Layout Share
	// Mean and Doubt of θ in all: what a line takes over its estimate, as a
	// logarithm, and how far that may be out.
	Mean, Doubt float64
	// Spread is σ, learned from Weight lines.
	Spread, Weight float64
	// Lines is how many of this operation and layout were learned from.
	Lines int
}

// Model is what a garage's lines have taught.
type Model struct {
	prior                   Prior
	mean, sd                float64
	tauOp, tauCell          float64
	pool2                   float64
	snag, snagMean, snagVar float64
	omega2                  float64
	n                       int
	ops                     map[string]opLearned
	cells                   map[[2]string]cellLearned
	cars                    map[string][2]float64 // u and its variance
}

type opLearned struct {
	step       Share
	sigma2, nu float64
	mean, vari float64
}

type cellLearned struct {
	step       Share
	mean, vari float64
	from       []Source
}

// Source is one line behind a learned figure.
type Source struct {
	ID       int64
	Ratio    float64 // hours taken over hours estimated
	Open     bool    // it took longer than that
	Weight   float64 // how much it counts, by age and by how likely the clocking is right
	Snag     float64 // how likely there was a snag
	Doubtful bool    // its clocking is more likely wrong than right
}

func (f *fitter) model(lines []Line) *Model {
	t := &f.tree
	m := &Model{
		prior: f.prior, mean: t.top, sd: math.Sqrt(t.topVar), tauOp: t.tauOp, tauCell: t.tauCell, pool2: f.pool2,
		snag: f.snag, snagMean: f.snagMean, snagVar: f.snagVar, omega2: f.omega2,
		ops: map[string]opLearned{}, cells: map[[2]string]cellLearned{}, cars: map[string][2]float64{},
	}
	t.solve() // with the last variances
	for name, o := range f.ops {
		b := t.ops[o]
		m.ops[name] = opLearned{Share{b.z, b.own, math.Sqrt((1 - b.z) * t.tauOp)}, f.sigma2[o], f.nu[o], b.mean, b.vari}
	}
	from := make([][]Source, len(t.cells))
	for i := range f.lines {
		x := &f.lines[i]
		if x.cell < 0 {
			continue
		}
		m.n++
		from[x.cell] = append(from[x.cell], Source{lines[i].ID, math.Exp(x.y), x.open, x.weight * x.trust, x.snag, x.trust < 0.5})
	}
	for key, c := range f.cells {
		b := t.cells[c]
		m.cells[key] = cellLearned{Share{b.z, b.own, math.Sqrt((1 - b.z) * t.tauCell)}, b.mean, b.vari, from[c]}
	}
	for name, v := range f.cars {
		m.cars[name] = [2]float64{f.u[v], f.uVar[v]}
	}
	return m
}

// N is how many lines the model was learned from.
func (m *Model) N() int { return m.n }

// Young says that it still goes by the estimates more than by what it learned.
func (m *Model) Young() bool { return m.n < m.prior.Fewest }

// Of gives what is known of an operation on a layout; of one never done, what
// the others say. stated is the spread of the estimate (ThreePoint.LogSpread).
func (m *Model) Of(operation, layout string, stated float64) Learned {
	l := Learned{Garage: m.mean, GarageSD: m.sd}
	o, known := m.ops[operation]
	if !known {
		o = opLearned{step: Share{SD: math.Sqrt(m.tauOp)}, sigma2: m.pool2, nu: m.prior.SpreadWeight, mean: m.mean, vari: m.tauOp + m.sd*m.sd}
		if stated > 0 {
			o.sigma2 = m.pool2/2 + m.prior.Stated*m.prior.Stated*stated/2
		}
	}
	c, known := m.cells[[2]string{operation, layout}]
	if !known {
		c = cellLearned{step: Share{SD: math.Sqrt(m.tauCell)}, mean: o.mean, vari: m.tauCell + o.vari}
	}
	l.Operation, l.Layout = o.step, c.step
	l.Mean, l.Doubt = c.mean, math.Sqrt(c.vari)
	l.Spread, l.Weight, l.Lines = math.Sqrt(o.sigma2), o.nu, len(c.from)
	return l
}

// From gives the lines behind the figure of an operation on a layout.
func (m *Model) From(operation, layout string) []Source {
	return m.cells[[2]string{operation, layout}].from
}

// Car gives what a car has of its own, as a logarithm, and its deviation.
func (m *Model) Car(vehicle string) (u, sd float64) {
	if x, ok := m.cars[vehicle]; ok && vehicle != "" {
		return x[0], math.Sqrt(x[1])
	}
	return 0, math.Sqrt(m.omega2)
}

// Snag gives the chance of a snag, and the mean and variance it adds.
func (m *Model) Snag() (chance, mean, variance float64) { return m.snag, m.snagMean, m.snagVar }

// Ratio is the law of hours taken over hours estimated for one line, all that
// is not known included.
func (m *Model) Ratio(operation, layout, vehicle string, stated float64) law.Ratio {
	l := m.Of(operation, layout, stated)
	u, sd := m.Car(vehicle)
	doubt := l.Doubt*l.Doubt + sd*sd + l.Spread*l.Spread
	mean := l.Mean + u
	return law.Ratio{Mean: mean, SD: math.Sqrt(doubt), Snag: m.snag, SnagMean: mean + m.snagMean, SnagSD: math.Sqrt(doubt + m.snagVar)}
}

// Suggestion is what an operation's hours could be set to. It changes nothing
// by itself.
type Suggestion struct {
	Hours     float64 // half the lines took no longer
	Low, High float64 // within which that is, 9 times in 10
	Lines     int
	From      []Source
}

// Suggest gives a suggestion for an operation that is estimated at so many
// hours, when there are enough lines to say that they are wrong: at least 5 of
// its own, and the present figure outside Low to High.
func (m *Model) Suggest(operation, layout string, hours float64) (Suggestion, bool) {
	l := m.Of(operation, layout, 0)
	mid := law.Ratio{Mean: l.Mean, SD: l.Spread, Snag: m.snag, SnagMean: l.Mean + m.snagMean, SnagSD: math.Sqrt(l.Spread*l.Spread + m.snagVar)}.Median(0)
	const nineInTen = 1.6448536269514722
	s := Suggestion{Hours: hours * mid, Lines: l.Lines, From: m.From(operation, layout)}
	s.Low, s.High = s.Hours*math.Exp(-nineInTen*l.Doubt), s.Hours*math.Exp(nineInTen*l.Doubt)
	sound := 0
	for _, f := range s.From {
		if !f.Open && !f.Doubtful {
			sound++
		}
	}
	return s, sound >= 5 && (hours < s.Low || hours > s.High)
}
