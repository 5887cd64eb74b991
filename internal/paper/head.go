package paper

import (
	"strconv"
	"strings"

	"rampside/internal/qr"
)

var letterhead = face{13, true}

// qrSide is a QR code's side in millimetres with its margin: a code of 41
// modules then has them at 0.6 mm, which a tablet reads at arm's length.
const qrSide = 30.0

// head sets who the document is from, what it is, who it is to and the facts
// beside that.
func (s *sheet) head() {
	s.from()
	s.y += 2
	s.rule(margin, s.y, wide-margin, 0.5)
	s.y += 2.5
	s.d.Bookmark(s.name, 0, s.y)
	s.in("H1", func() { s.block(huge, margin, inner, s.name) })
	s.y += 1
	start := s.y
	const half = inner / 2
	s.party(s.top.To, half-4)
	left := s.y
	x, width := margin+half, half
	if left == start { // nobody to address
		x, width = margin, inner
	}
	s.y = start
	s.facts(x, width, s.top.Facts)
	s.y = max(s.y, left) + 3
}

func (s *sheet) from() {
	start, width := s.y, float64(inner)
	if s.top.Link != "" {
		if code, err := qr.Encode(s.top.Link); err == nil {
			width -= qrSide + 30
			says := s.wrap(small, s.top.LinkSays, 28)
			s.inAlt("Figure", s.top.LinkSays+": "+s.top.Link, func() {
				s.marked(func() { s.code(code, wide-margin-qrSide, start-3) })
			})
			s.in("P", func() {
				for i, l := range says {
					s.put(small, wide-margin-qrSide-s.width(small, l)-1, start+float64(i)*small.line(), l)
				}
			})
		}
	}
	from := s.top.From
	s.in("P", func() { s.block(letterhead, margin, width, from.Name) })
	s.y += 0.5
	for _, l := range []string{from.Address, join("  ·  ", from.Phone, from.Email), labelled("VAT number ", from.VATNumber)} {
		if l != "" {
			s.in("P", func() { s.block(small, margin, width, l) })
		}
	}
	if s.top.Link != "" {
		s.y = max(s.y, start+qrSide-4)
	}
}

// code draws a QR code from the outline that package qr makes: rectangles of
// one module's height, "M4 4h7v1h-7z" each.
func (s *sheet) code(c qr.Code, x, y float64) {
	m := qrSide / float64(c.Size)
	for _, r := range strings.Split(c.Path, "M")[1:] {
		at, rest, _ := strings.Cut(r, "h")
		col, line, _ := strings.Cut(at, " ")
		run, _, _ := strings.Cut(rest, "v")
		cx, _ := strconv.Atoi(col)
		cy, _ := strconv.Atoi(line)
		n, _ := strconv.Atoi(run)
		s.d.Rect(x+float64(cx)*m, y+float64(cy)*m, float64(n)*m, m, "F")
	}
}

func (s *sheet) party(p Party, width float64) {
	if p.Name != "" {
		s.in("P", func() { s.block(strong, margin, width, p.Name) })
	}
	for _, l := range []string{p.Address, p.Phone, p.Email, labelled("VAT number ", p.VATNumber)} {
		if l != "" {
			s.in("P", func() { s.block(plain, margin, width, l) })
		}
	}
}

// facts sets labels and values in two columns of the given width, the second
// where the longest label ends.
func (s *sheet) facts(x, width float64, facts []Fact) {
	wideLabel := 0.0
	for _, f := range facts {
		if f.Value != "" {
			wideLabel = max(wideLabel, s.width(plain, legible(f.Label)))
		}
	}
	wideLabel = min(wideLabel+4, width/2)
	for _, f := range facts {
		if f.Value == "" {
			continue
		}
		s.room(plain.line())
		s.in("P", func() {
			// A label that is too long for its column is wrapped beside its value.
			labels := s.wrap(plain, f.Label, wideLabel-1)
			values := s.wrap(strong, f.Value, width-wideLabel)
			for i, l := range labels {
				s.put(plain, x, s.y+float64(i)*plain.line(), l)
			}
			for i, v := range values {
				s.put(strong, x+wideLabel, s.y+float64(i)*plain.line(), v)
			}
			s.y += float64(max(len(labels), len(values))) * plain.line()
		})
		s.y += 0.3
	}
}

func labelled(label, value string) string {
	if value == "" {
		return ""
	}
	return label + value
}

func join(with string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, with)
}
