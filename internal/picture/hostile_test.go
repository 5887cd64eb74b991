package picture

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/apperr"
)

// withFrame gives a JPEG another size in its frame header.
func withFrame(t testing.TB, j []byte, w, h int) []byte {
	t.Helper()
	j = bytes.Clone(j)
	for i := 2; i+9 < len(j); i += 2 + int(binary.BigEndian.Uint16(j[i+2:])) {
		if j[i+1] >= 0xc0 && j[i+1] <= 0xc2 {
			binary.BigEndian.PutUint16(j[i+5:], uint16(h))
			binary.BigEndian.PutUint16(j[i+7:], uint16(w))
			return j
		}
	}
	t.Fatal("no frame header")
	return nil
}

// pngHeader is a PNG up to its pixels.
func pngHeader(w, h uint32, depth, colour, interlace byte) []byte {
	b := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	return append([]byte("\x89PNG\r\n\x1a\n"), pngChunk("IHDR", append(b, depth, colour, 0, 0, interlace))...)
}

func lossless(w, h int) []byte {
	bits := uint32(w-1) | uint32(h-1)<<14
	return riffChunk("VP8L", append(binary.LittleEndian.AppendUint32([]byte{0x2f}, bits), 0, 0, 0, 0))
}

// bomb is 300 MB of nothing in 300 kB.
var bomb = sync.OnceValue(func() []byte {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	if _, err := io.CopyN(z, zeros{}, 300_000_000); err != nil {
		panic(err) // memory takes it all
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
})

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// scans is a progressive JPEG of one grey plane with n scans, each of a few
// bytes that say "nothing in any block".
func scans(w, h, n int) []byte {
	frame := []byte{8, byte(h >> 8), byte(h), byte(w >> 8), byte(w), 1, 1, 0x11, 0}
	// One code of one bit: end of band, for 2^14 blocks and 14 bits more.
	table := append([]byte{0x10, 1}, make([]byte, 15)...)
	table = append(table, 0xe0)
	quant := append([]byte{0}, bytes.Repeat([]byte{1}, 64)...)
	b := concat([]byte{0xff, 0xd8}, segment(0xdb, string(quant)), segment(0xc2, string(frame)), segment(0xc4, string(table)))
	blocks := ((w + 7) / 8) * ((h + 7) / 8)
	var scan []byte
	acc, bits := 0, 0
	put := func(v, n int) {
		for n--; n >= 0; n-- {
			acc, bits = acc<<1|v>>n&1, bits+1
			if bits == 8 {
				scan = append(scan, byte(acc))
				if byte(acc) == 0xff {
					scan = append(scan, 0)
				}
				acc, bits = 0, 0
			}
		}
	}
	for blocks > 0 {
		put(0, 1)
		put(1<<14-1, 14)
		blocks -= 1<<15 - 1
	}
	for bits != 0 {
		put(1, 1)
	}
	one := append(segment(0xda, "\x01\x01\x00\x01\x3f\x00"), scan...)
	return append(append(b, bytes.Repeat(one, n)...), 0xff, 0xd9)
}

func TestAHostilePictureIsRefusedInWordsAndSoon(t *testing.T) {
	jpg, png, webp := fixture(t, "444.jpg"), fixture(t, "deep.png"), fixture(t, "lossy.webp")
	zlibBomb := bomb()
	for name, c := range map[string]struct {
		b   []byte
		say string
	}{
		"a JPEG that says 65535 by 65535":            {withFrame(t, jpg, 65535, 65535), "4295 megapixels and 50 is the most"},
		"a progressive JPEG that says 65535²":        {withFrame(t, fixture(t, "progressive.jpg"), 65535, 65535), "megapixels"},
		"a PNG that says 65535 by 65535":             {append(pngHeader(65535, 65535, 8, 6, 0), pngChunk("IDAT", zlibBomb)...), "megapixels"},
		"a PNG whose pixels overflow":                {pngHeader(1<<31-1, 1<<31-1, 8, 6, 0), "cannot be opened"},
		"a PNG of one endless row":                   {pngHeader(50_000_000, 1, 1, 0, 0), "which no camera takes"},
		"a WebP that says 16384 by 16384":            {riff(lossless(16384, 16384)), "megapixels"},
		"a WebP that says 2^24 by 2^24":              {riff(extended(0, 1<<24, 1<<24), webp[12:]), "cannot be opened"},
		"a WebP that is larger inside":               {riff(extended(0, 96, 64), lossless(16384, 16384)), "cannot be opened"},
		"just above 50 megapixels":                   {withFrame(t, jpg, 7072, 7071), "51 megapixels"},
		"CMYK of 50 megapixels":                      {withFrame(t, fixture(t, "cmyk.jpg"), 7000, 7000), "too much memory"},
		"progressive of 50 megapixels":               {withFrame(t, fixture(t, "progressive.jpg"), 7000, 7000), "too much memory"},
		"a PNG of 50 megapixels in 16 bits":          {append(pngHeader(7000, 7000, 16, 6, 0), pngChunk("IDAT", zlibBomb)...), "too much memory"},
		"an interlaced PNG of 50 megapixels":         {append(pngHeader(7000, 7000, 8, 6, 1), pngChunk("IDAT", zlibBomb)...), "too much memory"},
		"a WebP of 49 megapixels without loss":       {riff(lossless(7000, 7000)), "too much memory"},
		"a thousand scans":                           {scans(4000, 4000, 1000), "take too long"},
		"a 50 megapixel JPEG of 400 bytes":           {withFrame(t, jpg, 7071, 7071), "damaged"},
		"a PNG with 300 MB where 24 kB are due":      {concat(pngHeader(96, 64, 8, 2, 0), pngChunk("IDAT", zlibBomb), pngChunk("IEND", nil)), "damaged"},
		"a PNG without pixels":                       {concat(pngHeader(96, 64, 8, 2, 0), pngChunk("IEND", nil)), "damaged"},
		"a JPEG of no height":                        {withFrame(t, jpg, 96, 0), "damaged"},
		"a JPEG of 12 bits":                          {bytes.Replace(jpg, []byte{8, 0, 64, 0, 96}, []byte{12, 0, 64, 0, 96}, 1), "rare kind"},
		"a JPEG that stops after its first bytes":    {jpg[:3], "did not arrive whole"},
		"a JPEG whose segments run over the end":     {append(bytes.Clone(jpg[:20]), 0xff, 0xe5, 0xff, 0xff, 1, 2), "did not arrive whole"},
		"a JPEG that is a web page behind its magic": {[]byte("\xff\xd8\xff<html><script>alert(1)</script>" + strings.Repeat(" ", 5000)), "damaged"},
		"a PNG with a wrong checksum":                {bytes.Replace(png, []byte("IDAT"), []byte("IDAU"), 1), "damaged"},
		"a moving WebP":                              {fixture(t, "moving.webp"), "moving picture"},
		"a HEIC":                                     {fixture(t, "pattern.heic"), "'most compatible'"},
		"an AVIF":                                    {fixture(t, "pattern.avif"), "AVIF"},
		"a film":                                     {[]byte("\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00isommp42"), "a film"},
		// 34 bytes that ask a GIF decoder for 65535 by 65535 pixels.
		"a GIF of 34 bytes": {append([]byte("GIF89a\xff\xff\xff\xff\x00\x00\x00,\x00\x00\x00\x00\xff\xff\xff\xff\x00\x02\x02L\x01\x00;"), make([]byte, 5)...), "a GIF"},
		"an SVG":            {[]byte("<?xml version='1.0'?>\n<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"), "an SVG"},
		"a web page":        {[]byte("\xef\xbb\xbf\n <!DOCTYPE html><script>alert(1)</script>"), "a web page"},
		"a PDF":             {[]byte("%PDF-1.7\n"), "a PDF"},
		"a TIFF":            {[]byte("II*\x00\x08\x00\x00\x00"), "a TIFF"},
		"a ZIP":             {[]byte("PK\x03\x04" + strings.Repeat("x", 100)), "a ZIP"},
		"a BMP":             {[]byte("BM" + strings.Repeat("\x00", 60)), "a BMP"},
		"a JPEG XL":         {[]byte("\xff\x0a\x00\x00"), "JPEG XL"},
		"nothing":           {nil, "empty"},
		"a text":            {[]byte("good morning"), "not a photo"},
	} {
		t.Run(name, func(t *testing.T) {
			if msg := refusal(t, bytes.NewReader(c.b), apperr.Invalid); !strings.Contains(msg, c.say) {
				t.Errorf("the message is %q, which does not say %q", msg, c.say)
			}
		})
	}
}

func TestAPhotoThatIsCutShortAnywhereIsRefused(t *testing.T) {
	for _, name := range []string{"444.jpg", "422.jpg", "progressive.jpg", "cmyk.jpg", "deep.png", "interlaced.png", "lossy.webp", "lossless.webp", "clear.webp"} {
		b := fixture(t, name)
		refused := 0
		for n := range b {
			p, err := Process(t.Context(), bytes.NewReader(b[:n]))
			switch {
			case err == nil:
				// The last bytes of a file can be padding, or its end mark.
				if n < len(b)*9/10 && n < len(b)-14 {
					t.Errorf("%s: %d of %d bytes made a picture of %d by %d", name, n, len(b), p.Width, p.Height)
				}
			case !apperr.Is(err, apperr.Invalid):
				t.Errorf("%s: %d of %d bytes: %v", name, n, len(b), err)
			default:
				refused++
			}
		}
		if refused < len(b)*9/10-14 {
			t.Errorf("%s: refused at %d of %d places", name, refused, len(b))
		}
	}
}

// endless is a JPEG that never ends.
type endless struct {
	head []byte
	read int
}

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.head)
	e.head = e.head[n:]
	for i := n; i < len(p); i++ {
		p[i] = 'x'
	}
	e.read += len(p)
	return len(p), nil
}

