package paper

import (
	"fmt"
	"html"
	"strconv"
)

// The structure of a document beside its drawing (ISO 32000-1, 14.7): fpdf
// draws, and what is drawn is marked with a number on its sheet; the tree says
// which element has which numbers. file.go writes the tree into the file.

type element struct {
	kind string
	// alt is read out in place of a picture.
	alt  string
	kids []kid
}

// kid is an element, or what is drawn on a sheet under a number.
type kid struct {
	element *element
	page    int // from 1
	number  int
}

type tree struct {
	root *element
	open []*element
	// next is the number of the next mark on each sheet.
	next map[int]int
}

func (t *tree) start() {
	t.root = &element{kind: "Document"}
	t.open = []*element{t.root}
	t.next = map[int]int{}
}

// in has what draw sets belong to an element of a kind.
func (s *sheet) in(kind string, draw func()) {
	s.inAlt(kind, "", draw)
}

func (s *sheet) inAlt(kind, alt string, draw func()) {
	e := &element{kind: kind, alt: alt}
	up := s.tree.open[len(s.tree.open)-1]
	up.kids = append(up.kids, kid{element: e})
	s.tree.open = append(s.tree.open, e)
	draw()
	s.tree.open = s.tree.open[:len(s.tree.open)-1]
}

// marked has what draw writes be a piece of the open element. draw stays on
// one sheet.
func (s *sheet) marked(draw func()) {
	e := s.tree.open[len(s.tree.open)-1]
	page := s.d.PageNo()
	n := s.tree.next[page]
	s.tree.next[page]++
	e.kids = append(e.kids, kid{page: page, number: n})
	s.d.RawWriteStr("/" + e.kind + " <</MCID " + strconv.Itoa(n) + ">> BDC")
	draw()
	s.d.RawWriteStr("EMC")
}

// artifact has what draw writes be no part of what is read.
func (s *sheet) artifact(draw func()) {
	s.d.RawWriteStr("/Artifact BMC")
	draw()
	s.d.RawWriteStr("EMC")
}

// metadata is the title and the language once more, as XMP, where readers of
// tagged files look for them.
func metadata(top Top, name string) []byte {
	at := top.At.UTC().Format("2006-01-02T15:04:05Z")
	return fmt.Appendf(nil, `<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:title>
<dc:language><rdf:Bag><rdf:li>%s</rdf:li></rdf:Bag></dc:language>
<xmp:CreateDate>%s</xmp:CreateDate><xmp:ModifyDate>%s</xmp:ModifyDate>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>`, html.EscapeString(name), html.EscapeString(top.Lang), at, at)
}
