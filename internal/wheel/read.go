package wheel

import (
	"regexp"
	"slices"
	"strings"

	"rampside/internal/length"
)

// dec is a figure with up to two places or a half.
const dec = `\d{1,3}(?:[.,]\d{1,2})?`

// piece is one part of a marking: how it looks, and how it is read. read says
// whether it can be that.
type piece struct {
	re   *regexp.Regexp
	read func(m *Marking, g []string) bool
}

// take reads the first match that can be this piece, and gives the text
// without it. After one that cannot, the search goes on at the next blank.
func (p piece) take(m *Marking, t string) (rest string, ok bool) {
	for pos := 0; ; {
		at := p.re.FindStringSubmatchIndex(t[pos:])
		if at == nil {
			return t, false
		}
		if p.read(m, p.re.FindStringSubmatch(t[pos:])) {
			return strings.Join(strings.Fields(t[:pos+at[0]]+" "+t[pos+at[1]:]), " "), true
		}
		next := strings.IndexByte(t[pos+at[0]+1:], ' ')
		if next < 0 {
			return t, false
		}
		pos += at[0] + 1 + next
	}
}

// pieces are the parts of a marking in the order in which they are looked for:
// the more certain first, since a bare number could be several things.
var pieces = []piece{
	// 5x112, 5/112, 4-100, PCD 5x114.3, 5x4.5" in inches
	{regexp.MustCompile(`(?:\b(?:PCD|LK|BCD) ?:? ?)?(?:^|[ (])(\d{1,2}) ?[X/-] ?(\d{2,3}(?:[.,]\d{1,2})?) ?(?:MM)?(?:$|[ ),;])`), readPattern},
	{regexp.MustCompile(`(?:^| )(\d{1,2}) ?X ?(\d[.,]\d{1,2}) ?(?:"|IN|$| )`), readInchPattern},
	// 7Jx17, 7.5 J x 17 H2, 6½Jx16, 7JJx15, 7Jx16x50 with the offset third
	{regexp.MustCompile(`(?:^| )(\d{1,2}(?:[.,]\d{1,2})?) ?(J{1,2}|JK|K|B|C|D|E|F|G) ?X ?(\d{2}(?:[.,]5)?)(?: ?X ?(-?\d{1,3}))?(?:$|[ "])`), readWidthFirst},
	// 17x7.5J, 15 x 6 J, 13x5.50B
	{regexp.MustCompile(`(?:^| )(\d{2}(?:[.,]5)?) ?X ?(\d{1,2}(?:[.,]\d{1,2})?) ?(J{1,2}|JK|K|B|C|D|E|F|G)?(?:$|[ "])`), readDiameterFirst},
	// 8x17: width and diameter without a flange
	{regexp.MustCompile(`(?:^| )(\d{1,2}(?:[.,]\d{1,2})?) ?X ?(\d{2}(?:[.,]5)?)(?: ?X ?(-?\d{1,3}))?(?:$|[ "])`), readPlain},
	{regexp.MustCompile(`(?:\b(?:ET|IS|OFFSET|OFF|DEPORT) ?[:=]? ?)([+-]? ?` + dec + `)`), readOffset},
	// 17x7.5 +45, as it is sold overseas
	{regexp.MustCompile(`(?:^| )(\+` + dec + `)(?:$| )`), readOffset},
	{regexp.MustCompile(`(?:\b(?:C/B|CB|C/?BORE|BORE|NB|ML|MB|DIA|HUB|CENTRE BORE|CENTER BORE) ?[:=.]? ?)(` + dec + `)`), readBore},
	// LK 112/5, the circle first
	{regexp.MustCompile(`\b(?:PCD|LK|BCD) ?[:=]? ?(` + dec + `) ?/ ?(\d{1,2})(?:$| )`), readCircleFirst},
	{regexp.MustCompile(`(?:\b(?:PCD|LK|BCD) ?[:=]? ?)(` + dec + `)`), readCircle},
	{regexp.MustCompile(`(?:^| )(\d{1,2}) ?(?:H|HOLES?|STUDS?|LUGS?|BOLTS?)(?:$| )`), readHoles},
	{regexp.MustCompile(`(?:^| )(\d{1,2}(?:[.,]\d{1,2})?) ?(J{1,2}|JK|B|K)(?:$| )`), readWidth},
	{regexp.MustCompile(`(?:^| )(EH2\+|EH2|EH|H2|H1|H|FH|CH|FHA|AH|X)(?:$| )`), readHumps},
	{regexp.MustCompile(`(?:^| )(\d{2}(?:[.,]5)?)(?:"| ?IN\b|$| )`), readDiameter},
	// 4H 100: a circle that cars have, beside the number of its fixings
	{regexp.MustCompile(`(?:^| )(\d{2,3}[.,]\d{1,2}|\d{2,3})(?: ?MM)?(?:$| )`), readBareCircle},
	{regexp.MustCompile(`(?:^| )(\d{2,3}[.,]\d{1,2}|\d{2,3})(?: ?MM)?(?:$| )`), readBareBore},
}

