package paper

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// piece is a line of text where it stands on a sheet, in points from the
// bottom left. Its width is taken from the font itself by golang.org/x/image,
// not from what set it.
type piece struct {
	text    string
	x, y, w float64
}

var drawing = regexp.MustCompile(`(?s)BT /(F\w+) ([\d.]+) Tf ET|BT ([\d.-]+) ([\d.-]+) Td \((.*?)\) Tj ET`)

func (r read) pieces(page int) []piece {
	r.t.Helper()
	var out []piece
	var size float64
	bold := false
	for _, m := range drawing.FindAllStringSubmatch(r.content(page), -1) {
		if m[1] != "" {
			size, _ = strconv.ParseFloat(m[2], 64)
			bold = strings.HasSuffix(r.Page(page).Font(m[1]).BaseFont(), "B")
			continue
		}
		p := piece{text: unescaped(m[5])}
		p.x, _ = strconv.ParseFloat(m[3], 64)
		p.y, _ = strconv.ParseFloat(m[4], 64)
		p.w = advance(r.t, p.text, bold) * size
		out = append(out, p)
	}
	if len(out) < 3 {
		r.t.Fatalf("only %d pieces were found on sheet %d", len(out), page)
	}
	return out
}

// unescaped reads a string of a PDF file (ISO 32000-1, 7.3.4.2) in UTF-16.
func unescaped(s string) string {
	b := []byte(strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`, `\r`, "\r").Replace(s))
	u := make([]uint16, 0, len(b)/2)
	for i := 0; i+1 < len(b); i += 2 {
		u = append(u, uint16(b[i])<<8|uint16(b[i+1]))
	}
	return string(utf16.Decode(u))
}

// advance is how wide a text is in a font of one point.
func advance(t *testing.T, s string, bold bool) float64 {
	t.Helper()
	ttf := goregular.TTF
	if bold {
		ttf = gobold.TTF
	}
	f, err := sfnt.Parse(ttf)
	if err != nil {
		t.Fatal(err)
	}
	var b sfnt.Buffer
	sum := fixed.Int26_6(0)
	for _, c := range s {
		g, err := f.GlyphIndex(&b, c)
		if err != nil {
			t.Fatal(err)
		}
		a, err := f.GlyphAdvance(&b, g, fixed.I(1000), font.HintingNone)
		if err != nil {
			t.Fatal(err)
		}
		sum += a
	}
	return float64(sum) / 64 / 1000
}

func TestNothingRunsOverTheMarginsOrIntoTheNextColumn(t *testing.T) {
	long := strings.Repeat("Donaudampfschiffahrtsgesellschaft", 8)
	q := aQuote()
	q.Number, q.To.Name, q.Facts[0].Value, q.Facts[1].Label = "7", long, long, long[:60]
	q.Rows = append(q.Rows, Row{What: long, Number: long, Details: []string{long}, Qty: "1", Net: "£99,999,999.99", Mark: "agreed"})
	q.Rows = append(q.Rows, Row{What: strings.Repeat("word ", 2500), Qty: "1", Net: "£1.00"})
	q.Totals[0].Label = long
	c := aJobCard()
	c.Lines[0].Title, c.Lines[1].Note, c.Lines[2].Parts[0].Name, c.From.Name = long, long, long, long
	h := aHandover(t)
	h.Unsafe[0].Words, h.Found[0].Measured, h.Acknowledged.Name, h.Photos[0].Caption = long, long, long, long
	docs := documents(t)
	docs["long quote"], docs["long card"], docs["long handover"] = q, c, h
	const mm = 72 / 25.4
	for name, d := range docs {
		r := set(t, d)
		for i := range r.NumPage() {
			all := r.pieces(i + 1)
			for n, p := range all {
				if p.x < margin*mm-0.1 || p.x+p.w > (wide-margin)*mm+0.1 || p.y < 8*mm || p.y > (high-margin)*mm {
					t.Errorf("%s, sheet %d: %q stands at %.1f to %.1f, %.1f", name, i+1, p.text, p.x, p.x+p.w, p.y)
				}
				for _, o := range all[n+1:] {
					if p.y == o.y && p.x < o.x+o.w-0.1 && o.x < p.x+p.w-0.1 {
						t.Errorf("%s, sheet %d: %q and %q stand on one another", name, i+1, p.text, o.text)
					}
				}
			}
		}
	}
}

func TestDecimalPointsStandUnderOneAnother(t *testing.T) {
	b := aBill(8)
	nets := []string{"£0.05", "£1.00", "−£12.50", "£999.99", "£1,000.00", "£123,456.78", "£7.10", "£88.88"}
	for i, net := range nets {
		b.Rows[i].Net, b.Rows[i].Running = net, ""
	}
	at, n := 0.0, 0
	for _, p := range set(t, b).pieces(1) {
		i := strings.IndexByte(p.text, '.')
		if i < 0 || n == len(nets) || p.text != nets[n] {
			continue
		}
		x := p.x + advance(t, p.text[:i], false)*plain.size
		if n > 0 && math.Abs(x-at) > 0.05 {
			t.Errorf("the point of %s stands at %.2f, others at %.2f", p.text, x, at)
		}
		at = x
		n++
	}
	if n != len(nets) {
		t.Errorf("%d amounts were found", n)
	}
}
