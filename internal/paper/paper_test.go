package paper

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/ledongthuc/pdf"
)

type document interface{ Write(w io.Writer) error }

func documents(t *testing.T) map[string]document {
	credit := aBill(2)
	credit.Kind, credit.Number = "Credit note", "C-000007"
	return map[string]document{
		"Quote 1002/2": aQuote(), "VAT invoice B-000123": aBill(200), "Credit note C-000007": credit, "Statement 1 to 31 October 2026": aStatement(),
		"Handover of card 1002": aHandover(t), "Card 1002": aJobCard(), "Order 501": anOrder(),
	}
}

// file is a document that was set, opened by another reader than we write
// with: github.com/ledongthuc/pdf.
type read struct {
	raw []byte
	*pdf.Reader
	t *testing.T
}

func set(t *testing.T, d document) read {
	t.Helper()
	var b bytes.Buffer
	if err := d.Write(&b); err != nil {
		t.Fatal(err)
	}
	r, err := pdf.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	return read{b.Bytes(), r, t}
}

// text is the text of a sheet in the order in which it was drawn.
func (r read) text(page int) string {
	r.t.Helper()
	p := r.Page(page)
	fonts := map[string]*pdf.Font{}
	for _, name := range p.Fonts() {
		f := p.Font(name)
		fonts[name] = &f
	}
	s, err := p.GetPlainText(fonts)
	if err != nil {
		r.t.Fatal(err)
	}
	return s
}

func (r read) all() string {
	var b strings.Builder
	for i := range r.NumPage() {
		b.WriteString(r.text(i + 1))
	}
	return b.String()
}

// content is what draws a sheet.
func (r read) content(page int) string {
	r.t.Helper()
	body := r.Page(page).V.Key("Contents").Reader()
	defer body.Close()
	raw, err := io.ReadAll(body)
	if err != nil {
		r.t.Fatal(err)
	}
	return string(raw)
}

var blanks = regexp.MustCompile(`\s+`)

// dense is a text without the blanks and breaks that setting puts in.
func dense(s string) string { return blanks.ReplaceAllString(s, "") }

// words gives every string that a document holds.
func wordsOf(v reflect.Value) []string {
	var out []string
	switch v.Kind() {
	case reflect.String:
		out = append(out, v.String())
	case reflect.Struct:
		if v.Type().PkgPath() == "time" {
			return nil
		}
		for i := range v.NumField() {
			switch v.Type().Field(i).Name {
			case "Lang", "Link", "Running": // said elsewhere: in the file, in the code, at the foot
			default:
				out = append(out, wordsOf(v.Field(i))...)
			}
		}
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.Uint8 {
			return nil
		}
		for i := range v.Len() {
			out = append(out, wordsOf(v.Index(i))...)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return wordsOf(v.Elem())
		}
	}
	return out
}

func TestAnotherReaderFindsEveryWordOfADocument(t *testing.T) {
	for name, d := range documents(t) {
		text := dense(set(t, d).all())
		n := 0
		for _, w := range wordsOf(reflect.ValueOf(d)) {
			if w == "Not there" { // a label without a value
				continue
			}
			n++
			for _, line := range strings.Split(w, "\n") {
				if !strings.Contains(text, dense(legible(line))) {
					t.Errorf("%s does not say %q", name, line)
				}
			}
		}
		if n < 20 {
			t.Errorf("%s: only %d strings were looked for", name, n)
		}
		if !strings.HasPrefix(dense(text[strings.Index(text, dense(name)):]), dense(name)) {
			t.Errorf("%s does not say what it is", name)
		}
	}
}

