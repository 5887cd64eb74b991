package picture

import (
	"bytes"
	"image"

	"github.com/bep/imagemeta"
)

// turned says which way up a picture was stored: the value of the Exif tag
// Orientation (CIPA DC-008, Exif 2.32, 4.6.4 A, tag 274). It says where the
// first row and the first column of what is stored belong, seen upright.
type turned uint16

const (
	topLeft     turned = 1 // upright as it is
	topRight    turned = 2
	bottomRight turned = 3
	bottomLeft  turned = 4
	leftTop     turned = 5
	rightTop    turned = 6
	rightBottom turned = 7
	leftBottom  turned = 8
)

// orientation reads the tag. Whatever is wrong with a photo's metadata, the
// photo is still worth having: without a tag that makes sense it is taken to
// be upright.
func orientation(kind format, data []byte) turned {
	found := topLeft
	// The error is left aside for the reason above. The tag has two bytes;
	// the limit also keeps a list of sub-directories from being followed.
	_, _ = imagemeta.Decode(imagemeta.Options{
		R:            bytes.NewReader(data),
		ImageFormat:  kind.meta,
		Sources:      imagemeta.EXIF,
		LimitTagSize: 8,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool {
			return tag.Namespace == "IFD0" && tag.Tag == "Orientation"
		},
		HandleTag: func(tag imagemeta.TagInfo) error {
			if v, ok := tag.Value.(uint16); ok && v >= uint16(topLeft) && v <= uint16(leftBottom) {
				found = turned(v)
			}
			return imagemeta.ErrStopWalking
		},
	})
	return found
}

// upright turns and mirrors a picture so that it is seen as it was taken.
func upright(m *image.RGBA, t turned) *image.RGBA {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	// to gives the place of a stored pixel in the upright picture.
	var to func(x, y int) (int, int)
	outW, outH := w, h
	if t >= leftTop {
		outW, outH = h, w
	}
	switch t {
	case topRight:
		to = func(x, y int) (int, int) { return w - 1 - x, y }
	case bottomRight:
		to = func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }
	case bottomLeft:
		to = func(x, y int) (int, int) { return x, h - 1 - y }
	case leftTop:
		to = func(x, y int) (int, int) { return y, x }
	case rightTop:
		to = func(x, y int) (int, int) { return h - 1 - y, x }
	case rightBottom:
		to = func(x, y int) (int, int) { return h - 1 - y, w - 1 - x }
	case leftBottom:
		to = func(x, y int) (int, int) { return y, w - 1 - x }
	default:
		return m
	}
	out := image.NewRGBA(image.Rect(0, 0, outW, outH))
	for y := range h {
		row := m.Pix[y*m.Stride:]
		for x := range w {
			tx, ty := to(x, y)
			copy(out.Pix[ty*out.Stride+4*tx:][:4], row[4*x:][:4])
		}
	}
	return out
}
