package picture

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"strings"

	"github.com/bep/imagemeta"
	"golang.org/x/image/webp"
)

// format is a kind of picture that is taken, with its own decoders: not those
// that some package or other has registered with image.
type format struct {
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
	// measure adds to a cost, whose width and height are set, what opening
	// the picture takes.
	measure func([]byte, *cost) error
	meta    imagemeta.ImageFormat
}

var (
	jpegFormat = format{jpeg.DecodeConfig, jpeg.Decode, measureJPEG, imagemeta.JPEG}
	pngFormat  = format{png.DecodeConfig, png.Decode, measurePNG, imagemeta.PNG}
	webpFormat = format{webp.DecodeConfig, webp.Decode, measureWebP, imagemeta.WebP}
)

const sendAnother = "send it as a JPEG, PNG or WebP photo"

// sniff tells by its first bytes what a file is; its name and what the
// browser called it count for nothing. What is not taken is told by its name
// where it is something that people do send.
func sniff(b []byte) (format, error) {
	has := func(at int, magic string) bool {
		return len(b) >= at+len(magic) && string(b[at:at+len(magic)]) == magic
	}
	no := func(what string) (format, error) {
		return format{}, refuse(nil, "%s: %s", what, sendAnother)
	}
	switch {
	case len(b) == 0:
		return format{}, refuse(nil, "this file is empty: please send the photo again")
	case has(0, "\xff\xd8\xff"):
		return jpegFormat, nil
	case has(0, "\x89PNG\r\n\x1a\n"):
		return pngFormat, nil
	case has(0, "RIFF") && has(8, "WEBP"):
		return webpFormat, nil
	case has(4, "ftyp"):
		return format{}, isoMedia(b)
	case has(0, "GIF8"):
		return no("this is a GIF, not a photo")
	case has(0, "%PDF-"):
		return no("this is a PDF document, not a photo")
	case has(0, "II*\x00"), has(0, "MM\x00*"), has(0, "II+\x00"), has(0, "MM\x00+"):
		return no("this is a TIFF or a camera's raw file")
	case has(0, "BM") && len(b) > 26:
		return no("this is a BMP picture")
	case has(0, "\xff\x0a"), has(0, "\x00\x00\x00\x0cJXL "):
		return no("this is a JPEG XL picture, which not every browser can show")
	case has(0, "\x1aE\xdf\xa3"), has(0, "RIFF") && has(8, "AVI "):
		return no("this is a film, not a photo")
	case has(0, "PK\x03\x04"):
		return no("this is a ZIP file or an office document, not a photo")
	}
	switch start := startOfText(b); {
	case strings.Contains(start, "<svg"):
		return no("this is an SVG drawing, not a photo")
	case strings.HasPrefix(start, "<"):
		return no("this is a web page, not a photo")
	}
	return no("this is not a photo that can be shown")
}

// startOfText gives the beginning of a file as lower-case text, without the
// spaces and the byte order mark in front.
func startOfText(b []byte) string {
	b = bytes.TrimPrefix(b[:min(len(b), 1024)], []byte("\xef\xbb\xbf"))
	return strings.ToLower(string(bytes.TrimLeft(b, " \t\r\n\x00")))
}

// isoMedia names a file of the ISO base media format by the brands in its
// first box (ISO/IEC 14496-12, 4.3; the picture brands are those of ISO/IEC
// 23008-12 and of AVIF 1.1).
func isoMedia(b []byte) error {
	box := string(b[8:min(len(b), 64)])
	for _, brand := range []string{"avif", "avis"} {
		if strings.Contains(box, brand) {
			return refuse(nil, "this is an AVIF picture: %s", sendAnother)
		}
	}
	for _, brand := range []string{"heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1"} {
		if strings.Contains(box, brand) {
			return refuse(nil, "this is a HEIC photo, which most browsers cannot show: in the camera's settings "+
				"set the format to 'most compatible' (JPEG) and take it again, or %s", sendAnother)
		}
	}
	return refuse(nil, "this is a film, not a photo: %s", sendAnother)
}
