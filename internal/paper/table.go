package paper

import (
	"regexp"
	"strings"
)

// column is one column of a table, its width in millimetres.
type column struct {
	head  string
	width float64
	kind  byte
}

// The kinds of columns: words from the left; figures with their decimal points
// under one another, which end at the right.
const (
	words   = 'w'
	figures = 'f'
)

// run is text in one face within a cell; a cell is runs under one another.
type run struct {
	f    face
	text string
}

type cell []run

func text(s string) cell { return cell{{plain, s}} }

// record is one row of a table. running is what is carried forward if the
// table goes on overleaf after it; a head spans the table.
type record struct {
	cells   []cell
	running string
	head    bool
}

const (
	gap = 2.2 // between columns, in millimetres
	// keepUpTo is how high a row may be that is not torn apart.
	keepUpTo = 60
)

var tableLine = plain.line()

// table is a table while it is set.
type table struct {
	s      *sheet
	cols   []column
	x      float64
	tails  []float64 // the widest of what stands right of each column's point
	floor  float64
	before string // what the rows set so far come to
}

// table sets rows under the heads of columns, from x on. The heads stand again
// on each sheet that it goes on to.
func (s *sheet) table(x float64, cols []column, rows []record) {
	if len(rows) == 0 {
		return
	}
	t := &table{s: s, cols: cols, x: x, tails: make([]float64, len(cols)), floor: bottom}
	for _, r := range rows {
		if r.running != "" {
			t.floor = bottom - tableLine - gap // for what is carried forward
		}
		for c := range r.cells {
			if cols[c].kind == figures && !r.head {
				for _, u := range r.cells[c] {
					_, tail := point(legible(u.text))
					t.tails[c] = max(t.tails[c], s.width(u.f, tail))
				}
			}
		}
	}
	s.room(4 * tableLine)
	s.in("Table", func() {
		s.in("TR", func() { t.heads(func(c column, draw func()) { s.in("TH", draw) }) })
		s.again = func() {
			t.heads(func(c column, draw func()) { s.artifact(draw) })
			if t.before != "" {
				t.sum("Brought forward", t.before)
			}
		}
		for _, r := range rows {
			s.in("TR", func() { t.row(r) })
			t.before = r.running
		}
		s.again = nil
	})
	s.y += 1
}

// end is where the table's right edge is.
func (t *table) end() float64 {
	x := t.x
	for _, c := range t.cols {
		x += c.width
	}
	return x
}

// heads draws the heads, each inside what the caller wraps it in.
func (t *table) heads(wrap func(column, func())) {
	s, x, most := t.s, t.x, 1
	f := face{9, true}
	for _, c := range t.cols {
		lines := s.wrap(f, c.head, c.width-gap)
		most = max(most, len(lines))
		artifact := s.again != nil // overleaf
		wrap(c, func() {
			for i, l := range lines {
				left := x
				if c.kind == figures {
					left = x + c.width - gap - s.width(f, l)
				}
				y := s.y + float64(i)*f.line()
				if artifact { // an artifact holds no marks
					s.use(f)
					s.d.Text(left, y+f.line()*0.76, l)
				} else {
					s.put(f, left, y, l)
				}
			}
		})
		x += c.width
	}
	s.y += float64(most)*f.line() + 0.6
	s.rule(t.x, s.y, x, 0.35)
	s.y += gap / 2
}

// sum says what is carried forward; it stands for the reader of paper only.
func (t *table) sum(label, amount string) {
	s := t.s
	s.artifact(func() {
		s.use(strong)
		y := s.y + strong.line()*0.76
		amount = legible(amount)
		x := t.end() - gap - s.width(strong, amount)
		s.d.Text(x, y, amount)
		s.d.Text(x-4-s.width(strong, label), y, label)
	})
	s.y += tableLine + gap/2
}

// over ends the sheet in the middle of the table.
func (t *table) over() {
	if t.before != "" {
		t.sum("Carried forward", t.before)
	}
	t.s.page()
}

func (t *table) row(r record) {
	s := t.s
	lines := make([][]run, len(r.cells))
	n := 0
	for c, content := range r.cells {
		width := t.cols[c].width - gap
		if r.head {
			width = t.end() - t.x
		}
		for _, u := range content {
			if u.text == "" {
				continue
			}
			for _, l := range s.wrap(u.f, u.text, width) {
				lines[c] = append(lines[c], run{u.f, l})
			}
		}
		n = max(n, len(lines[c]))
	}
	keep := float64(n) * tableLine
	if r.head {
		keep += 2 * tableLine // not alone at the foot
	}
	if s.y+keep+gap > t.floor && keep <= keepUpTo {
		t.over()
	}
	cells := make([]*element, len(r.cells))
	row := s.tree.open[len(s.tree.open)-1]
	for c := range cells {
		cells[c] = &element{kind: "TD"}
		row.kids = append(row.kids, kid{element: cells[c]})
	}
	for from := 0; from < n; {
		to := min(n, from+int((t.floor-gap-s.y)/tableLine))
		if to <= from {
			t.over()
			continue
		}
		t.chunk(cells, lines, from, to)
		s.y += float64(to-from) * tableLine
		from = to
	}
	s.y += 0.7
	s.rule(t.x, s.y, t.end(), 0.12)
	s.y += 0.8
}

// chunk draws the lines [from, to) of each cell.
func (t *table) chunk(cells []*element, lines [][]run, from, to int) {
	s, x := t.s, t.x
	for c := range cells {
		s.tree.open = append(s.tree.open, cells[c])
		for i := from; i < min(to, len(lines[c])); i++ {
			u := lines[c][i]
			left := x
			if t.cols[c].kind == figures {
				before, _ := point(u.text)
				left = x + t.cols[c].width - gap - t.tails[c] - s.width(u.f, before)
			}
			s.put(u.f, left, s.y+float64(i-from)*tableLine, u.text)
		}
		s.tree.open = s.tree.open[:len(s.tree.open)-1]
		x += t.cols[c].width
	}
}

var fraction = regexp.MustCompile(`(?:\.\d+|,\d{1,2})?\D*$`)

// point cuts a figure where its decimal point is, or after its last digit:
// "£1,234.50" into "£1,234" and ".50", "1.6 h" into "1" and ".6 h".
func point(s string) (before, tail string) {
	if !strings.ContainsAny(s, "0123456789") {
		return s, ""
	}
	at := fraction.FindStringIndex(s)[0]
	return s[:at], s[at:]
}
