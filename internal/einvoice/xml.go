package einvoice

import (
	"bytes"
	"encoding/xml"
	"strings"
	"unicode"
)

// elem is an element to be written: text or children, never both.
type elem struct {
	name  string
	attrs []xml.Attr
	text  string
	kids  []*elem
}

// leaf is an element with text; without text there is none, since a document
// must not contain empty elements (PEPPOL-EN16931-R008). attrs are names and
// values in turn; an attribute without a value is left out.
func leaf(name, text string, attrs ...string) *elem {
	if text = clean(text); text == "" {
		return nil
	}
	e := &elem{name: name, text: text}
	for i := 0; i+1 < len(attrs); i += 2 {
		if attrs[i+1] != "" {
			e.attrs = append(e.attrs, xml.Attr{Name: xml.Name{Local: attrs[i]}, Value: attrs[i+1]})
		}
	}
	return e
}

// node is an element with children; with none of them there is none.
func node(name string, kids ...*elem) *elem {
	e := &elem{name: name}
	for _, k := range kids {
		if k != nil {
			e.kids = append(e.kids, k)
		}
	}
	if len(e.kids) == 0 {
		return nil
	}
	return e
}

// clean makes text of one line that XML can hold.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r) || r == unicode.ReplacementChar || r == '\ufffe' || r == '\uffff':
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
	return strings.Join(strings.Fields(s), " ")
}

// marshal writes a document.
func marshal(root *elem) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString(xml.Header)
	enc := xml.NewEncoder(&b)
	enc.Indent("", "  ")
	if err := root.encode(enc); err != nil {
		return nil, err
	}
	if err := enc.Close(); err != nil {
		return nil, err
	}
	b.WriteByte('\n')
	return b.Bytes(), nil
}

func (e *elem) encode(enc *xml.Encoder) error {
	start := xml.StartElement{Name: xml.Name{Local: e.name}, Attr: e.attrs}
	if err := enc.EncodeToken(start); err != nil {
		return err
	}
	if e.text != "" {
		if err := enc.EncodeToken(xml.CharData(e.text)); err != nil {
			return err
		}
	}
	for _, k := range e.kids {
		if err := k.encode(enc); err != nil {
			return err
		}
	}
	return enc.EncodeToken(start.End())
}
