// Package qr draws a link as a QR code (ISO/IEC 18004) in SVG, for the printed
// card: a tablet's camera reads it and opens the card.
//
// The picture is drawn with attributes only. A page whose Content-Security-
// Policy forbids inline styles shows it as it is, and so does a printer.
package qr

import (
	"context"
	"fmt"
	"html"
	"io"
	"net/url"
	"strconv"
	"sync"

	"rsc.io/qr"
)

const (
	// Quiet is the blank margin around the code, in modules: ISO/IEC 18004
	// asks for four, and a reader that meets print at the edge may find
	// nothing.
	Quiet = 4
	// MaxLength is the longest link that is drawn, in bytes. A longer one
	// would have modules too small to be read off a card.
	MaxLength = 300
	// pixels is how large a module is where no stylesheet says otherwise.
	pixels = 4
)

// Code is the QR code of one link.
type Code struct {
	// Link is what the code says.
	Link string
	// Size is the length of a side in modules, with the quiet margin.
	Size int
	// Path is the outline of the dark modules, as the d attribute of an SVG
	// path has it, in modules.
	Path string
}

// Encode makes the code of an absolute http or https link, at the error
// correction level M, which stands 15 % of the code being dirty or worn.
func Encode(link string) (Code, error) {
	u, err := url.Parse(link)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		return Code{}, fmt.Errorf("a QR code needs a whole link, with http:// or https://: %q", link)
	}
	if len(link) > MaxLength {
		return Code{}, fmt.Errorf("a link of %d bytes is too long for a QR code on a card; %d is the most", len(link), MaxLength)
	}
	if code, ok := lately.get(link); ok {
		return code, nil
	}
	c, err := qr.Encode(link, qr.M)
	if err != nil {
		return Code{}, fmt.Errorf("the QR code of a link: %w", err)
	}
	code := Code{Link: link, Size: c.Size + 2*Quiet, Path: outline(c.Size, c.Black)}
	lately.put(code)
	return code, nil
}

// lately holds the codes made lately: a card is looked at again and again, and
// its code is a tenth of the work.
var lately = memory{codes: map[string]Code{}}

// remembers is how many codes are held: some 10 KB each.
const remembers = 200

type memory struct {
	mu    sync.Mutex
	codes map[string]Code
}

func (m *memory) get(link string) (Code, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	c, ok := m.codes[link]
	return c, ok
}

// put forgets all when there are too many: that is rare, and they are soon
// made again.
func (m *memory) put(c Code) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.codes) >= remembers {
		clear(m.codes)
	}
	m.codes[c.Link] = c
}

// outline draws each run of dark modules in a row as one rectangle, so that
// no hairline shows between two of them.
func outline(size int, dark func(x, y int) bool) string {
	b := make([]byte, 0, 8192)
	for y := range size {
		for x := 0; x < size; x++ {
			start := x
			for x < size && dark(x, y) {
				x++
			}
			if n := x - start; n > 0 {
				b = strconv.AppendInt(append(b, 'M'), int64(start+Quiet), 10)
				b = strconv.AppendInt(append(b, ' '), int64(y+Quiet), 10)
				b = strconv.AppendInt(append(b, 'h'), int64(n), 10)
				b = strconv.AppendInt(append(b, "v1h-"...), int64(n), 10)
				b = append(b, 'z')
			}
		}
	}
	return string(b)
}

// ViewBox is the viewBox attribute of an SVG that is drawn around Path.
func (c Code) ViewBox() string {
	n := strconv.Itoa(c.Size)
	return "0 0 " + n + " " + n
}

// SVG gives the whole picture. The label is read out in its place: say what
// the link opens.
func (c Code) SVG(label string) string {
	side := strconv.Itoa(c.Size * pixels)
	module := strconv.Itoa(c.Size)
	return `<svg xmlns="http://www.w3.org/2000/svg" class="qr" role="img" aria-label="` + html.EscapeString(label) +
		`" width="` + side + `" height="` + side + `" viewBox="` + c.ViewBox() + `" shape-rendering="crispEdges">` +
		`<rect width="` + module + `" height="` + module + `" fill="#fff"/><path d="` + c.Path + `" fill="#000"/></svg>`
}

// Labelled is the picture as a component of a template.
func (c Code) Labelled(label string) Component { return Component{c, label} }

// Component writes a Code where a template asks for it; it is a
// templ.Component.
type Component struct {
	code  Code
	label string
}

// Render writes the picture.
func (c Component) Render(_ context.Context, w io.Writer) error {
	_, err := io.WriteString(w, c.code.SVG(c.label))
	return err
}
