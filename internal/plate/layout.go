package plate

import "strings"

// Layout is how the letters and figures of a mark are arranged.
type Layout string

// The layouts of the Road Vehicles (Display of Registration Marks) Regulations
// 2001 (SI 2001/561), Schedule 3, Part 1, Table A, by its rows.
const (
	Current  Layout = "current"          // row 1: DE51 ABC, since 1 September 2001
	Prefix   Layout = "prefix"           // row 2: A123 ABC
	Suffix   Layout = "suffix"           // row 3: ABC 123A
	Dateless Layout = "dateless"         // rows 4 to 7: 1234 AB, 123 ABC, ABC 123, AB 1234
	Northern Layout = "northern ireland" // rows 8 and 9: ABZ 1234, 1234 ABZ
	Other    Layout = "other"            // anything else, such as a mark of another country
)

// shape is one arrangement of a layout: its slots, L for a letter and N for a
// figure, and how many of them stand before the gap.
type shape struct {
	layout Layout
	slots  string
	gap    int
}

// shapes are all arrangements of Table A. No two have the same slots.
var shapes = func() []shape {
	var all []shape
	add := func(l Layout, first, second string) {
		all = append(all, shape{l, first + second, len(first)})
	}
	n, l := func(k int) string { return strings.Repeat("N", k) }, func(k int) string { return strings.Repeat("L", k) }
	add(Current, "LLNN", "LLL")
	for i := 1; i <= 3; i++ {
		add(Prefix, "L"+n(i), "LLL")
		add(Suffix, "LLL", n(i)+"L")
		for j := 1; j <= 3; j++ {
			add(Dateless, n(i), l(j))
			add(Dateless, l(j), n(i))
		}
	}
	for j := 1; j <= 2; j++ {
		add(Dateless, n(4), l(j))
		add(Dateless, l(j), n(4))
	}
	add(Northern, "LLL", "NNNN")
	add(Northern, "NNNN", "LLL")
	return all
}()

// dated tells whether the layout fixes which slots are letters, whatever the
// mark: the two groups of a dateless mark may be any length, so there an O
// might as well be a nought.
func (s shape) dated() bool { return s.layout == Current || s.layout == Prefix || s.layout == Suffix }

// exact tells whether compact has this shape as it stands.
func (s shape) exact(compact string) bool {
	got, ok := s.read(compact)
	return ok && got == compact
}

// read takes compact for a mark of this shape, with O and I for letters and 0
// and 1 for figures where the slot says so.
func (s shape) read(compact string) (string, bool) {
	if len(compact) != len(s.slots) {
		return "", false
	}
	b := []byte(compact)
	for i, c := range b {
		letter := s.slots[i] == 'L'
		switch {
		case letter && c == '0':
			b[i] = 'O'
		case letter && c == '1':
			b[i] = 'I'
		case !letter && c == 'O':
			b[i] = '0'
		case !letter && c == 'I':
			b[i] = '1'
		case letter != isLetter(c) || letter == isFigure(c):
			return "", false
		}
	}
	return string(b), true
}

func (s shape) render(compact string) string { return compact[:s.gap] + " " + compact[s.gap:] }

// plausible tells whether a mark that took a guess to read can have been
// issued. A mark typed as it stands is not held to this.
func (s shape) plausible(compact string) bool {
	if s.layout != Current && compact[strings.IndexByte(s.slots, 'N')] == '0' {
		return false // figures counted from 1 (from memory)
	}
	return s.doubt(compact) == ""
}

// doubt says in what way a mark of this shape departs from what is issued, or
// nothing. I and Q are not used in current marks and Z only in the last three;
// Q as a prefix means that the age is not known (DVLA, by way of the open
// DVLARegCheck project). I, O, U and Z were no year letters.
func (s shape) doubt(compact string) string {
	switch s.layout {
	case Current:
		if strings.ContainsAny(compact, "IQ") {
			return "I and Q are not used in marks of this layout: look again"
		}
		if strings.Contains(compact[:2], "Z") {
			return "Z stands only among the last three letters of this layout: look again"
		}
	case Prefix:
		if strings.ContainsAny(compact[:1], "IOUZ") {
			return compact[:1] + " was never a year letter: look again"
		}
	case Suffix:
		if last := compact[len(compact)-1:]; strings.ContainsAny(last, "IOQUZ") {
			return last + " was never a year letter: look again"
		}
	}
	return ""
}

func isLetter(c byte) bool { return c >= 'A' && c <= 'Z' }
func isFigure(c byte) bool { return c >= '0' && c <= '9' }
