package picture

import (
	"bytes"
	"encoding/binary"
	"strings"
	"testing"

	"github.com/bep/imagemeta"
)

// tells are words that the files below carry in every place where a file can
// carry a word. None may come out.
const tell = "TELL-TALE"

func TestNothingButThePixelsComesOut(t *testing.T) {
	exif := exifBlock(binary.LittleEndian, 1, tell+" maker", tell+" place", tell+" thumb")
	xmp := "http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta xmlns:x='adobe:ns:meta/'>" + tell + "</x:xmpmeta>"
	iptc := "\x1c\x02\x78\x00\x09" + tell // record 2:120, the caption
	resource := "Photoshop 3.0\x008BIM\x04\x04\x00\x00\x00\x00\x00" + string(rune(len(iptc))) + iptc
	behind := "<!doctype html><script>alert('" + tell + "')</script>PK\x03\x04" + strings.Repeat(tell, 100)

	for name, b := range map[string][]byte{
		"JPEG": append(withSegments(fixture(t, "422.jpg"),
			exifSegment(exif),
			segment(0xe1, xmp),
			segment(0xed, resource),
			segment(0xe2, "ICC_PROFILE\x00\x01\x01"+tell),
			segment(0xe2, "MPF\x00"+tell),
			segment(0xfe, "<script>"+tell+"</script>"),
			segment(0xef, tell),
		), behind...),
		"progressive JPEG": append(withSegments(fixture(t, "progressive.jpg"), segment(0xfe, tell)), behind...),
		"PNG": append(withChunks(fixture(t, "clear.png"),
			pngChunk("eXIf", exif),
			pngChunk("tEXt", []byte("Comment\x00"+tell)),
			pngChunk("iTXt", []byte("XML:com.adobe.xmp\x00\x00\x00\x00\x00"+xmp)),
			pngChunk("teLl", []byte(tell)),
		), behind...),
		"WebP": append(riff(extended(8|4|32, 96, 64),
			riffChunk("ICCP", []byte(tell)),
			fixture(t, "lossy.webp")[12:],
			riffChunk("EXIF", exif),
			riffChunk("XMP ", []byte(xmp)),
			riffChunk("TELL", []byte(tell)),
		), behind...),
	} {
		t.Run(name, func(t *testing.T) {
			if n := bytes.Count(b, []byte(tell)); n < 3 {
				t.Fatalf("the file carries the word only %d times", n)
			}
			p := mustProcess(t, b)
			for _, out := range [][]byte{p.JPEG, p.Thumb} {
				for _, word := range []string{tell, "script", "Exif", "http", "Photoshop", "8BIM", "ICC_", "MPF", "PK\x03\x04"} {
					if bytes.Contains(out, []byte(word)) {
						t.Errorf("%q came out", word)
					}
				}
				onlyPixels(t, out)
			}
		})
	}
}

// onlyPixels fails when a JPEG has any segment but the tables, the frame and
// the scan, or anything behind its end.
func onlyPixels(t *testing.T, b []byte) {
	t.Helper()
	if len(b) < 4 || b[0] != 0xff || b[1] != 0xd8 {
		t.Fatal("not a JPEG")
	}
	for i := 2; ; {
		if i+4 > len(b) || b[i] != 0xff {
			t.Fatalf("no segment at %d", i)
		}
		marker := b[i+1]
		switch marker {
		case 0xdb, 0xc0, 0xc4, 0xda: // DQT, SOF0, DHT, SOS
		default:
			t.Fatalf("a segment %#x at %d", marker, i)
		}
		i += 2 + int(binary.BigEndian.Uint16(b[i+2:]))
		if marker == 0xda {
			end := bytes.Index(b[i:], []byte{0xff, 0xd9})
			if end < 0 || i+end+2 != len(b) {
				t.Fatalf("the picture ends at %d of %d", i+end+2, len(b))
			}
			break
		}
	}
	_, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(b), ImageFormat: imagemeta.JPEG,
		Sources:         imagemeta.EXIF | imagemeta.IPTC | imagemeta.XMP,
		ShouldHandleTag: func(imagemeta.TagInfo) bool { return true },
		HandleTag: func(tag imagemeta.TagInfo) error {
			t.Errorf("a tag came out: %v", tag)
			return nil
		},
	})
	if err != nil {
		t.Error(err)
	}
}