func TestNoMoreIsReadThanIsTaken(t *testing.T) {
	body := &endless{head: []byte("\xff\xd8\xff\xe0")}
	if msg := refusal(t, body, apperr.TooLarge); !strings.Contains(msg, "larger than 15 MB") {
		t.Errorf("the message is %q", msg)
	}
	if body.read > MaxBytes+1024 {
		t.Errorf("%d bytes were read", body.read)
	}
	large := make([]byte, 16<<20)
	copy(large, fixture(t, "444.jpg"))
	r := bytes.NewReader(large)
	refusal(t, r, apperr.TooLarge)
	if r.Len() != len(large) {
		t.Errorf("%d bytes were read of what was too large to begin with", len(large)-r.Len())
	}
	refusal(t, plain(large), apperr.TooLarge)
	// Exactly as much as is taken, most of it behind the picture's end.
	mustProcess(t, large[:MaxBytes])
	refusal(t, bytes.NewReader(large[:MaxBytes+1]), apperr.TooLarge)
}

func TestAFileThatIsTwoThingsBecomesOne(t *testing.T) {
	page := "<!doctype html><script>alert(document.cookie)</script>"
	for name, b := range map[string][]byte{
		"a page in a comment":     withSegments(fixture(t, "444.jpg"), segment(0xfe, page)),
		"a page behind a JPEG":    append(fixture(t, "444.jpg"), page...),
		"a page in a PNG's text":  withChunks(fixture(t, "deep.png"), pngChunk("tEXt", []byte("Comment\x00"+page))),
		"an archive behind it":    append(fixture(t, "lossy.webp"), "PK\x03\x04"+page...),
		"a second JPEG behind it": append(fixture(t, "444.jpg"), withSegments(fixture(t, "422.jpg"), segment(0xfe, page))...),
		"text that inflates to 300 MB": withChunks(fixture(t, "deep.png"),
			pngChunk("zTXt", append([]byte("Raw profile type iptc\x00\x00"), bomb()...))),
	} {
		t.Run(name, func(t *testing.T) {
			p := mustProcess(t, b)
			corners(t, decoded(t, p.JPEG), red, lime, blue, yellow)
			onlyPixels(t, p.JPEG)
			onlyPixels(t, p.Thumb)
		})
	}
}

func TestAPictureThatTakesLongStopsWhenNobodyWaits(t *testing.T) {
	b := scans(4000, 4000, 20_000) // minutes, if it were let
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	r := &patient{ctx, bytes.NewReader(b)}
	if _, err := jpegFormat.decode(r); !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("the error is %v", err)
	}
	if left := r.r.(*bytes.Reader).Len(); left < len(b)/2 {
		t.Fatalf("all but %d of %d bytes were read before it stopped", left, len(b))
	}
	if _, err := open(ctx, jpegFormat, b); !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("the error is %v", err)
	}
	// That the scans are good ones is seen where there are few.
	p := mustProcess(t, scans(800, 400, 3))
	if p.Width != 800 || p.Height != 400 {
		t.Fatalf("%d by %d", p.Width, p.Height)
	}
}
