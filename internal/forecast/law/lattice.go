package law

import "math/rand/v2"

// Points are how many points a lattice has, and the factor that makes it: a
// rule of N. M. Korobov (1959), where point i has the coordinates i·a^j/n,
// modulo 1. Both n are prime and both factors go through nearly all residues
// before they repeat, so that no two of the first thousand coordinates are
// alike. N is below 65,536.
type Points struct{ N, Factor int }

// Full is what a forecast is made of, Quick what is enough to look.
var (
	Full  = Points{4093, 1516}
	Quick = Points{2039, 1487}
)

// Lattice gives the numbers between 0 and 1 that draws are made of. Every
// coordinate is shifted by a number that depends on the seed and the
// coordinate alone: the same seed gives the same draws, and what is asked of
// one line does not change when another line goes.
type Lattice struct {
	n       int
	inverse float64   // 1/n
	step    []uint32  // a^j modulo n
	shift   []float64 // of each coordinate
}

// NewLattice makes one with so many coordinates.
func NewLattice(p Points, seed uint64, coordinates int) *Lattice {
	l := &Lattice{n: p.N, inverse: 1 / float64(p.N), step: make([]uint32, coordinates), shift: make([]float64, coordinates)}
	r := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	g := 1
	for j := range coordinates {
		l.step[j], l.shift[j] = uint32(g), r.Float64()
		g = g * p.Factor % p.N
	}
	return l
}

// N is how many draws the lattice holds.
func (l *Lattice) N() int { return l.n }

// Row is one draw: its coordinates.
type Row struct {
	l    *Lattice
	i    uint32
	turn float64
}

// Row gives draw i. Those beyond N are the lattice again with another shift.
func (l *Lattice) Row(i int) Row {
	return Row{l, uint32(i % l.n), float64(i/l.n) * 0.6180339887498949}
}

// At is coordinate j, above 0 and below 1.
func (r Row) At(j int) float64 {
	v := float64(r.i*r.l.step[j]%uint32(r.l.n))*r.l.inverse + r.l.shift[j] + r.turn
	v -= float64(int(v))
	return min(max(v, 1e-12), 1-1e-12)
}

// At is coordinate j of draw i.
func (l *Lattice) At(i, j int) float64 { return l.Row(i).At(j) }
