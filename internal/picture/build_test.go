package picture

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rampside/internal/apperr"
)

// What the tests take apart and put together: segments of a JPEG, chunks of a
// PNG and of a WebP, and an Exif block.

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// segment is one marker segment of a JPEG.
func segment(marker byte, content string) []byte {
	b := []byte{0xff, marker, 0, 0}
	binary.BigEndian.PutUint16(b[2:], uint16(len(content)+2))
	return append(b, content...)
}

// withSegments puts segments behind the first marker of a JPEG.
func withSegments(j []byte, segments ...[]byte) []byte {
	return concat(append([][]byte{j[:2]}, append(segments, j[2:])...)...)
}

func concat(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

// pngChunk is one chunk of a PNG.
func pngChunk(kind string, content []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(content)))
	b = append(append(b, kind...), content...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// withChunks puts chunks behind the header of a PNG.
func withChunks(p []byte, chunks ...[]byte) []byte {
	const header = 8 + 25
	return concat(append([][]byte{p[:header]}, append(chunks, p[header:])...)...)
}

func riffChunk(kind string, content []byte) []byte {
	b := binary.LittleEndian.AppendUint32([]byte(kind), uint32(len(content)))
	b = append(b, content...)
	if len(content)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// riff puts chunks together to a WebP.
func riff(chunks ...[]byte) []byte {
	body := append([]byte("WEBP"), concat(chunks...)...)
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}

// extended is a VP8X chunk.
func extended(flags byte, w, h int) []byte {
	b := []byte{flags, 0, 0, 0, byte(w - 1), byte((w - 1) >> 8), byte((w - 1) >> 16), byte(h - 1), byte((h - 1) >> 8), byte((h - 1) >> 16)}
	return riffChunk("VP8X", b)
}

// order is what both byte orders of TIFF can do.
type order interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// exifBlock writes a TIFF header and a first directory (TIFF 6.0, section 2;
// Exif 2.32, 4.5) with an orientation, a maker, a place and a thumbnail. The
// words and the thumbnail are as given.
func exifBlock(o order, orientation uint16, maker, place, thumb string) []byte {
	mark := "MM"
	if o.Uint16([]byte{1, 0}) == 1 {
		mark = "II"
	}
	const ifd0, entries, ifd1Entries, gpsEntries = 8, 3, 2, 2
	gps := ifd0 + 2 + 12*entries + 4
	ifd1 := gps + 2 + 12*gpsEntries + 4
	data := ifd1 + 2 + 12*ifd1Entries + 4
	b := o.AppendUint32(o.AppendUint16([]byte(mark), 42), ifd0)
	entry := func(tag, kind uint16, count, value uint32) {
		b = o.AppendUint32(o.AppendUint16(o.AppendUint16(b, tag), kind), count)
		if kind == 3 {
			b = o.AppendUint16(o.AppendUint16(b, uint16(value)), 0)
			return
		}
		b = o.AppendUint32(b, value)
	}
	b = o.AppendUint16(b, entries)
	entry(0x010f, 2, uint32(len(maker)), uint32(data)) // Make
	entry(0x0112, 3, 1, uint32(orientation))
	entry(0x8825, 4, 1, uint32(gps)) // GPS directory
	b = o.AppendUint32(b, uint32(ifd1))
	b = o.AppendUint16(b, gpsEntries)
	entry(0x001b, 7, uint32(len(place)), uint32(data+len(maker))) // GPSProcessingMethod
	entry(0x0002, 5, 3, uint32(data+len(maker)+len(place)))       // GPSLatitude
	b = o.AppendUint32(b, 0)
	b = o.AppendUint16(b, ifd1Entries)
	entry(0x0201, 4, 1, uint32(data+len(maker)+len(place)+24)) // where the thumbnail is
	entry(0x0202, 4, 1, uint32(len(thumb)))
	b = o.AppendUint32(b, 0)
	b = append(append(b, maker...), place...)
	for _, v := range []uint32{50, 1, 12, 1, 3456, 100} {
		b = o.AppendUint32(b, v)
	}
	return append(b, thumb...)
}

func exifSegment(block []byte) []byte { return segment(0xe1, "Exif\x00\x00"+string(block)) }

// photo draws something like a photo: soft shapes, edges and a little noise.
func photo(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	seed := uint32(1)
	for y := range h {
		v := math.Sin(float64(y) / 97)
		for x := range w {
			seed = seed*1664525 + 1013904223
			n := uint8(seed >> 29)
			p := m.Pix[y*m.Stride+4*x:][:4]
			p[0] = uint8(128+60*v) + uint8(x*50/w) + n
			p[1] = uint8(90) + uint8(x*y/7919%64) + n
			p[2] = uint8(200 - y*100/h - x*60/w)
			p[3] = 255
		}
	}
	return m
}

func jpegOf(t testing.TB, m image.Image, quality int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// plain hides that a reader can seek.
func plain(b []byte) io.Reader { return io.MultiReader(bytes.NewReader(b)) }

func mustProcess(t *testing.T, b []byte) Picture {
	t.Helper()
	p, err := Process(t.Context(), bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// refusal processes what is not taken, and gives the message at the field.
func refusal(t *testing.T, r io.Reader, kind apperr.Kind) string {
	t.Helper()
	p, err := Process(context.Background(), r)
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Fields[Field] == "" || p.JPEG != nil {
		t.Fatalf("answered with a picture of %d by %d and %v", p.Width, p.Height, err)
	}
	return e.Fields[Field]
}

func decoded(t *testing.T, b []byte) image.Image {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// near tells whether two colours are the same but for what JPEG does to them.
func near(a, b color.Color) bool {
	r1, g1, b1, _ := a.RGBA()
	r2, g2, b2, _ := b.RGBA()
	d := func(x, y uint32) float64 { return math.Abs(float64(x)-float64(y)) / 257 }
	return d(r1, r2) < 28 && d(g1, g2) < 28 && d(b1, b2) < 28
}
