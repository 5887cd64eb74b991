package picture

import (
	"bytes"
	"image"
	"testing"
)

func benchmark(b *testing.B, file []byte) {
	b.ReportAllocs()
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := Process(b.Context(), bytes.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAPhotoOf12Megapixels(b *testing.B) { benchmark(b, jpegOf(b, photo(4000, 3000), 92)) }

func BenchmarkAPNGOf12Megapixels(b *testing.B) { benchmark(b, pngOf(b, photo(4000, 3000))) }

func BenchmarkAPhotoOf50Megapixels(b *testing.B) {
	benchmark(b, jpegOf(b, image.NewYCbCr(image.Rect(0, 0, 8164, 6124), image.YCbCrSubsampleRatio420), 92))
}

// A file of a few bytes that asks for everything: to be refused at once.
func BenchmarkRefusingAJPEGThatSays65535By65535(b *testing.B) {
	file := withFrame(b, fixture(b, "progressive.jpg"), 65535, 65535)
	for b.Loop() {
		if _, err := Process(b.Context(), bytes.NewReader(file)); err == nil {
			b.Fatal("it was taken")
		}
	}
}
