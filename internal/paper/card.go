package paper

func (c JobCard) body(s *sheet) {
	if c.Promise != "" {
		s.para(face{12, true}, "To be ready "+c.Promise)
	}
	if c.Words != "" {
		s.para(plain, "Asked for: "+c.Words)
	}
	if len(c.Cautions) > 0 {
		s.heading("Read before the work starts")
		for _, k := range c.Cautions {
			s.in("P", func() { s.block(strong, margin, inner, k.Name) })
			s.in("P", func() { s.block(small, margin, inner, join(" ", k.Text, labelled("Source: ", k.Source))) })
			s.y += 0.8
		}
		s.para(small, c.Decides)
	}
	s.heading("Lines")
	for _, l := range c.Lines {
		s.jobLine(l)
	}
	if len(c.Parts) > 0 {
		s.heading("Parts for the card as a whole")
		for _, p := range c.Parts {
			s.jobPart(p)
		}
	}
	if len(c.CarFacts) > 0 {
		s.heading("What is known of the car")
		s.inHalves(c.CarFacts)
	}
	s.room(46) // the notes stay together
	s.heading("Notes")
	for range 4 {
		s.y += 8
		s.rule(margin, s.y, wide-margin, 0.12)
	}
}

// inHalves sets facts in two columns beside one another, as long as each fits
// a sheet.
func (s *sheet) inHalves(facts []Fact) {
	const half, most = inner / 2, 40
	n := (len(facts) + 1) / 2
	if n > most {
		s.facts(margin, inner, facts)
		return
	}
	s.room(float64(n) * (plain.line() + 0.3))
	start := s.y
	s.facts(margin, half-4, facts[:n])
	left := s.y
	s.y = start
	s.facts(margin+half, half, facts[n:])
	s.y = max(s.y, left)
}

// tick is the side of a box to tick, in millimetres.
const tick = 5.0

func (s *sheet) jobLine(l JobLine) {
	const x = margin + tick + 3
	s.room(tick + 3*plain.line())
	s.box(margin, s.y, tick, tick, 0.3)
	if l.Ticked {
		s.artifact(func() {
			s.d.SetLineWidth(0.6)
			s.d.Line(margin+1, s.y+2.6, margin+2.1, s.y+3.9)
			s.d.Line(margin+2.1, s.y+3.9, margin+4.2, s.y+1)
		})
	}
	start := s.y
	right := join("  ·  ", l.Hours, l.State)
	w := s.width(plain, legible(right))
	s.in("P", func() {
		s.block(strong, x, wide-margin-x-w-4, l.Title)
		s.put(plain, wide-margin-w, start, legible(right))
	})
	for _, more := range []string{join("; ", l.Who, l.After), l.Note, labelled("Cautions: ", join(", ", l.Cautions...))} {
		if more != "" {
			s.in("P", func() { s.block(small, x, wide-margin-x, more) })
		}
	}
	for _, p := range l.Parts {
		s.jobPart(p)
	}
	if l.Second {
		s.room(8)
		s.y += 2.5
		words := "Checked by somebody else: ______________________"
		if l.Torque {
			words += ",  wheels tightened to: ____________ Nm"
		}
		s.in("P", func() { s.block(small, x, wide-margin-x, words) })
	}
	s.y = max(s.y, start+tick) + 1.2
	s.rule(margin, s.y, wide-margin, 0.12)
	s.y += 1.2
}

// jobPart is a part with a small box for when it is here.
func (s *sheet) jobPart(p JobPart) {
	const x, side = margin + tick + 3, 3.2
	s.room(plain.line() + 1)
	s.box(x, s.y+0.4, side, side, 0.2)
	s.in("P", func() {
		s.block(small, x+side+2, wide-margin-x-side-2, join("  ·  ", join(" × ", p.Qty, p.Name), p.Number, p.Supply, p.Fits))
	})
	s.y += 0.4
}
