// The race detector watches every pixel of a large picture, which takes a
// minute and finds nothing that a small one does not show.
//go:build !race

package picture

import (
	"encoding/binary"
	"image"
	"testing"
)

func TestAPhotoAtTheLimitIsTaken(t *testing.T) {
	if testing.Short() {
		t.Log("in short mode at a quarter of the limit")
	}
	w, h := 8164, 6124 // 49.997 megapixels
	if testing.Short() {
		w, h = w/2, h/2
	}
	b := jpegOf(t, image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420), 50)
	p := mustProcess(t, b)
	if p.Width != 1600 || p.Height != 1200 {
		t.Fatalf("%d by %d", p.Width, p.Height)
	}
}

func TestALargePhotoIsMadeSmallerAndASmallOneIsNot(t *testing.T) {
	for _, c := range []struct{ w, h, outW, outH, thumbW, thumbH int }{
		{4000, 3000, 1600, 1200, 320, 240},
		{3000, 4000, 1200, 1600, 240, 320},
		{1601, 1601, 1600, 1600, 320, 320},
		{1600, 900, 1600, 900, 320, 180},
		{320, 7, 320, 7, 320, 7},
		{1, 1, 1, 1, 1, 1},
		{9000, 2, 1600, 1, 320, 1},
		{3, 5000, 1, 1600, 1, 320},
	} {
		p := mustProcess(t, pngOf(t, image.NewGray(image.Rect(0, 0, c.w, c.h))))
		if p.Width != c.outW || p.Height != c.outH || p.ThumbW != c.thumbW || p.ThumbH != c.thumbH {
			t.Errorf("%d by %d became %d by %d and %d by %d", c.w, c.h, p.Width, p.Height, p.ThumbW, p.ThumbH)
		}
		if got := decoded(t, p.JPEG).Bounds(); got != image.Rect(0, 0, c.outW, c.outH) {
			t.Errorf("%d by %d: the JPEG has %v", c.w, c.h, got)
		}
		if got := decoded(t, p.Thumb).Bounds(); got != image.Rect(0, 0, c.thumbW, c.thumbH) {
			t.Errorf("%d by %d: the small JPEG has %v", c.w, c.h, got)
		}
	}
}

func TestALargePhotoIsTurnedUprightToo(t *testing.T) {
	m := stored(pattern(1800, 2400), "right", "top")
	p := mustProcess(t, withSegments(jpegOf(t, m, 80), exifSegment(exifBlock(binary.BigEndian, 6, "", "", ""))))
	if p.Width != 1200 || p.Height != 1600 || p.ThumbW != 240 || p.ThumbH != 320 {
		t.Fatalf("%d by %d, %d by %d", p.Width, p.Height, p.ThumbW, p.ThumbH)
	}
	corners(t, decoded(t, p.JPEG), red, lime, blue, yellow)
}
