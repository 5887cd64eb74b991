package qr

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/a-h/templ"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

var _ templ.Component = Component{}

// svg is what the picture may consist of; anything else fails to be read.
type svg struct {
	XMLName xml.Name   `xml:"http://www.w3.org/2000/svg svg"`
	Attr    []xml.Attr `xml:",any,attr"`
	Rect    []struct {
		Attr []xml.Attr `xml:",any,attr"`
	} `xml:"rect"`
	Path []struct {
		Attr []xml.Attr `xml:",any,attr"`
	} `xml:"path"`
	Other []struct{ XMLName xml.Name } `xml:",any"`
}

func attr(t *testing.T, attrs []xml.Attr, name string) string {
	t.Helper()
	for _, a := range attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	t.Fatalf("no attribute %s in %v", name, attrs)
	return ""
}

func number(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

var run = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`)

// drawn rasterises the SVG as a browser does, at scale pixels for a module,
// and knows nothing of how it was made.
func drawn(t *testing.T, markup string, scale int) *image.Gray {
	t.Helper()
	var s svg
	if err := xml.Unmarshal([]byte(markup), &s); err != nil {
		t.Fatal(err)
	}
	if len(s.Rect) != 1 || len(s.Path) != 1 || len(s.Other) != 0 {
		t.Fatalf("the picture has parts it should not have: %+v", s)
	}
	box := strings.Fields(attr(t, s.Attr, "viewBox"))
	if len(box) != 4 || box[0] != "0" || box[1] != "0" || box[2] != box[3] {
		t.Fatalf("viewBox %v", box)
	}
	size := number(t, box[2])
	if attr(t, s.Rect[0].Attr, "width") != box[2] || attr(t, s.Rect[0].Attr, "height") != box[2] || attr(t, s.Rect[0].Attr, "fill") != "#fff" {
		t.Fatalf("the ground is not white all over: %+v", s.Rect[0])
	}
	if attr(t, s.Path[0].Attr, "fill") != "#000" {
		t.Fatal("the modules are not black")
	}
	m := image.NewGray(image.Rect(0, 0, size*scale, size*scale))
	for i := range m.Pix {
		m.Pix[i] = 255
	}
	d := attr(t, s.Path[0].Attr, "d")
	if rest := run.ReplaceAllString(d, ""); rest != "" {
		t.Fatalf("the path has more than rectangles: %q", rest)
	}
	for _, r := range run.FindAllStringSubmatch(d, -1) {
		x, y, w := number(t, r[1]), number(t, r[2]), number(t, r[3])
		if r[3] != r[4] {
			t.Fatalf("%s does not come back to where it began", r[0])
		}
		for py := y * scale; py < (y+1)*scale; py++ {
			for px := x * scale; px < (x+w)*scale; px++ {
				m.SetGray(px, py, color.Gray{})
			}
		}
	}
	return m
}

// read reads a picture of a code with another library than the one that drew
// it, as a camera would find it: somewhere in the picture.
func read(t *testing.T, m image.Image) (text, level string) {
	t.Helper()
	bitmap, err := gozxing.NewBinaryBitmapFromImage(m)
	if err != nil {
		t.Fatal(err)
	}
	result, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
	if err != nil {
		t.Fatal(err)
	}
	return result.GetText(), fmt.Sprint(result.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL])
}

func links() []string {
	all := []string{
		"http://a.example/",
		"https://192.0.2.7:8443/cards/17",
		"https://garage.example/your-car/k7Jq2mX9bZ-4Tt0Vw_R8sNfGh3LpYcUd?x=1&y=%C3%A9#top",
		"HTTPS://GARAGE.EXAMPLE/CARD/17", // capitals are written in another mode
		"https://garage.example/café/№7", // and this in UTF-8
	}
	for n := len("https://garage.example/"); n <= MaxLength; n += 13 {
		all = append(all, "https://garage.example/"+strings.Repeat("k7Jq2mX9bZ-4", 40)[:n-len("https://garage.example/")])
	}
	long := "https://garage.example/"
	return append(all, long+strings.Repeat("z", MaxLength-len(long)))
}

func TestAnotherReaderReadsTheLinkBack(t *testing.T) {
	for _, link := range links() {
		c, err := Encode(link)
		if err != nil {
			t.Fatal(err)
		}
		text, level := read(t, drawn(t, c.SVG("Opens the card"), 3))
		if text != link || level != "M" {
			t.Errorf("%q was read as %q, at level %s", link, text, level)
		}
	}
}

// A thumb-print in the middle of the code: level M stands 15 % of it.
func TestADirtyCodeIsStillRead(t *testing.T) {
	for _, link := range links() {
		c, err := Encode(link)
		if err != nil {
			t.Fatal(err)
		}
		const scale = 4
		m := drawn(t, c.SVG("Opens the card"), scale)
		inner := c.Size - 2*Quiet
		spot := inner / 5 // a square of 4 %, of which half the modules change
		from := (c.Size - spot) / 2 * scale
		for y := from; y < from+spot*scale; y++ {
			for x := from; x < from+spot*scale; x++ {
				m.SetGray(x, y, color.Gray{})
			}
		}
		if text, _ := read(t, m); text != link {
			t.Errorf("%q was read as %q", link, text)
		}
	}
}

func TestFourModulesAroundTheCodeStayWhite(t *testing.T) {
	for _, link := range links() {
		c, err := Encode(link)
		if err != nil {
			t.Fatal(err)
		}
		if (c.Size-2*4-21)%4 != 0 || c.Size < 21+2*4 {
			t.Fatalf("a side of %d modules", c.Size)
		}
		m := drawn(t, c.SVG(""), 1)
		first := image.Rectangle{Min: image.Pt(c.Size, c.Size)}
		for y := range c.Size {
			for x := range c.Size {
				if m.GrayAt(x, y).Y == 0 {
					first.Min.X, first.Min.Y = min(first.Min.X, x), min(first.Min.Y, y)
					first.Max.X, first.Max.Y = max(first.Max.X, x+1), max(first.Max.Y, y+1)
				}
			}
		}
		if want := image.Rect(4, 4, c.Size-4, c.Size-4); first.Min != want.Min || first.Max != want.Max {
			t.Errorf("%q: the dark modules lie in %v, not in %v", link, first, want)
		}
	}
}

func TestThePictureNeedsNoStyleAndNoScript(t *testing.T) {
	c, err := Encode("https://garage.example/cards/17?a=1&b=2")
	if err != nil {
		t.Fatal(err)
	}
	label := `Opens "card 17" <b>&</b>`
	var b bytes.Buffer
	if err := c.Labelled(label).Render(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	out := b.String()
	if out != c.SVG(label) {
		t.Fatal("the component writes something else")
	}
	for _, no := range []string{"style", "script", "<b>", "onload", "href", "url("} {
		if strings.Contains(out, no) {
			t.Errorf("there is %q in %s", no, out)
		}
	}
	var s svg
	if err := xml.Unmarshal([]byte(out), &s); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"aria-label": label, "role": "img", "shape-rendering": "crispEdges", "class": "qr"} {
		if got := attr(t, s.Attr, name); got != want {
			t.Errorf("%s is %q", name, got)
		}
	}
}

func TestWhatIsNotAWholeLinkIsRefused(t *testing.T) {
	for _, link := range []string{
		"", "/cards/17", "garage.example/cards/17", "javascript:alert(1)", "mailto:desk@garage.example", "https://", "http:///x",
		"https://garage.example/\x00", "https://garage.example/" + strings.Repeat("z", MaxLength),
	} {
		if c, err := Encode(link); err == nil {
			t.Errorf("%q became a code of %d modules", link, c.Size)
		}
	}
}
