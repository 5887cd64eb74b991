package learn

import (
	"math"
	"testing"
)

func TestTheLevelsComeToThePublishedCredibilities(t *testing.T) {
	// C. Hachemeister's data of five states in two cohorts, as printed in V.
	// Goulet et al., Credibility theory features of actuar (the vignette of that
	// R package): state means and weights, variances 88981, 10952 and
	// 139120026, the collective premium 1746, and what follows from them. The
	// figures are printed to four digits, and so hold to one in a thousand.
	means := []float64{2061, 1511, 1806, 1353, 1600}
	weights := []float64{100155, 19895, 13735, 4152, 36110}
	const within = 139120026
	f := tree{mean: 0, variance: 1e15, tauOp: 88981, tauCell: 10952, ops: make([]branch, 2), cells: make([]branch, 5), opOf: []int{0, 1, 0, 1, 1}}
	for c := range f.cells {
		f.cells[c].weight = weights[c] / within
		f.cells[c].sum = weights[c] / within * means[c]
	}
	f.solve()
	check := func(what string, got, want, tolerance float64) {
		t.Helper()
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s is %g, want %g", what, got, want)
		}
	}
	check("the collective premium", f.top, 1746, 1)
	for o, want := range [][4]float64{{1967, 1.407, 0.9196, 1949}, {1528, 1.596, 0.9284, 1543}} {
		b := f.ops[o]
		check("a cohort's own mean", b.own, want[0], 1)
		check("its weight", b.weight, want[1], 1e-3)
		check("its credibility", b.z, want[2], 1e-4)
		check("its premium", b.mean, want[3], 1)
	}
	for c, want := range [][2]float64{{0.8874, 2048}, {0.6103, 1524}, {0.5195, 1875}, {0.2463, 1497}, {0.7398, 1585}} {
		check("a state's credibility", f.cells[c].z, want[0], 1e-4)
		check("its premium", f.cells[c].mean, want[1], 1)
	}
}

func TestTheLevelsAreTheExactPosteriorOfASmallCase(t *testing.T) {
	// One operation, one layout, one line: three normals in a chain. The mean of
	// θ then is the prior's, moved by the whole prior variance over that and the
	// line's own; worked by hand, no published source.
	f := tree{mean: 0.1, variance: 0.04, tauOp: 0.09, tauCell: 0.02, ops: make([]branch, 1), cells: []branch{{weight: 1 / 0.25, sum: 0.8 / 0.25}}, opOf: []int{0}}
	f.solve()
	v := 0.04 + 0.09 + 0.02
	mean := 0.1 + v/(v+0.25)*(0.8-0.1)
	if math.Abs(f.cells[0].mean-mean) > 1e-12 || math.Abs(f.cells[0].vari-v*0.25/(v+0.25)) > 1e-12 {
		t.Errorf("mean %g and variance %g, want %g and %g", f.cells[0].mean, f.cells[0].vari, mean, v*0.25/(v+0.25))
	}
}
