package webtest

import (
	"github.com/chromedp/cdproto/input"
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

// inside gives where points of the picture of that name are in the window.
func (s Scope) inside(name string, stroke []Point) func(Point) (x, y float64) {
	s.b.t.Helper()
	e := s.find(drawable, name)
	r, ok := on[struct{ X, Y, W, H float64 }](s.b, e, boxJS)
	if !ok || len(stroke) == 0 {
		s.b.t.Fatalf("%s %s cannot be drawn in", e.role, quote(e.name))
	}
	return func(p Point) (x, y float64) { return r.X + p.X*r.W, r.Y + p.Y*r.H }
}

// DrawByFinger draws one stroke with a finger, as a touch screen tells of it: a
// page that scrolls under the finger gets no stroke.
func (s Scope) DrawByFinger(name string, stroke ...Point) {
	s.b.t.Helper()
	at := s.inside(name, stroke)
	send := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		s.b.t.Helper()
		if _, err := cd.Call(s.b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points}); err != nil {
			s.b.t.Fatalf("touch: %v", err)
		}
	}
	for i, p := range stroke {
		x, y := at(p)
		kind := input.DispatchTouchEventTypeTouchMove
		if i == 0 {
			kind = input.DispatchTouchEventTypeTouchStart
		}
		send(kind, &input.TouchPoint{X: x, Y: y})
	}
	send(input.DispatchTouchEventTypeTouchEnd)
}

// Draw draws one stroke with the mouse in the picture of that name.
func (s Scope) Draw(name string, stroke ...Point) {
	s.b.t.Helper()
	at := s.inside(name, stroke)
	x, y := at(stroke[0])
	s.b.call(cd.MouseEvent(cd.MousePressed, x, y, cd.ButtonLeft, cd.ClickCount(1)))
	for _, p := range stroke[1:] {
		x, y = at(p)
		s.b.call(cd.MouseEvent(cd.MouseMoved, x, y, cd.ButtonLeft))
	}
	s.b.call(cd.MouseEvent(cd.MouseReleased, x, y, cd.ButtonLeft, cd.ClickCount(1)))
}