// ISO 32000-1: 12.2 (viewer preferences), 14.3.3 (document information), 14.8
// (tagged PDF), 14.9.2 (language), 9.9 (embedded fonts).
func TestADocumentIsTaggedHasATitleALanguageAndItsFonts(t *testing.T) {
	for name, d := range documents(t) {
		r := set(t, d)
		root := r.Trailer().Key("Root")
		if got := root.Key("Lang").RawString(); got != "en-GB" {
			t.Errorf("%s: the language is %q", name, got)
		}
		if got := r.Trailer().Key("Info").Key("Title").Text(); got != name {
			t.Errorf("the title of %s is %q", name, got)
		}
		if !root.Key("MarkInfo").Key("Marked").Bool() || !root.Key("ViewerPreferences").Key("DisplayDocTitle").Bool() || root.Key("StructTreeRoot").Key("Type").Name() != "StructTreeRoot" {
			t.Errorf("%s is not tagged", name)
		}
		if o := r.Outline(); len(o.Child) == 0 || o.Child[0].Title != name {
			t.Errorf("%s has no bookmark: %+v", name, o)
		}
		for i := range r.NumPage() {
			p := r.Page(i + 1)
			if box := p.V.Key("MediaBox"); box.Len() != 0 && (math.Abs(box.Index(2).Float64()-595.28) > 0.01 || math.Abs(box.Index(3).Float64()-841.89) > 0.01) {
				t.Errorf("%s, sheet %d is %s", name, i+1, box)
			}
			for _, f := range p.Fonts() {
				file := p.Font(f).V.Key("DescendantFonts").Index(0).Key("FontDescriptor").Key("FontFile2")
				if file.Kind() != pdf.Stream {
					t.Errorf("%s: font %s is not in it", name, f)
				}
			}
		}
		if !bytes.HasPrefix(r.raw, []byte("%PDF-1.7\n")) {
			t.Errorf("%s begins with %q", name, r.raw[:12])
		}
		if dir := os.Getenv("RAMPSIDE_SHOTS"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, strings.ReplaceAll(name, "/", "-")+".pdf"), r.raw, 0o600); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestTheSameDocumentGivesTheSameBytes(t *testing.T) {
	for name := range documents(t) {
		a, b := set(t, documents(t)[name]), set(t, documents(t)[name])
		if !bytes.Equal(a.raw, b.raw) {
			t.Errorf("%s differs the second time", name)
		}
	}
}

var mark = regexp.MustCompile(`/(\w+) <</MCID (\d+)>> BDC|/Artifact BMC|EMC|\bTj\b| re |\bDo\b| l S`)

// Everything drawn is in the tree once or marked as no part of the text
// (ISO 14289-1, 7.1), and the tree tells it in the order of the drawing.
func TestEverythingDrawnIsInTheTreeInTheOrderOfTheDrawing(t *testing.T) {
	for name, d := range documents(t) {
		r := set(t, d)
		type place struct{ page, number int }
		pages := map[string]int{}
		var drawn []place
		kinds := map[place]string{}
		for i := range r.NumPage() {
			p := r.Page(i + 1)
			if p.V.Key("StructParents").Int64() != int64(i) || p.V.Key("Tabs").Name() != "S" {
				t.Errorf("%s, sheet %d has no place in the tree", name, i+1)
			}
			pages[p.V.Key("Contents").String()] = i + 1
			depth := 0
			for _, m := range mark.FindAllStringSubmatch(r.content(i+1), -1) {
				switch {
				case m[2] != "":
					n, _ := strconv.Atoi(m[2])
					at := place{i + 1, n}
					drawn = append(drawn, at)
					kinds[at] = m[1]
					depth++
				case m[0] == "/Artifact BMC":
					depth++
				case m[0] == "EMC":
					depth--
				case depth != 1:
					t.Fatalf("%s, sheet %d: %q is drawn at depth %d", name, i+1, m[0], depth)
				}
			}
			if depth != 0 {
				t.Errorf("%s, sheet %d: a mark is left open", name, i+1)
			}
		}
		var told []place
		var walk func(e pdf.Value)
		walk = func(e pdf.Value) {
			for i := range e.Key("K").Len() {
				k := e.Key("K").Index(i)
				if k.Key("Type").Name() == "StructElem" {
					walk(k)
					continue
				}
				at := place{pages[k.Key("Pg").Key("Contents").String()], int(k.Key("MCID").Int64())}
				told = append(told, at)
				if kinds[at] != e.Key("S").Name() {
					t.Errorf("%s: %v is marked %s and told as %s", name, at, kinds[at], e.Key("S").Name())
				}
			}
			if e.Key("S").Name() == "Figure" && e.Key("Alt").Text() == "" {
				t.Errorf("%s: a picture without words in its place", name)
			}
		}
		walk(r.Trailer().Key("Root").Key("StructTreeRoot").Key("K").Index(0))
		slices.SortFunc(drawn, func(a, b place) int { return (a.page-b.page)*100_000 + a.number - b.number })
		// A row that goes on overleaf is told cell by cell and drawn sheet by sheet:
		// on each sheet the order is the same.
		slices.SortStableFunc(told, func(a, b place) int { return a.page - b.page })
		if !slices.Equal(told, drawn) {
			t.Errorf("%s: %d pieces are told and %d drawn, or in another order", name, len(told), len(drawn))
		}
	}
}

func TestABillOfTwoHundredLinesIsCarriedForwardFromSheetToSheet(t *testing.T) {
	r := set(t, aBill(200))
	n := r.NumPage()
	if n < 4 || n > 8 {
		t.Errorf("it takes %d sheets", n)
	}
	forward := regexp.MustCompile(`Carriedforward|Broughtforward`)
	amount := func(s, after string) string {
		// The amount is drawn before its words.
		i := strings.Index(s, after)
		if i < 0 {
			return ""
		}
		return s[strings.LastIndex(s[:i], "£"):i]
	}
	carried := ""
	for i := 1; i <= n; i++ {
		s := dense(r.text(i))
		if !strings.Contains(s, fmt.Sprintf("VATinvoiceB-000123,sheet%dof%d", i, n)) {
			t.Errorf("sheet %d does not say which it is", i)
		}
		if heads := strings.Count(s, "Howmany"); forward.MatchString(s) && heads != 1 {
			t.Errorf("sheet %d has %d rows of heads over its columns", i, heads)
		}
		if got := amount(s, "Broughtforward"); got != carried {
			t.Errorf("sheet %d brings %s forward, of %s", i, got, carried)
		}
		carried = amount(s, "Carriedforward")
	}
	if carried != "" {
		t.Errorf("the last sheet carries %s forward", carried)
	}
}

func TestAFigureIsCutAtItsPoint(t *testing.T) {
	for s, want := range map[string][2]string{
		"£1,234.50": {"£1,234", ".50"}, "1.6 h": {"1", ".6 h"}, "2": {"2", ""}, "12 l": {"12", " l"}, "1,234": {"1,234", ""}, "12,50 €": {"12", ",50 €"},
		"20%": {"20", "%"}, "17.5%": {"17", ".5%"}, "none": {"none", ""}, "": {"", ""}, "−£0.05": {"−£0", ".05"}, "¥1,000": {"¥1,000", ""},
	} {
		if a, b := point(s); a != want[0] || b != want[1] {
			t.Errorf("%q is %q and %q", s, a, b)
		}
	}
}

// What the Go fonts hold is read off the fonts themselves: Latin with Extended
// A, Greek, Cyrillic (the set of WGL4, as golang.org/x/image/font/gofont says).
func TestWhatTheFontHasNotIsSeenToBeMissing(t *testing.T) {
	for s, want := range map[string]string{
		"Łukasz Ö ş Ș ğ İ ĳ": "Łukasz Ö ş Ș ğ İ ĳ", "Ελένη Жанна": "Ελένη Жанна", "£ € – ’ “” × ½ № Ω µ ≥ √": "£ € – ’ “” × ½ № Ω µ ≥ √",
		"Nguyễn Văn Ạnh": "Nguyên Văn Anh", "e\u0301": "é", "q\u0301": "q", "10\u202fmm a\u2011b ✓": "10\u00a0mm a-b √",
		"車 🚗 ₺": "\uFFFD \uFFFD \uFFFD", "a\u200bb\u202ec\x07d": "abcd", "two\nlines": "two\nlines", "\xff": "\uFFFD",
	} {
		if got := legible(s); got != want {
			t.Errorf("%q becomes %q, want %q", s, got, want)
		}
	}
	if !has()[missing] {
		t.Error("the font has nothing for what it has not")
	}
	b := aQuote()
	b.To.Name = "山田 Łukasz"
	if text := set(t, b).text(1); !strings.Contains(text, "\uFFFD\uFFFD Łukasz") {
		t.Errorf("on paper: %.200s", text)
	}
}

func TestAPictureThatIsNoneIsAnError(t *testing.T) {
	h := aHandover(t)
	h.Photos[1].JPEG = []byte("no picture")
	if err := h.Write(io.Discard); err == nil {
		t.Error("it was taken")
	}
}
