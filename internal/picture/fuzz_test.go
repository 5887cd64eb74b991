package picture

import (
	"bytes"
	"encoding/binary"
	"image/jpeg"
	"path/filepath"
	"testing"

	"rampside/internal/apperr"
)

// A picture, or an answer to whoever sent it; never a panic, never anything
// but pixels.
func FuzzProcess(f *testing.F) {
	names, err := filepath.Glob("testdata/*.*")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range names {
		f.Add(fixture(f, filepath.Base(name)))
	}
	f.Add(scans(64, 64, 3))
	f.Add(riff(extended(8, 96, 64), fixture(f, "lossy.webp")[12:], riffChunk("EXIF", []byte("II*\x00\x08\x00\x00\x00"))))
	f.Add(withSegments(fixture(f, "444.jpg"), exifSegment(exifBlock(binary.BigEndian, 6, "maker", "place", "thumb"))))
	f.Add(withChunks(fixture(f, "deep.png"), pngChunk("eXIf", exifBlock(binary.BigEndian, 8, "", "", ""))))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Process(t.Context(), bytes.NewReader(b))
		if err != nil {
			if k := apperr.KindOf(err); k != apperr.Invalid && k != apperr.TooLarge {
				t.Fatal(err)
			}
			return
		}
		for _, out := range []struct {
			b          []byte
			w, h, most int
		}{{p.JPEG, p.Width, p.Height, MaxSide}, {p.Thumb, p.ThumbW, p.ThumbH, ThumbSide}} {
			onlyPixels(t, out.b)
			c, err := jpeg.DecodeConfig(bytes.NewReader(out.b))
			if err != nil || c.Width != out.w || c.Height != out.h || max(c.Width, c.Height) > out.most {
				t.Fatalf("%d by %d, said to be %d by %d: %v", c.Width, c.Height, out.w, out.h, err)
			}
		}
	})
}
