package picture

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.uber.org/goleak"

	"rampside/internal/apperr"
)

// child is what the test program does instead of the tests when it is started
// by one of them to open a file; set where memory is measured.
var child func(file string)

func TestMain(m *testing.M) {
	if name := os.Getenv("PICTURE_TEST_CHILD"); name != "" && child != nil {
		child(name)
		return
	}
	goleak.VerifyTestMain(m)
}

var (
	red    = color.RGBA{255, 0, 0, 255}
	lime   = color.RGBA{0, 255, 0, 255}
	blue   = color.RGBA{0, 0, 255, 255}
	yellow = color.RGBA{255, 255, 0, 255}
	white  = color.RGBA{255, 255, 255, 255}
)

// corners checks the four quarters of a picture, in reading order.
func corners(t *testing.T, m image.Image, want ...color.Color) {
	t.Helper()
	b := m.Bounds()
	for i, c := range want {
		x := b.Min.X + b.Dx()*(1+2*(i%2))/4
		y := b.Min.Y + b.Dy()*(1+2*(i/2))/4
		if got := m.At(x, y); !near(got, c) {
			t.Errorf("at %d,%d there is %v, not %v", x, y, got, c)
		}
	}
}

func TestEveryKindOfPhotoComesOutAsItLooks(t *testing.T) {
	names, err := filepath.Glob("testdata/*.*")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, name := range names {
		name = filepath.Base(name)
		switch name {
		case "README.md", "moving.webp", "pattern.heic", "pattern.avif":
			continue
		}
		n++
		t.Run(name, func(t *testing.T) {
			p := mustProcess(t, fixture(t, name))
			if p.Width != 96 || p.Height != 64 || p.ThumbW != 96 || p.ThumbH != 64 {
				t.Fatalf("sizes %+v", p)
			}
			first := color.Color(red)
			if strings.HasPrefix(name, "clear") {
				first = white
			}
			for _, b := range [][]byte{p.JPEG, p.Thumb} {
				m := decoded(t, b)
				if m.Bounds() != image.Rect(0, 0, 96, 64) {
					t.Fatalf("size %v", m.Bounds())
				}
				corners(t, m, first, lime, blue, yellow)
			}
		})
	}
	if n != 13 {
		t.Fatalf("%d kinds were tried", n)
	}
}

func TestWhatShowsThroughBecomesWhite(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 64, 64))
	for y := range 64 {
		for x := range 64 {
			switch {
			case y < 32 && x >= 32:
				m.SetNRGBA(x, y, color.NRGBA{0, 0, 0, 128}) // half black
			case y >= 32 && x < 32:
				m.SetNRGBA(x, y, color.NRGBA{255, 0, 0, 255})
			}
		}
	}
	p := mustProcess(t, pngOf(t, m))
	corners(t, decoded(t, p.JPEG), white, color.Gray{127}, red, white)
}

func TestTheSameBytesComeOutHoweverTheyCameIn(t *testing.T) {
	b := jpegOf(t, photo(2000, 900), 90)
	file, err := os.Create(filepath.Join(t.TempDir(), "photo"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if _, err := file.Write(append([]byte("in front"), b...)); err != nil {
		t.Fatal(err)
	}
	if _, err := file.Seek(8, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	want := mustProcess(t, b)
	for name, r := range map[string]io.Reader{"a file from where it stands": file, "a stream": plain(b)} {
		got, err := Process(t.Context(), r)
		if err != nil || !bytes.Equal(got.JPEG, want.JPEG) || !bytes.Equal(got.Thumb, want.Thumb) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestOnePictureIsOpenedAtATimeAndWaitingCanBeGivenUp(t *testing.T) {
	leave, err := turn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	waiting := bytes.NewReader(fixture(t, "444.jpg"))
	if _, err := Process(ctx, waiting); !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("while another is being opened: %v", err)
	}
	if waiting.Len() != int(waiting.Size()) {
		t.Fatal("what can wait on the disk was read before its turn")
	}
	if _, err := Process(ctx, plain(fixture(t, "444.jpg"))); !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("a stream, while another is being opened: %v", err)
	}
	done := make(chan error)
	go func() {
		_, err := Process(context.Background(), waiting)
		done <- err
	}()
	select {
	case err := <-done:
		t.Fatalf("it did not wait: %v", err)
	case <-time.After(50 * time.Millisecond):
	}
	leave()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
}

func TestAnErrorOfTheReaderIsNotTheSendersFault(t *testing.T) {
	broken := errors.New("the disk is broken")
	_, err := Process(t.Context(), io.MultiReader(plain(fixture(t, "444.jpg")), &failing{broken}))
	if !errors.Is(err, broken) || apperr.KindOf(err) != apperr.Internal {
		t.Fatalf("the error is %v", err)
	}
	msg := refusal(t, io.MultiReader(plain(fixture(t, "444.jpg")), &failing{io.ErrUnexpectedEOF}), apperr.Invalid)
	if !strings.Contains(msg, "did not arrive whole") {
		t.Fatalf("the message is %q", msg)
	}
}

type failing struct{ err error }

func (f *failing) Read([]byte) (int, error) { return 0, f.err }
