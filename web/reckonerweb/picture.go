package reckonerweb

import (
	"fmt"

	"rampside/internal/tyre"
	"rampside/internal/wheel"
)

// picture is a drawing to scale: a millimetre is one unit of its box.
type picture struct {
	// Label says in words what is drawn.
	Label  string
	Box    string
	Shapes []shape
	Keys   []key
}

// shape is one outline. Class is old, new, fill or rule.
type shape struct {
	Kind  string // circle, rect, line
	Class string
	A     [5]string // circle: cx cy r; rect: x y width height rx; line: x1 y1 x2 y2
}

// key is what a line of the drawing stands for.
type key struct{ Class, Text string }

func n(v float64) string { return trim(v, 2) }

func circle(class string, x, y, r float64) shape {
	return shape{Kind: "circle", Class: class, A: [5]string{n(x), n(y), n(r)}}
}

func rect(class string, x, y, w, h, rx float64) shape {
	return shape{Kind: "rect", Class: class, A: [5]string{n(x), n(y), n(max(w, 0)), n(max(h, 0)), n(rx)}}
}

func line(class string, x1, y1, x2, y2 float64) shape {
	return shape{Kind: "line", Class: class, A: [5]string{n(x1), n(y1), n(x2), n(y2)}}
}

func box(x, y, w, h float64) string { return n(x) + " " + n(y) + " " + n(w) + " " + n(h) }

var classes = [...]string{"old", "new"}

// tyrePicture draws tyres from the side and from the front, standing on one
// ground, one over the other.
func tyrePicture(list []tyre.Size) *picture {
	most, widest := 0.0, 0.0
	for _, s := range list {
		most, widest = max(most, s.Diameter().MM()), max(widest, s.Width.MM())
	}
	const edge = 24.0
	gap := 70.0
	middle, front := most/2, most+gap+widest/2
	p := &picture{Box: box(-edge, -edge, most+gap+widest+2*edge, most+2*edge), Label: "From the side and from the front, to scale"}
	for i, s := range list {
		d, rim, w := s.Diameter().MM(), s.Rim.MM(), s.Width.MM()
		p.Shapes = append(p.Shapes,
			circle(classes[i], middle, most-d/2, d/2), circle(classes[i]+" thin", middle, most-d/2, rim/2),
			rect(classes[i], front-w/2, most-d, w, d, min(w/4, s.SectionHeight().MM())))
		p.Keys = append(p.Keys, key{classes[i], fmt.Sprintf("%s: %s mm over all, %s wide", s.Base(), s.Diameter().Text(), s.Width.Text())})
		p.Label += ": " + p.Keys[i].Text
	}
	p.Shapes = append(p.Shapes, line("rule", -edge, most, most+gap+widest+edge, most))
	return p
}

// wheelPicture draws two rims as they stand to the hub, seen from the front of
// the car: inward to the left.
func wheelPicture(was, now wheel.Stance) *picture {
	left := max(was.Back().MM(), now.Back().MM(), 60) + 16
	right := max(was.Front().MM(), now.Front().MM(), 60) + 16
	p := &picture{Box: box(-left, -8, left+right, 130), Label: "The two rims as they stand to the hub's face, inward to the left, to scale"}
	for i, s := range []wheel.Stance{was, now} {
		y := float64(i)*62 + 6
		back, front := s.Back().MM(), s.Front().MM()
		p.Shapes = append(p.Shapes,
			line(classes[i], -back, y, -back, y+44), line(classes[i], front, y, front, y+44), line(classes[i], -back, y+22, front, y+22),
			line(classes[i]+" face", -s.Spacer.MM(), y+8, -s.Spacer.MM(), y+36))
		name := []string{"on the car", "other"}[i]
		p.Keys = append(p.Keys, key{classes[i], fmt.Sprintf("%s: %s mm inward, %s outward", name, s.Back().Text(), s.Front().Text())})
		p.Label += ": " + p.Keys[i].Text
	}
	p.Shapes = append(p.Shapes, line("rule", 0, -6, 0, 120))
	p.Keys = append(p.Keys, key{"rule", "the hub's face; inward is to the left"})
	return p
}

// overPicture draws the upper part of a wheel over its brake, cut through the
// middle: inward to the left, the hub below.
func overPicture(o wheel.Over) *picture {
	barrel, caliper := o.Barrel.Size.MM()-o.Weights.MM(), o.CaliperRadius.Size.MM()
	reach, spoke := 40.0, 60.0
	if o.HasSpoke {
		reach, spoke = o.CaliperReach.Size.MM(), o.Spoke.Size.MM()+o.Spacer.MM()
	}
	top, bottom := max(barrel, caliper)+12, min(barrel, caliper)-70
	left, right := min(reach, spoke)-150, max(reach, spoke)+36
	y := func(radius float64) float64 { return top - radius }
	p := &picture{
		Box:   box(left, 0, right-left, top-bottom),
		Label: "Rim and spokes over the caliper, cut through the middle, inward to the left, to scale",
		Shapes: []shape{
			rect("new fill", reach-90, y(caliper), 90, caliper-bottom, 8),
			line("old", left, y(barrel), spoke, y(barrel)), line("old", spoke, y(barrel), spoke, y(bottom)),
		},
		Keys: []key{
			{"old", "rim and spokes: barrel " + o.Barrel.Size.Text() + " mm from the hub's middle"}, {"new", "caliper: " + o.CaliperRadius.Size.Text() + " mm from the hub's middle"},
		},
	}
	if !o.HasSpoke {
		p.Keys[0].Text += "; the spokes are not measured, and drawn anywhere"
	}
	p.Label += ": " + p.Keys[0].Text + ", " + p.Keys[1].Text
	return p
}