var signs = strings.NewReplacer("×", "X", "⨯", "X", "*", "X", "½", ".5", "″", "\"", "''", "\"", "–", "-", "—", "-", "−", "-", "Ø", " ", "\u00a0", " ", ";", " ", "|", " ")

// closeHumps are those written without a blank: 7Jx17H2.
var closeHumps = regexp.MustCompile(`(X ?\d{2}(?:[.,]5)?)(EH2\+?|H2|H1|FH|CH|EH|H)\b`)

// Parse reads a wheel's marking, in any order and with or without words:
// "17 4H PCD 114.3 7J ET34 C/B:73", "7Jx17 H2 ET45 5x112 57.1". What it could
// not read is in Left.
func Parse(text string) (Marking, error) {
	t := strings.ToUpper(strings.Join(strings.Fields(text), " "))
	if t == "" {
		return Marking{}, ErrEmpty
	}
	if len(t) > markingMax {
		return Marking{}, ErrMarking
	}
	t = closeHumps.ReplaceAllString(strings.Join(strings.Fields(signs.Replace(t)), " "), "$1 $2")
	var m Marking
	read := 0
	for _, p := range pieces {
		if rest, ok := p.take(&m, t); ok {
			read++
			t = rest
		}
	}
	if read == 0 {
		return Marking{}, ErrMarking
	}
	m.Left = strings.Fields(strings.Trim(t, " ,.()"))
	return m, m.check()
}

func readPattern(m *Marking, g []string) bool {
	p := Pattern{number(g[1]), figure(g[2], length.MM)}
	if p.Holes < 3 || p.Holes > 12 || p.Circle < 60*length.MM {
		return false
	}
	m.Pattern = p
	return true
}

func readInchPattern(m *Marking, g []string) bool {
	p := Pattern{number(g[1]), hundredths(figure(g[2], length.Inch))}
	if m.Pattern.Given() || p.Holes < 3 || p.Holes > 12 || p.Circle < 80*length.MM {
		return false
	}
	m.Pattern = p
	return true
}

func readWidthFirst(m *Marking, g []string) bool {
	w, d := figure(g[1], length.Inch), figure(g[3], length.Inch)
	if w == 0 || d <= w {
		return false
	}
	m.Width, m.Flange, m.Diameter = w, g[2], d
	if g[4] != "" {
		m.Offset, m.HasOffset = figure(g[4], length.MM), true
	}
	return true
}

func readDiameterFirst(m *Marking, g []string) bool {
	d, w := figure(g[1], length.Inch), figure(g[2], length.Inch)
	if m.Width > 0 || d <= w || w == 0 {
		return false
	}
	m.Diameter, m.Width, m.Flange = d, w, g[3]
	return true
}

func readPlain(m *Marking, g []string) bool {
	w, d := figure(g[1], length.Inch), figure(g[2], length.Inch)
	if m.Width > 0 || w == 0 || d <= w {
		return false
	}
	m.Width, m.Diameter = w, d
	if g[3] != "" {
		m.Offset, m.HasOffset = figure(g[3], length.MM), true
	}
	return true
}

func readOffset(m *Marking, g []string) bool {
	if m.HasOffset {
		return false
	}
	m.Offset, m.HasOffset = figure(strings.ReplaceAll(g[1], " ", ""), length.MM), true
	return true
}

func readBore(m *Marking, g []string) bool { m.Bore = figure(g[1], length.MM); return true }

func readCircle(m *Marking, g []string) bool {
	if m.Pattern.Circle > 0 {
		return false
	}
	m.Pattern.Circle = figure(g[1], length.MM)
	return true
}

func readCircleFirst(m *Marking, g []string) bool {
	return !m.Pattern.Given() && readPattern(m, []string{g[0], g[2], g[1]})
}

func readBareCircle(m *Marking, g []string) bool {
	c := figure(g[1], length.MM)
	if m.Pattern.Holes == 0 || m.Pattern.Circle > 0 || !slices.Contains(knownCircles, c) {
		return false
	}
	m.Pattern.Circle = c
	return true
}

func readHoles(m *Marking, g []string) bool {
	if m.Pattern.Holes > 0 {
		return false
	}
	m.Pattern.Holes = number(g[1])
	return true
}

func readWidth(m *Marking, g []string) bool {
	if m.Width > 0 {
		return false
	}
	m.Width, m.Flange = figure(g[1], length.Inch), g[2]
	return true
}

func readHumps(m *Marking, g []string) bool {
	if g[1] == "X" {
		return false
	}
	m.Humps = g[1]
	return true
}

func readDiameter(m *Marking, g []string) bool {
	d := figure(g[1], length.Inch)
	if m.Diameter > 0 || d < 10*length.Inch || d > 30*length.Inch {
		return false
	}
	m.Diameter = d
	return true
}

func readBareBore(m *Marking, g []string) bool {
	b := figure(g[1], length.MM)
	if m.Bore > 0 || b < 40*length.MM || b > 200*length.MM {
		return false
	}
	m.Bore = b
	return true
}
