package paper

import (
	"fmt"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// The sheet: A4 and its margins, in millimetres.
const (
	wide   = 210.0
	high   = 297.0
	margin = 16.0
	inner  = wide - 2*margin
	bottom = high - 18.0
	family = "Go"
)

// face is a size in points and a weight.
type face struct {
	size float64
	bold bool
}

// The faces. Nothing is set smaller than 9 points but what stands at the foot
// of each sheet.
var (
	huge   = face{17, true}
	large  = face{11.5, true}
	plain  = face{9.5, false}
	strong = face{9.5, true}
	small  = face{9, false}
	foot   = face{8, false}
)

// line is the height of a line of text in millimetres: 1.28 of the size.
func (f face) line() float64 { return f.size * 0.3528 * 1.28 }

// sheet is a document while it is set.
type sheet struct {
	d    *fpdf.Fpdf
	top  Top
	name string
	// y is where the next thing stands, from the top.
	y    float64
	tree tree
	// again is drawn at the head of each sheet that a table goes on to.
	again func()
	now   face
}

func newSheet(top Top, name string) *sheet {
	if top.Lang == "" {
		top.Lang = "en-GB"
	}
	d := fpdf.New("P", "mm", "A4", "")
	d.SetMargins(margin, margin, margin)
	d.SetAutoPageBreak(false, 0)
	// Otherwise the dates would be those of the printing.
	d.SetCreationDate(top.At.UTC())
	d.SetModificationDate(top.At.UTC())
	d.SetCatalogSort(true)
	d.SetLang(top.Lang)
	d.SetTitle(legible(name), true)
	d.SetAuthor(legible(top.From.Name), true)
	d.SetXmpMetadata(metadata(top, legible(name)))
	d.AddUTF8FontFromBytes(family, "", goregular.TTF)
	d.AddUTF8FontFromBytes(family, "B", gobold.TTF)
	s := &sheet{d: d, top: top, name: legible(name)}
	s.tree.start()
	s.page()
	return s
}

// page begins the next sheet.
func (s *sheet) page() {
	s.d.AddPage()
	s.d.SetLineWidth(0.2)
	s.y = margin
	s.now = face{}
	if s.again != nil {
		s.again()
	}
}

// room begins the next sheet where h millimetres are not left on this one.
func (s *sheet) room(h float64) {
	if s.y+h > bottom {
		s.page()
	}
}

// use sets the face, once for as long as it stays.
func (s *sheet) use(f face) {
	if f == s.now {
		return
	}
	style := ""
	if f.bold {
		style = "B"
	}
	s.d.SetFont(family, style, f.size)
	s.now = f
}

// width is how wide text is in a face.
func (s *sheet) width(f face, text string) float64 {
	s.use(f)
	return s.d.GetStringWidth(text)
}

// put sets one line of text with its top at y, as a piece of the element that
// is open. The text is legible already.
func (s *sheet) put(f face, x, y float64, text string) {
	if strings.TrimSpace(text) == "" {
		return
	}
	s.use(f)
	s.marked(func() { s.d.Text(x, y+f.line()*0.76, text) })
}

// wrap breaks text into lines of a width. A word that is wider than a line is
// broken where the line ends.
func (s *sheet) wrap(f face, text string, width float64) []string {
	var out []string
	for _, par := range strings.Split(legible(text), "\n") {
		line := ""
		for _, word := range strings.FieldsFunc(par, func(r rune) bool { return r == ' ' }) {
			joined := word
			if line != "" {
				joined = line + " " + word
			}
			if s.width(f, joined) <= width {
				line = joined
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			var pieces []string
			pieces, line = s.chop(f, word, width)
			out = append(out, pieces...)
		}
		out = append(out, line)
	}
	for len(out) > 1 && out[len(out)-1] == "" {
		out = out[:len(out)-1]
	}
	return out
}

// chop cuts a word into pieces of a width and what is left of it.
func (s *sheet) chop(f face, word string, width float64) (pieces []string, rest string) {
	for _, r := range word {
		if rest != "" && s.width(f, rest+string(r)) > width {
			pieces = append(pieces, rest)
			rest = ""
		}
		rest += string(r)
	}
	return pieces, rest
}

// block sets text in lines from x on, each on the next sheet where it does not
// fit; they belong to the element that is open.
func (s *sheet) block(f face, x, width float64, text string) {
	for _, line := range s.wrap(f, text, width) {
		s.room(f.line())
		s.put(f, x, s.y, line)
		s.y += f.line()
	}
}

// para is a paragraph over the width of the sheet.
func (s *sheet) para(f face, text string) {
	if strings.TrimSpace(text) == "" {
		return
	}
	s.in("P", func() { s.block(f, margin, inner, text) })
	s.y += 1
}

// heading is a heading with a bookmark; it does not stand alone at the foot.
func (s *sheet) heading(text string) {
	s.y += 2.5
	s.room(large.line() + 14)
	s.d.Bookmark(legible(text), 1, s.y)
	s.in("H2", func() { s.block(large, margin, inner, text) })
	s.rule(margin, s.y+0.3, wide-margin, 0.35)
	s.y += 1.6
}

// list is a list, each item with a dash before it.
func (s *sheet) list(f face, items []string) {
	if len(items) == 0 {
		return
	}
	s.in("L", func() {
		for _, item := range items {
			s.room(f.line())
			s.in("LI", func() {
				s.in("Lbl", func() { s.put(f, margin, s.y, "–") })
				s.in("LBody", func() { s.block(f, margin+4, inner-4, item) })
			})
			s.y += 0.4
		}
	})
}

// rule draws a line across; it is no part of what is read.
func (s *sheet) rule(x1, y, x2, thick float64) {
	s.artifact(func() {
		s.d.SetLineWidth(thick)
		s.d.Line(x1, y, x2, y)
	})
}

// box draws a frame; it is no part of what is read.
func (s *sheet) box(x, y, w, h, thick float64) {
	s.artifact(func() {
		s.d.SetLineWidth(thick)
		s.d.Rect(x, y, w, h, "D")
	})
}

// feet writes at the foot of each sheet what it is and how many there are.
func (s *sheet) feet() {
	n := s.d.PageCount()
	for i := 1; i <= n; i++ {
		s.d.SetPage(i)
		s.now = face{}
		s.use(foot)
		right := fmt.Sprintf("%s, sheet %d of %d", s.name, i, n)
		x := wide - margin - s.width(foot, right)
		left := s.wrap(foot, s.top.From.Name, max(20, x-margin-6))[0]
		s.artifact(func() {
			s.d.Text(margin, high-9, left)
			s.d.Text(x, high-9, right)
		})
	}
}
