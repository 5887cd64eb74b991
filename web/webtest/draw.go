package webtest

import (
	cd "github.com/chromedp/chromedp"
)

// drawable are what can be drawn in.
var drawable = []string{"image", "img", "graphics-document"}

// Point is a place in something that is drawn in, as a share of its width and
// height from the left and the top.
type Point struct{ X, Y float64 }

const boxJS = `function () {
	this.scrollIntoView({ block: "center", inline: "nearest", behavior: "instant" });
	const r = this.getBoundingClientRect();
	return { X: r.left, Y: r.top, W: r.width, H: r.height };
}`

// Draw draws one stroke with the mouse in the picture of that name.
func (s Scope) Draw(name string, stroke ...Point) {
	s.b.t.Helper()
	e := s.find(drawable, name)
	r, ok := on[struct{ X, Y, W, H float64 }](s.b, e, boxJS)
	if !ok || len(stroke) == 0 {
		s.b.t.Fatalf("%s %s cannot be drawn in", e.role, quote(e.name))
	}
	at := func(p Point) (x, y float64) { return r.X + p.X*r.W, r.Y + p.Y*r.H }
	x, y := at(stroke[0])
	s.b.call(cd.MouseEvent(cd.MousePressed, x, y, cd.ButtonLeft, cd.ClickCount(1)))
	for _, p := range stroke[1:] {
		x, y = at(p)
		s.b.call(cd.MouseEvent(cd.MouseMoved, x, y, cd.ButtonLeft))
	}
	s.b.call(cd.MouseEvent(cd.MouseReleased, x, y, cd.ButtonLeft, cd.ClickCount(1)))
}
