package picture

import (
	"image"
	"image/draw"
)

// bandBytes is about how much of a large picture is turned into RGB at once.
const bandBytes = 1 << 20

// shrink draws a picture on white, and smaller if its long side is longer
// than side. Each pixel is the mean of the area that it stands for, which
// loses no fine line between two samples, and holds one row of sums; the
// scalers of x/image/draw that do as well hold 32 bytes for each source row
// and target column, 157 MB for 12 megapixels.
func shrink(src image.Image, side int) *image.RGBA {
	b := src.Bounds()
	w, h := fit(b.Dx(), b.Dy(), side)
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	across, down := split(b.Dx(), w), split(b.Dy(), h)
	// The units: a source pixel is w wide and h high, a target pixel b.Dx()
	// wide and b.Dy() high.
	area := uint64(b.Dx()) * uint64(b.Dy())
	rowSum := make([]uint64, 3*(w+1))
	sum, next := make([]uint64, 3*(w+1)), make([]uint64, 3*(w+1))

	band := image.NewRGBA(image.Rect(0, 0, b.Dx(), max(1, min(b.Dy(), bandBytes/(4*b.Dx())))))
	for y0 := 0; y0 < b.Dy(); y0 += band.Rect.Dy() {
		rows := min(band.Rect.Dy(), b.Dy()-y0)
		draw.Draw(band, band.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(band, image.Rect(0, 0, b.Dx(), rows), src, b.Min.Add(image.Pt(0, y0)), draw.Over)
		for y := range rows {
			addRow(rowSum, band.Pix[y*band.Stride:], across)
			s := down[y0+y]
			for i, v := range rowSum {
				sum[i] += v * s.here
				next[i] += v * s.beyond
			}
			if s.last {
				putRow(out.Pix[s.target*out.Stride:][:4*w], sum, area)
				sum, next = next, sum
				clear(next)
			}
		}
	}
	return out
}

// fit gives the size of a picture of w by h whose long side may not be longer
// than side.
func fit(w, h, side int) (int, int) {
	switch {
	case max(w, h) <= side:
		return w, h
	case w >= h:
		return side, max(1, (h*side+w/2)/w)
	}
	return max(1, (w*side+h/2)/h), side
}

// share says how a source pixel is shared out, along one side: how much of it
// falls on its target pixel and how much on the one beyond, and whether it is
// the last that falls on the target.
type share struct {
	target       int
	here, beyond uint64
	last         bool
}

// split shares n source pixels among m ≤ n target pixels. A source pixel is m
// long and a target pixel n.
func split(n, m int) []share {
	shares := make([]share, n)
	for i := range shares {
		start, end := i*m, (i+1)*m
		target := start / n
		border := (target + 1) * n
		beyond := max(0, end-border)
		shares[i] = share{target, uint64(m - beyond), uint64(beyond), end >= border}
	}
	return shares
}

// addRow sums one row of pixels into its targets.
func addRow(sum []uint64, pix []byte, across []share) {
	clear(sum)
	for x := range across {
		s, p := &across[x], pix[4*x:][:3]
		t := sum[3*s.target:][:6]
		t[0] += uint64(p[0]) * s.here
		t[1] += uint64(p[1]) * s.here
		t[2] += uint64(p[2]) * s.here
		if s.beyond > 0 {
			t[3] += uint64(p[0]) * s.beyond
			t[4] += uint64(p[1]) * s.beyond
			t[5] += uint64(p[2]) * s.beyond
		}
	}
}

// putRow writes the means of a row of sums.
func putRow(pix []byte, sum []uint64, area uint64) {
	for x := range len(pix) / 4 {
		p, s := pix[4*x:][:4], sum[3*x:][:3]
		p[0] = byte((s[0] + area/2) / area)
		p[1] = byte((s[1] + area/2) / area)
		p[2] = byte((s[2] + area/2) / area)
		p[3] = 0xff
	}
}
