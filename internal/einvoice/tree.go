package einvoice

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Limits on what is read. An invoice of a thousand lines has some 40,000
// elements and is under 3 MB.
const (
	maxBytes    = 4 << 20
	maxDepth    = 16
	maxElements = 100_000
	maxAttrs    = 16
)

// ErrNotRead says that a file is no electronic invoice that can be read here.
// Errors that wrap it say what is the matter.
var ErrNotRead = errors.New("this is not an electronic invoice that can be read")

// tree is an element as read.
type tree struct {
	xml.StartElement
	text []byte
	kids []*tree
}

// readTree reads a whole document. It holds no entity but the five of XML
// itself, no document type, no processing instruction besides the declaration.
func readTree(r io.Reader) (*tree, error) {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	dec := xml.NewDecoder(limited)
	var root *tree
	var open []*tree
	elements := 0
	for {
		tok, err := dec.Token()
		if limited.N <= 0 {
			return nil, fmt.Errorf("%w: it is larger than %d MB", ErrNotRead, maxBytes>>20)
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%w: %w", ErrNotRead, err)
		}
		switch tok := tok.(type) {
		case xml.Directive:
			return nil, fmt.Errorf("%w: it declares a document type", ErrNotRead)
		case xml.ProcInst:
			if tok.Target != "xml" {
				return nil, fmt.Errorf("%w: it has a processing instruction", ErrNotRead)
			}
		case xml.StartElement:
			e := &tree{StartElement: tok.Copy()}
			elements++
			switch {
			case len(open) == 0 && root != nil:
				return nil, fmt.Errorf("%w: it has two roots", ErrNotRead)
			case len(open) >= maxDepth || elements > maxElements || len(tok.Attr) > maxAttrs:
				return nil, fmt.Errorf("%w: it is nested too deep or has too many parts", ErrNotRead)
			case len(open) == 0:
				root = e
			default:
				up := open[len(open)-1]
				up.kids = append(up.kids, e)
			}
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				up := open[len(open)-1]
				up.text = append(up.text, tok...)
			} else if strings.TrimSpace(string(tok)) != "" {
				return nil, fmt.Errorf("%w: there is text outside it", ErrNotRead)
			}
		}
	}
	if root == nil {
		return nil, fmt.Errorf("%w: it is empty", ErrNotRead)
	}
	return root, nil
}

// reader walks a tree and keeps the first problem. Its errors name the rule of
// EN 16931 or Peppol where there is one.
type reader struct {
	currency string
	err      error
}

func (r *reader) fail(format string, args ...any) {
	if r.err == nil {
		r.err = fmt.Errorf("%w: "+format, append([]any{ErrNotRead}, args...)...)
	}
}

// one finds the only child of a path such as "cac:Item/cbc:Name"; nil when
// there is none, a problem when there are several.
func (r *reader) one(t *tree, path string) *tree {
	for name := range strings.SplitSeq(path, "/") {
		found := all(t, name)
		if len(found) > 1 {
			r.fail("%s stands more than once in %s", name, t.Name.Local)
		}
		if len(found) == 0 {
			return nil
		}
		t = found[0]
	}
	return t
}

// all finds the children of a name.
func all(t *tree, name string) []*tree {
	if t == nil {
		return nil
	}
	prefix, local, _ := strings.Cut(name, ":")
	space := nsCBC
	if prefix == "cac" {
		space = nsCAC
	}
	var out []*tree
	for _, k := range t.kids {
		if k.Name.Local == local && k.Name.Space == space {
			out = append(out, k)
		}
	}
	return out
}

// str is the text of the only child of a path, empty when there is none.
func (r *reader) str(t *tree, path string) string {
	if c := r.one(t, path); c != nil {
		return clean(string(c.text))
	}
	return ""
}

func (r *reader) id(t *tree, path string) Identifier {
	c := r.one(t, path)
	if c == nil {
		return Identifier{}
	}
	return Identifier{Scheme: c.attr("schemeID"), Value: clean(string(c.text))}
}

func (t *tree) attr(name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return clean(a.Value)
		}
	}
	return ""
}
