// Package signature reads a signature that was drawn with a finger or a pen:
// strokes of points on a box of fixed size, as the browser posts them. It is
// bounded and checked here, and drawn again by us, as a path or as strokes on
// paper; what was posted is never shown as it came.
package signature

import (
	"errors"
	"strconv"
	"strings"
)

// The box that a signature is drawn in, in units of its own.
const (
	Width  = 600
	Height = 200
)

// What one signature may hold. A long name written slowly is a third of it.
const (
	MaxStrokes = 60
	MaxPoints  = 2000 // in all strokes
	MaxBytes   = MaxPoints*8 + MaxStrokes
	// least is how wide or high a signature must be: a touch by mistake is not one.
	least = 30
)

// Point is one place in the box, from the left and from the top.
type Point struct{ X, Y int16 }

// Drawn is a signature. The zero value is none.
type Drawn struct{ strokes [][]Point }

// Errors of Parse, in words for whoever signs.
var (
	ErrBroken = errors.New("the signature did not arrive in one piece; please draw it again")
	ErrLarge  = errors.New("that is more ink than a signature needs; please clear it and draw it again")
	ErrSmall  = errors.New("that is too small for a signature; please draw your name, or leave it empty and type your name")
)

// Parse reads what the browser posts: points as x,y in whole units, blanks
// between points, semicolons between strokes. Empty is no signature and no
// error.
func Parse(s string) (Drawn, error) {
	if s == "" {
		return Drawn{}, nil
	}
	if len(s) > MaxBytes {
		return Drawn{}, ErrLarge
	}
	var d Drawn
	n := 0
	for stroke := range strings.SplitSeq(s, ";") {
		var points []Point
		for word := range strings.SplitSeq(stroke, " ") {
			p, ok := point(word)
			if !ok {
				return Drawn{}, ErrBroken
			}
			if n++; n > MaxPoints {
				return Drawn{}, ErrLarge
			}
			points = append(points, p)
		}
		if d.strokes = append(d.strokes, points); len(d.strokes) > MaxStrokes {
			return Drawn{}, ErrLarge
		}
	}
	if w, h := d.extent(); w < least && h < least {
		return Drawn{}, ErrSmall
	}
	return d, nil
}

func point(s string) (Point, bool) {
	xs, ys, ok := strings.Cut(s, ",")
	x, okX := unit(xs, Width)
	y, okY := unit(ys, Height)
	return Point{x, y}, ok && okX && okY
}

// unit reads a whole number from 0 to limit in the one way it is written.
func unit(s string, limit int) (int16, bool) {
	if s == "" || len(s) > 4 || s[0] == '0' && len(s) > 1 {
		return 0, false
	}
	n := 0
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return int16(n), n <= limit
}

func (d Drawn) extent() (w, h int) {
	first := true
	var x0, x1, y0, y1 int16
	for _, s := range d.strokes {
		for _, p := range s {
			if first {
				x0, x1, y0, y1, first = p.X, p.X, p.Y, p.Y, false
			}
			x0, x1, y0, y1 = min(x0, p.X), max(x1, p.X), min(y0, p.Y), max(y1, p.Y)
		}
	}
	return int(x1 - x0), int(y1 - y0)
}

// Empty tells whether nothing was drawn.
func (d Drawn) Empty() bool { return len(d.strokes) == 0 }

// String writes a signature as Parse reads it; this form is kept.
func (d Drawn) String() string {
	var b strings.Builder
	for i, s := range d.strokes {
		if i > 0 {
			b.WriteByte(';')
		}
		for j, p := range s {
			if j > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(strconv.Itoa(int(p.X)))
			b.WriteByte(',')
			b.WriteString(strconv.Itoa(int(p.Y)))
		}
	}
	return b.String()
}

// SVGPath writes the strokes as path data of SVG 2, 9.3, in a viewBox of
// "0 0 600 200". A stroke of one point is a dot: a line of no length, which
// round ends make visible.
func (d Drawn) SVGPath() string {
	var b strings.Builder
	for _, s := range d.strokes {
		for j, p := range s {
			if j == 0 {
				b.WriteByte('M')
			} else {
				b.WriteByte('L')
			}
			b.WriteString(strconv.Itoa(int(p.X)))
			b.WriteByte(' ')
			b.WriteString(strconv.Itoa(int(p.Y)))
		}
		if len(s) == 1 {
			b.WriteString("h0")
		}
	}
	return b.String()
}

// ViewBox is the box of SVGPath.
const ViewBox = "0 0 600 200"

// Strokes gives the strokes placed on paper: the box put at x, y with the
// width given, in the paper's own unit from the top left. A dot is a stroke of
// two equal points, for a pen with a round end.
func (d Drawn) Strokes(x, y, width float64) [][][2]float64 {
	scale := width / Width
	out := make([][][2]float64, len(d.strokes))
	for i, s := range d.strokes {
		for _, p := range s {
			out[i] = append(out[i], [2]float64{x + float64(p.X)*scale, y + float64(p.Y)*scale})
		}
		if len(s) == 1 {
			out[i] = append(out[i], out[i][0])
		}
	}
	return out
}
