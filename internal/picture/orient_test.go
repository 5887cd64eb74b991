package picture

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"strings"
	"testing"
)

// The table of the Orientation tag in CIPA DC-008 (Exif 2.32), 4.6.4 A: on
// which side of the picture, seen upright, the first row and the first column
// of what is stored belong.
var orientationTable = []struct {
	value       uint16
	row, column string
}{
	{1, "top", "left"},
	{2, "top", "right"},
	{3, "bottom", "right"},
	{4, "bottom", "left"},
	{5, "left", "top"},
	{6, "right", "top"},
	{7, "right", "bottom"},
	{8, "left", "bottom"},
}

// stored gives the picture as a camera would store it whose first row and
// column belong on the given sides of the upright picture.
func stored(upright image.Image, row, column string) *image.RGBA {
	b := upright.Bounds()
	w, h := b.Dx(), b.Dy()
	from := func(side string, x, y int) int { // how far from that side
		switch side {
		case "top":
			return y
		case "bottom":
			return h - 1 - y
		case "left":
			return x
		}
		return w - 1 - x
	}
	size := image.Rect(0, 0, w, h)
	if row == "left" || row == "right" {
		size = image.Rect(0, 0, h, w)
	}
	m := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			m.Set(from(column, x, y), from(row, x, y), upright.At(x, y))
		}
	}
	return m
}

// pattern is the one of the fixtures, at any size.
func pattern(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, [...]color.Color{red, lime, blue, yellow}[2*(2*y/h)+2*x/w])
		}
	}
	return m
}

func TestAPhotoIsTurnedUprightWhicheverWayTheCameraWasHeld(t *testing.T) {
	for _, o := range []order{binary.BigEndian, binary.LittleEndian} {
		for _, row := range orientationTable {
			t.Run(fmt.Sprint(o, " ", row.value), func(t *testing.T) {
				block := exifBlock(o, row.value, "maker", "place", "thumb")
				m := stored(pattern(160, 96), row.row, row.column)
				for kind, b := range map[string][]byte{
					"JPEG": withSegments(jpegOf(t, m, 92), exifSegment(block)),
					"PNG":  withChunks(pngOf(t, m), pngChunk("eXIf", block)),
				} {
					p := mustProcess(t, b)
					if p.Width != 160 || p.Height != 96 {
						t.Fatalf("%s: %d by %d", kind, p.Width, p.Height)
					}
					corners(t, decoded(t, p.JPEG), red, lime, blue, yellow)
					corners(t, decoded(t, p.Thumb), red, lime, blue, yellow)
				}
				// The WebP shows the pattern as it is stored.
				lossy := fixture(t, "lossy.webp")[12:]
				p := mustProcess(t, riff(extended(8, 96, 64), lossy, riffChunk("EXIF", block)))
				want := upright(stored(pattern(96, 64), "top", "left"), turned(row.value))
				if p.Width != want.Rect.Dx() || p.Height != want.Rect.Dy() {
					t.Fatalf("WebP: %d by %d", p.Width, p.Height)
				}
				at := func(x, y int) color.Color { return want.At(want.Rect.Dx()*x/4, want.Rect.Dy()*y/4) }
				corners(t, decoded(t, p.JPEG), at(1, 1), at(3, 1), at(1, 3), at(3, 3))
			})
		}
	}
}

func TestEveryPixelGoesToItsPlace(t *testing.T) {
	up := image.NewRGBA(image.Rect(0, 0, 5, 3))
	for i := range 15 {
		up.Set(i%5, i/5, color.RGBA{uint8(i), uint8(100 + i), uint8(200 - i), 255})
	}
	for _, row := range orientationTable {
		got := upright(stored(up, row.row, row.column), turned(row.value))
		if got.Rect != up.Rect || !bytes.Equal(got.Pix, up.Pix) {
			t.Errorf("orientation %d: %v", row.value, got.Pix)
		}
	}
}

func TestMetadataThatMakesNoSenseCostsNobodyThePhoto(t *testing.T) {
	good := exifBlock(binary.BigEndian, 6, "maker", "place", "thumb")
	blocks := map[string][]byte{
		"orientation 0":     exifBlock(binary.BigEndian, 0, "", "", ""),
		"orientation 9":     exifBlock(binary.LittleEndian, 9, "", "", ""),
		"orientation 65535": exifBlock(binary.LittleEndian, 65535, "", "", ""),
		"nothing":           nil,
		"noise":             []byte(strings.Repeat("\xa7\x00\xff", 999)),
		"a directory without end": append([]byte("MM\x00*\x00\x00\x00\x08\xff\xff"),
			bytes.Repeat([]byte{0x01, 0x0f, 0, 3, 0, 0, 0, 1, 0, 0, 0, 0}, 3000)...),
	}
	for i := range good {
		blocks[fmt.Sprintf("cut at %d", i)] = good[:i]
	}
	for what, block := range blocks {
		for kind, b := range map[string][]byte{
			"JPEG": withSegments(fixture(t, "444.jpg"), exifSegment(block)),
			"PNG":  withChunks(fixture(t, "deep.png"), pngChunk("eXIf", block)),
			"WebP": riff(extended(8, 96, 64), fixture(t, "lossy.webp")[12:], riffChunk("EXIF", block)),
		} {
			p := mustProcess(t, b)
			// A block that is cut off behind the tag is still good for it.
			if p.Width+p.Height != 96+64 || p.Width != 96 && !strings.HasPrefix(what, "cut") {
				t.Fatalf("%s, %s: %d by %d", kind, what, p.Width, p.Height)
			}
		}
	}
}

// A directory may point to many others. Followed to the end, this one has a
// hundred million entries.
func TestMetadataThatLeadsInCirclesIsNotFollowed(t *testing.T) {
	const entries, subs = 60_000, 2000
	o := binary.BigEndian
	b := append([]byte("MM\x00*"), 0, 0, 0, 8)
	b = o.AppendUint16(b, entries)
	list := uint32(8 + 2 + 12*entries + 4)
	b = o.AppendUint32(o.AppendUint32(append(b, 0x01, 0x4a, 0, 4), subs), list)
	for range entries - 1 {
		b = append(b, 0x9c, 0x9c, 0, 2, 0, 2, 0, 0, 0, 0, 0, 0)
	}
	b = o.AppendUint32(b, 0)
	for range subs {
		b = o.AppendUint32(b, 8)
	}
	mustProcess(t, withChunks(fixture(t, "deep.png"), pngChunk("eXIf", b)))
}
