package paper

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"unicode/utf16"
)

// bytes ends the document and gives the file, with its structure in it.
func (s *sheet) bytes() ([]byte, error) {
	s.feet()
	var b bytes.Buffer
	if err := s.d.Output(&b); err != nil {
		return nil, fmt.Errorf("set %s: %w", s.name, err)
	}
	f, err := takeApart(b.Bytes())
	if err != nil {
		return nil, fmt.Errorf("set %s: %w", s.name, err)
	}
	if err := f.spellOut(); err != nil {
		return nil, fmt.Errorf("set %s: %w", s.name, err)
	}
	if err := f.addTree(s.tree); err != nil {
		return nil, fmt.Errorf("set %s: %w", s.name, err)
	}
	return f.together(), nil
}

// file is a PDF file as fpdf writes it, taken into its objects: the number of
// an object is its place here, from 1, and objects[0] is nothing.
type file struct {
	objects    [][]byte // "<< … >>" with its stream, without "obj" and "endobj"
	root, info int
}

var (
	crossRef = regexp.MustCompile(`startxref\s+(\d+)\s+%%EOF\s*$`)
	rootRef  = regexp.MustCompile(`/Root (\d+) 0 R`)
	infoRef  = regexp.MustCompile(`/Info (\d+) 0 R`)
	pageHead = []byte("<</Type /Page\n")
)

// takeApart reads the table at the end of the file for where each object is.
func takeApart(b []byte) (file, error) {
	m := crossRef.FindSubmatch(b)
	if m == nil {
		return file{}, fmt.Errorf("no table of objects at the end of the file")
	}
	at, err := strconv.Atoi(string(m[1]))
	if err != nil || at >= len(b) {
		return file{}, fmt.Errorf("the table of objects is not at %s", m[1])
	}
	lines := bytes.Split(b[at:], []byte("\n"))
	var n int
	if _, err := fmt.Sscanf(string(lines[1]), "0 %d", &n); err != nil || len(lines) < n+2 {
		return file{}, fmt.Errorf("the table of objects cannot be read: %q", lines[1])
	}
	offsets := make([]int, n)
	for i := 1; i < n; i++ {
		if offsets[i], err = strconv.Atoi(string(lines[i+2][:10])); err != nil {
			return file{}, fmt.Errorf("object %d: %w", i, err)
		}
	}
	order := append(slices.Clone(offsets[1:]), at)
	slices.Sort(order)
	f := file{objects: make([][]byte, n)}
	for i := 1; i < n; i++ {
		next, _ := slices.BinarySearch(order, offsets[i]+1)
		body := b[offsets[i]:order[next]]
		head := fmt.Appendf(nil, "%d 0 obj", i)
		body, ok := bytes.CutPrefix(body, head)
		body, ended := bytes.CutSuffix(bytes.TrimRight(body, "\n"), []byte("endobj"))
		if !ok || !ended {
			return file{}, fmt.Errorf("object %d is not where the table says", i)
		}
		f.objects[i] = bytes.Trim(body, "\n")
	}
	for _, ref := range []struct {
		re *regexp.Regexp
		to *int
	}{{rootRef, &f.root}, {infoRef, &f.info}} {
		m := ref.re.FindSubmatch(b[at:])
		if m == nil {
			return file{}, fmt.Errorf("the file has no %s", ref.re)
		}
		if *ref.to, err = strconv.Atoi(string(m[1])); err != nil || *ref.to >= n {
			return file{}, fmt.Errorf("the file's %s leads nowhere", ref.re)
		}
	}
	return f, nil
}

func (f *file) add(body []byte) int {
	f.objects = append(f.objects, body)
	return len(f.objects) - 1
}

// addTree writes the structure into the file: the elements, which element a
// mark on a sheet belongs to, and the catalogue's word that there is one.
func (f *file) addTree(t tree) error {
	var pages []int
	for i, o := range f.objects {
		if bytes.HasPrefix(o, pageHead) {
			pages = append(pages, i)
		}
	}
	if len(pages) == 0 {
		return fmt.Errorf("no sheets were found")
	}
	owners := make([][]int, len(pages))
	for i := range pages {
		owners[i] = make([]int, t.next[i+1])
	}
	top := f.add(nil)
	document := f.addElement(t.root, top, pages, owners)
	var nums bytes.Buffer
	for i, page := range pages {
		f.objects[page] = slices.Concat(pageHead, fmt.Appendf(nil, "/StructParents %d\n/Tabs /S\n", i), f.objects[page][len(pageHead):])
		fmt.Fprintf(&nums, "%d [", i)
		for _, o := range owners[i] {
			fmt.Fprintf(&nums, "%d 0 R ", o)
		}
		nums.WriteString("]\n")
	}
	f.objects[top] = fmt.Appendf(nil, "<</Type /StructTreeRoot /K [%d 0 R] /ParentTree <</Nums [%s]>> /ParentTreeNextKey %d>>", document, nums.String(), len(pages))
	end := bytes.LastIndex(f.objects[f.root], []byte(">>"))
	if end < 0 {
		return fmt.Errorf("the catalogue has no end")
	}
	f.objects[f.root] = slices.Concat(f.objects[f.root][:end],
		fmt.Appendf(nil, "/MarkInfo <</Marked true>>\n/StructTreeRoot %d 0 R\n/ViewerPreferences <</DisplayDocTitle true>>\n", top), f.objects[f.root][end:])
	return nil
}

// addElement writes one element and what is in it, and gives its number.
func (f *file) addElement(e *element, parent int, pages []int, owners [][]int) int {
	own := f.add(nil)
	var b bytes.Buffer
	fmt.Fprintf(&b, "<</Type /StructElem /S /%s /P %d 0 R ", e.kind, parent)
	if e.kind == "TH" {
		b.WriteString("/A <</O /Table /Scope /Column>> ")
	}
	if e.alt != "" {
		fmt.Fprintf(&b, "/Alt %s ", hexText(e.alt))
	}
	b.WriteString("/K [")
	for _, k := range e.kids {
		if k.element != nil {
			fmt.Fprintf(&b, "%d 0 R ", f.addElement(k.element, own, pages, owners))
			continue
		}
		owners[k.page-1][k.number] = own
		fmt.Fprintf(&b, "<</Type /MCR /Pg %d 0 R /MCID %d>> ", pages[k.page-1], k.number)
	}
	b.WriteString("]>>")
	f.objects[own] = b.Bytes()
	return own
}

// hexText is a text as UTF-16 in a hexadecimal string.
func hexText(s string) string {
	b := []byte("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		b = fmt.Appendf(b, "%04X", u)
	}
	return string(append(b, '>'))
}

// together writes the file anew. It is of PDF 1.7, which has all that is in it.
func (f *file) together() []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.7\n%\xb5\xb6\xb7\xb8\n")
	offsets := make([]int, len(f.objects))
	for i := 1; i < len(f.objects); i++ {
		offsets[i] = b.Len()
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i, f.objects[i])
	}
	at := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(f.objects))
	for _, o := range offsets[1:] {
		fmt.Fprintf(&b, "%010d 00000 n \n", o)
	}
	fmt.Fprintf(&b, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n>>\nstartxref\n%d\n%%%%EOF\n", len(f.objects), f.root, f.info, at)
	return b.Bytes()
}
