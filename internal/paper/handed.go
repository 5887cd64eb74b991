package paper

import (
	"bytes"
	"fmt"

	"codeberg.org/go-pdf/fpdf"
)

func (h Handover) body(s *sheet) {
	if len(h.Unsafe) > 0 {
		s.heading("Not safe: please read this first")
		for _, u := range h.Unsafe {
			s.in("P", func() { s.block(strong, margin, inner, u.Severity+": "+u.Words) })
			s.in("P", func() { s.block(plain, margin, inner, join(". ", measure(u.Measured, u.Limit), u.Answer)) })
			s.y += 1
		}
		if h.Acknowledged != nil {
			s.acknowledged(*h.Acknowledged)
		}
	}
	s.works("What was done", "Nothing was done.", h.Done)
	if len(h.NotDone) > 0 {
		s.works("What was not done, and why", "", h.NotDone)
	}
	if len(h.Found) > 0 {
		s.heading("What was found and measured")
		rows := make([]record, len(h.Found))
		for i, f := range h.Found {
			rows[i] = record{cells: []cell{text(f.Severity), text(f.What), text(f.Measured), text(f.Limit), text(f.Answer)}}
		}
		s.table(margin, []column{{"Severity", 22, words}, {"What", 70, words}, {"Measured", 26, words}, {"Limit", 26, words}, {"What became of it", 34, words}}, rows)
	}
	if len(h.Returned) > 0 {
		s.heading("Old parts that go home with the car")
		s.list(plain, h.Returned)
	}
	if len(h.Next) > 0 {
		s.heading("What is due next")
		s.facts(margin, inner, h.Next)
	}
	s.photos(h.Photos)
	s.notes(h.Notes)
	if h.Acknowledged != nil && len(h.Unsafe) == 0 {
		s.acknowledged(*h.Acknowledged)
	}
}

func measure(measured, limit string) string {
	return join(", ", labelled("measured ", measured), labelled("limit ", limit))
}

func (s *sheet) works(head, none string, works []Work) {
	s.heading(head)
	if len(works) == 0 {
		s.para(plain, none)
		return
	}
	s.in("L", func() {
		for _, w := range works {
			s.room(plain.line() * 2)
			s.in("LI", func() {
				s.in("Lbl", func() { s.put(plain, margin, s.y, "–") })
				s.in("LBody", func() {
					s.in("P", func() { s.block(strong, margin+4, inner-4, w.Title) })
					for _, more := range append([]string{w.Why, join("; ", w.Parts...)}, w.Checks...) {
						if more != "" {
							s.in("P", func() { s.block(plain, margin+4, inner-4, more) })
						}
					}
				})
			})
			s.y += 0.6
		}
	})
}

func (s *sheet) acknowledged(a Acknowledgement) {
	s.room(24)
	s.in("P", func() { s.block(plain, margin, inner, a.Words) })
	if a.Drawn != nil && a.Drawn.Width > 0 && a.Drawn.Height > 0 {
		s.signature(*a.Drawn, a.Name)
	}
	s.in("P", func() { s.block(strong, margin, inner, join(", ", a.Name, a.When, a.How)) })
	s.y += 1
}

// signature draws the strokes over a line, 18 mm high.
func (s *sheet) signature(d Drawing, name string) {
	const tall = 18.0
	s.room(tall + 2)
	k := min(tall/d.Height, 80/d.Width)
	s.inAlt("Figure", "Signature of "+name, func() {
		s.marked(func() {
			s.d.SetLineWidth(0.45)
			for _, stroke := range d.Strokes {
				for i := 1; i < len(stroke); i++ {
					a, b := stroke[i-1], stroke[i]
					s.d.Line(margin+a.X*k, s.y+a.Y*k, margin+b.X*k, s.y+b.Y*k)
				}
			}
		})
	})
	s.y += d.Height*k + 0.5
	s.rule(margin, s.y, margin+80, 0.2)
	s.y += 0.8
}

// photos sets pictures in rows of four, each with its caption under it.
func (s *sheet) photos(photos []Photo) {
	const cols, space = 4, 4.0
	w := (inner - (cols-1)*space) / cols
	if len(photos) == 0 {
		return
	}
	for from := 0; from < len(photos); from += cols {
		row := photos[from:min(from+cols, len(photos))]
		tall := 0.0
		infos := make([]*fpdf.ImageInfoType, len(row))
		captions := make([][]string, len(row))
		for i, p := range row {
			infos[i] = s.d.RegisterImageOptionsReader(fmt.Sprintf("photo %d", from+i), fpdf.ImageOptions{ImageType: "JPEG"}, bytes.NewReader(p.JPEG))
			if infos[i] == nil || infos[i].Width() == 0 {
				return // the document carries the error
			}
			captions[i] = s.wrap(small, p.Caption, w)
			tall = max(tall, min(w, w*infos[i].Height()/infos[i].Width())+float64(len(captions[i]))*small.line())
		}
		s.room(tall + 14)
		if from == 0 {
			s.heading("Photos")
		}
		for i, p := range row {
			x := margin + float64(i)*(w+space)
			iw, ih := w, w*infos[i].Height()/infos[i].Width()
			if ih > w { // upright ones are as high as they would be wide
				iw, ih = w*w/ih, w
			}
			alt := p.Caption
			if alt == "" {
				alt = "Photo of the car"
			}
			s.inAlt("Figure", alt, func() {
				s.marked(func() {
					s.d.ImageOptions(fmt.Sprintf("photo %d", from+i), x, s.y, iw, ih, false, fpdf.ImageOptions{ImageType: "JPEG"}, 0, "")
				})
			})
			s.in("Caption", func() {
				for n, l := range captions[i] {
					s.put(small, x, s.y+ih+float64(n)*small.line(), l)
				}
			})
		}
		s.y += tall + 2
	}
}
