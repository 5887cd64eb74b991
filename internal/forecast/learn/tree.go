package learn

// branch is one group of a level: what it has of its own, and how much that is
// believed against what the level above says.
type branch struct {
	weight, sum float64 // Σw and Σw·y of what is below it
	z, own      float64 // credibility and own mean
	mean, vari  float64 // its posterior
}

// tree is the three levels with their variances.
type tree struct {
	mean, variance float64 // prior of the top
	tauOp, tauCell float64 // variances between operations, and between cells of one
	top, topVar    float64 // posterior of the top
	ops, cells     []branch
	opOf           []int // of each cell
}

// solve gives the posteriors, exactly, by one pass up and one down. It is the
// hierarchical credibility of W. S. Jewell, The Use of Collateral Data in
// Credibility Theory, Giornale dell'Istituto Italiano degli Attuari 38 (1975)
// 1-16, with H. Bühlmann and E. Straub's weights.
func (t *tree) solve() {
	for o := range t.ops {
		t.ops[o].weight, t.ops[o].sum = 0, 0
	}
	for c := range t.cells {
		b := &t.cells[c]
		b.z, b.own = 0, 0
		if b.weight > 0 {
			b.z = b.weight * t.tauCell / (1 + b.weight*t.tauCell)
			b.own = b.sum / b.weight
		}
		t.ops[t.opOf[c]].weight += b.z
		t.ops[t.opOf[c]].sum += b.z * b.own
	}
	precision, sum := 1/t.variance, t.mean/t.variance
	for o := range t.ops {
		b := &t.ops[o]
		b.z, b.own = 0, 0
		if b.weight > 0 {
			b.z = b.weight * t.tauOp / (t.tauCell + b.weight*t.tauOp)
			b.own = b.sum / b.weight
			p := b.z / t.tauOp // = 1/(τo² + τc²/Z)
			precision += p
			sum += p * b.own
		}
	}
	t.top, t.topVar = sum/precision, 1/precision
	for o := range t.ops {
		b := &t.ops[o]
		b.mean = b.z*b.own + (1-b.z)*t.top
		b.vari = (1-b.z)*t.tauOp + (1-b.z)*(1-b.z)*t.topVar
	}
	for c := range t.cells {
		b, o := &t.cells[c], &t.ops[t.opOf[c]]
		b.mean = b.z*b.own + (1-b.z)*o.mean
		b.vari = (1-b.z)*t.tauCell + (1-b.z)*(1-b.z)*o.vari
	}
}
