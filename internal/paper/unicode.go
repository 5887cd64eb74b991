package paper

import (
	"bytes"
	"compress/zlib"
	"fmt"
)

// spellOut mends what fpdf says of its fonts' characters. It maps all codes to
// themselves in one range, <0000> to <FFFF>; a range may only vary in its last
// byte (ISO 32000-1, 9.10.3), and readers that hold to that copy Ł as A. Here
// is one range for each first byte.
func (f *file) spellOut() error {
	for i, o := range f.objects {
		if !bytes.Contains(o, []byte("1 beginbfrange\n<0000> <FFFF> <0000>\nendbfrange")) {
			continue
		}
		var raw bytes.Buffer
		raw.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n" +
			"/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n" +
			"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n")
		const most = 64 // of the hundred that one block may hold
		for from := 0; from < 256; from += most {
			fmt.Fprintf(&raw, "%d beginbfrange\n", most)
			for b := from; b < from+most; b++ {
				fmt.Fprintf(&raw, "<%02X00> <%02XFF> <%02X00>\n", b, b, b)
			}
			raw.WriteString("endbfrange\n")
		}
		raw.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n")
		var packed bytes.Buffer
		z := zlib.NewWriter(&packed)
		if _, err := z.Write(raw.Bytes()); err != nil {
			return fmt.Errorf("pack the table of characters: %w", err)
		}
		if err := z.Close(); err != nil {
			return fmt.Errorf("pack the table of characters: %w", err)
		}
		f.objects[i] = fmt.Appendf(nil, "<</Filter /FlateDecode /Length %d>>\nstream\n%s\nendstream", packed.Len(), packed.Bytes())
	}
	return nil
}
