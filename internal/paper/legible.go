package paper

import (
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// missing stands where the font has no character; the Go fonts have it.
const missing = '\uFFFD'

// stand are characters that mean what another one of the font means.
var stand = map[rune]rune{
	'\u2010': '-', '\u2011': '-', '\u2012': '–', '\u2002': ' ', '\u2003': ' ', '\u2009': '\u00a0', '\u202f': '\u00a0',
	'\t': ' ', '\u2028': '\n', '\u2029': '\n', '\u2713': '√', '\u2714': '√',
}

// has is the set of characters of the font.
var has = sync.OnceValue(func() map[rune]bool {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil
	}
	out := map[rune]bool{}
	var b sfnt.Buffer
	for r := rune(0x20); r < 0xFFFE; r++ {
		if g, err := f.GlyphIndex(&b, r); err == nil && g != 0 {
			out[r] = true
		}
	}
	return out
})

// legible gives text that the font can set. A letter with marks that it has
// not keeps those that it has (ễ becomes ê, ạ a); anything else that it has
// not becomes �, so that it is seen that something is missing. What has no
// shape of its own (control characters, directions) is left out; breaks of
// lines stay.
func legible(s string) string {
	font := has()
	var b strings.Builder
	for _, r := range norm.NFC.String(s) {
		if other, ok := stand[r]; ok {
			r = other
		}
		switch {
		case r == '\n' || font[r]:
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // a mark that has no letter of its own with the one before
		case unicode.Is(unicode.C, r) && r < 0x10000:
		default:
			b.WriteString(nearest(r, font))
		}
	}
	return b.String()
}

// nearest is the letter with as many of its marks as the font has.
func nearest(r rune, font map[rune]bool) string {
	parts := []rune(norm.NFD.String(string(r)))
	for n := len(parts) - 1; n > 0; n-- {
		if c := []rune(norm.NFC.String(string(parts[:n]))); len(c) == 1 && font[c[0]] {
			return string(c)
		}
	}
	return string(missing)
}
