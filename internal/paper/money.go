package paper

import "slices"

func (q Quote) body(s *sheet) {
	for _, o := range q.Opening {
		s.para(plain, o)
	}
	s.priced(q.Rows)
	s.sums(q.Taxes, q.Totals)
	s.notes(q.Notes)
	if q.Sign {
		s.sign()
	}
}

func (b Bill) body(s *sheet) {
	s.para(strong, b.Corrects)
	s.priced(b.Rows)
	s.sums(b.Taxes, append(slices.Clip(b.Totals), b.Paid...))
	if len(b.Pay) > 0 {
		s.heading("How to pay")
		for _, p := range b.Pay {
			s.para(plain, p)
		}
	}
	s.notes(b.Notes)
	s.para(small, b.EInvoice)
}

func (st Statement) body(s *sheet) {
	rows := make([]record, len(st.Moves))
	for i, m := range st.Moves {
		rows[i] = record{running: m.Balance, cells: []cell{text(m.Date), text(m.Number), text(m.What), text(m.Charged), text(m.Paid), text(m.Balance)}}
	}
	s.table(margin, []column{{"Date", 27, words}, {"Number", 27, words}, {"What", 49, words}, {"Charged", 25, figures}, {"Paid or credited", 25, figures}, {"Owed", 25, figures}}, rows)
	s.sums(nil, st.Totals)
	if len(st.Ages) > 0 {
		s.heading("How long it has been owed")
		rows := make([]record, len(st.Ages))
		for i, a := range st.Ages {
			rows[i] = record{cells: []cell{text(a.Label), text(a.Value)}}
		}
		s.table(margin, []column{{"Owed for", 60, words}, {"Amount", 30, figures}}, rows)
	}
	if len(st.Pay) > 0 {
		s.heading("How to pay")
		for _, p := range st.Pay {
			s.para(plain, p)
		}
	}
	s.notes(st.Notes)
}

func (o Order) body(s *sheet) {
	rows := make([]record, len(o.Lines))
	for i, l := range o.Lines {
		rows[i] = record{cells: []cell{text(l.Qty), text(l.Number), text(l.What), text(l.Due), text(l.Card)}}
	}
	s.table(margin, []column{{"How many", 19, figures}, {"Number", 38, words}, {"What", 79, words}, {"To be here", 28, words}, {"Card", 14, words}}, rows)
	s.para(plain, o.Note)
}

// priced sets the rows of a quote or a bill. The columns of each, of the rate
// and of words beside the line are there where something is in them.
func (s *sheet) priced(rows []Row) {
	cols := []column{{"What", inner, words}, {"How many", 20, figures}}
	each, tax, mark := false, false, false
	for _, r := range rows {
		each, tax, mark = each || r.Each != "", tax || r.Tax != "", mark || r.Mark != ""
	}
	price, sum := "Each, without VAT", "Without VAT"
	if !tax { // nothing here has a rate: whoever sends it charges no VAT
		price, sum = "Each", "Price"
	}
	for _, c := range []struct {
		there bool
		col   column
	}{{each, column{price, 24, figures}}, {tax, column{"VAT", 16, figures}}, {true, column{sum, 27, figures}}, {mark, column{"", 22, words}}} {
		if c.there {
			cols = append(cols, c.col)
		}
	}
	for _, c := range cols[1:] {
		cols[0].width -= c.width
	}
	if mark {
		cols[len(cols)-1].head = "Answer"
	}
	out := make([]record, len(rows))
	for i, r := range rows {
		if r.Heading {
			out[i] = record{head: true, running: r.Running, cells: []cell{{{strong, r.What}}}}
			continue
		}
		what := cell{{plain, join("  ·  ", r.What, r.Number)}}
		for _, d := range r.Details {
			what = append(what, run{small, d})
		}
		rec := record{running: r.Running, cells: []cell{what, text(r.Qty)}}
		if each {
			rec.cells = append(rec.cells, text(r.Each))
		}
		if tax {
			rec.cells = append(rec.cells, text(r.Tax))
		}
		rec.cells = append(rec.cells, text(r.Net))
		if mark {
			rec.cells = append(rec.cells, cell{{strong, r.Mark}})
		}
		out[i] = rec
	}
	s.table(margin, cols, out)
}

const sumsWide = 84.0

// sums sets the taxes on the left and the totals on the right.
func (s *sheet) sums(taxes []Tax, totals []Amount) {
	s.room(float64(max(len(taxes)+2, len(totals)))*(strong.line()+2) + 4)
	start := s.y
	if len(taxes) > 0 {
		rows := make([]record, len(taxes))
		for i, t := range taxes {
			rows[i] = record{cells: []cell{text(t.Label), text(t.Net), text(t.VAT)}}
		}
		s.table(margin, []column{{"VAT", 34, words}, {"Without VAT", 26, figures}, {"VAT", 24, figures}}, rows)
	}
	left := s.y
	s.y = start
	s.amounts(wide-margin-sumsWide, sumsWide, totals)
	s.y = max(left, s.y) + 1
}

// amounts sets sums under one another with their points in line.
func (s *sheet) amounts(x, width float64, amounts []Amount) {
	tails := 0.0
	for _, a := range amounts {
		_, tail := point(legible(a.Value))
		tails = max(tails, s.width(strong, tail))
	}
	for _, a := range amounts {
		f := plain
		if a.Strong {
			f = strong
		}
		value := legible(a.Value)
		before, _ := point(value)
		left := x + width - gap - tails - s.width(f, before)
		labels := s.wrap(f, a.Label, max(20, left-x-3))
		s.room(float64(len(labels)) * f.line())
		s.in("P", func() {
			for i, l := range labels {
				s.put(f, x, s.y+float64(i)*f.line(), l)
			}
			s.put(f, left, s.y, value)
		})
		s.y += float64(len(labels))*f.line() + 0.7
		s.rule(x, s.y, x+width, map[bool]float64{true: 0.35, false: 0.12}[a.Strong])
		s.y += 0.7
	}
}

func (s *sheet) notes(notes []string) {
	if len(notes) == 0 {
		return
	}
	s.y += 2
	for _, n := range notes {
		s.para(plain, n)
	}
}

// sign leaves room for a name, a signature and a date in writing.
func (s *sheet) sign() {
	s.room(26)
	s.y += 14
	x := margin
	for _, p := range []struct {
		label string
		width float64
	}{{"Name", 60}, {"Signature", 70}, {"Date", 40}} {
		s.rule(x, s.y, x+p.width, 0.2)
		s.in("P", func() { s.put(small, x, s.y+0.5, p.label) })
		x += p.width + 4
	}
	s.y += 7
}
