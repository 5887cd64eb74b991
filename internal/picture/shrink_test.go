package picture

import (
	"image"
	"image/color"
	"testing"
)

// The means are worked out by hand: a target pixel of three thirds.
func TestAPixelIsTheMeanOfItsArea(t *testing.T) {
	m := image.NewGray(image.Rect(10, 20, 13, 21)) // three pixels in a row, not at the origin
	m.Pix = []byte{0, 90, 255}
	out := shrink(m, 2)
	if out.Rect != image.Rect(0, 0, 2, 1) {
		t.Fatalf("size %v", out.Rect)
	}
	// (2·0 + 1·90)/3 and (1·90 + 2·255)/3
	if a, b := out.RGBAAt(0, 0).R, out.RGBAAt(1, 0).R; a != 30 || b != 200 {
		t.Fatalf("means %d and %d, not 30 and 200", a, b)
	}

	m = image.NewGray(image.Rect(0, 0, 4, 4))
	m.Pix = []byte{
		0, 10, 1, 1,
		20, 30, 1, 2,
		0, 0, 255, 255,
		0, 3, 255, 255,
	}
	out = shrink(m, 2)
	want := []uint8{15, 1, 1, 255} // 60/4, 5/4, 3/4, 1020/4, to the nearest
	for i, w := range want {
		if got := out.RGBAAt(i%2, i/2); got != (color.RGBA{w, w, w, 255}) {
			t.Errorf("pixel %d is %v, not %d", i, got, w)
		}
	}
}

func TestOneColourStaysThatColourAtEverySize(t *testing.T) {
	c := color.RGBA{201, 7, 98, 255}
	for _, size := range []image.Point{{1, 1}, {7, 5}, {321, 100}, {100, 321}, {977, 641}, {5000, 3}, {3, 5000}} {
		m := image.NewRGBA(image.Rectangle{Max: size})
		for i := 0; i < len(m.Pix); i += 4 {
			m.Pix[i], m.Pix[i+1], m.Pix[i+2], m.Pix[i+3] = c.R, c.G, c.B, c.A
		}
		for _, side := range []int{1, 2, 3, 64, 320} {
			out := shrink(m, side)
			if max(out.Rect.Dx(), out.Rect.Dy()) > side {
				t.Fatalf("%v to %d gives %v", size, side, out.Rect)
			}
			for i := 0; i < len(out.Pix); i += 4 {
				if got := (color.RGBA{out.Pix[i], out.Pix[i+1], out.Pix[i+2], out.Pix[i+3]}); got != c {
					t.Fatalf("%v to %d: pixel %d is %v", size, side, i/4, got)
				}
			}
		}
	}
}

// Sampling at points would turn lines one pixel wide into broad bands.
func TestFineLinesBecomeGreyAndNotBands(t *testing.T) {
	m := image.NewGray(image.Rect(0, 0, 3200, 400))
	for i := range m.Pix {
		m.Pix[i] = uint8(255 * (i % 2))
	}
	for _, side := range []int{1600, 1100, 320} {
		out := shrink(m, side)
		for x := range side {
			if got := int(out.RGBAAt(x, 20).R); got < 127-44 || got > 128+44 {
				t.Fatalf("at %d of %d there is %d", x, side, got)
			}
		}
	}
}

func TestBandsOfALargePictureFitTogether(t *testing.T) {
	// A ramp from top to bottom, of more rows than a band has.
	m := image.NewGray(image.Rect(0, 0, 3000, 2040))
	for y := range 2040 {
		for x := range 3000 {
			m.Pix[y*m.Stride+x] = uint8(y / 8)
		}
	}
	out := shrink(m, 375) // an eighth: 375 by 255
	for y := range 255 {
		for _, x := range []int{0, 100, 374} {
			if got := out.RGBAAt(x, y).R; int(got) != y {
				t.Fatalf("at %d,%d there is %d", x, y, got)
			}
		}
	}
}
