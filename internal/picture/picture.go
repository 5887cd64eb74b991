// Package picture makes a photo that somebody sends fit to be kept and shown:
// upright, no larger than a screen needs, on white, and written anew as a
// JPEG, so that nothing of the file that came in is left but what can be
// seen. Where it was taken, when, with what, by whom and anything hidden in
// or behind the picture is gone.
//
// What comes in is taken for hostile. Its size, its pixels, the memory and
// the time that it would take to open are bounded before it is opened, and
// one picture is opened at a time in the whole process.
package picture

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"math"
	"runtime"
	"time"

	"rampside/internal/apperr"
)

const (
	// MaxBytes is the largest file that is taken: 15 MB.
	MaxBytes = 15 << 20
	// MaxPixels is the largest picture that is taken: 50 megapixels.
	MaxPixels = 50_000_000
	// maxLong is the longest side that is taken, in pixels: that of a JPEG.
	maxLong = 65_535
	// MaxSide is the long side of the picture that is kept, in pixels: sharp
	// on a full screen of a tablet, and a quarter of a megabyte.
	MaxSide = 1600
	// ThumbSide is the long side of the small picture in a list, in pixels.
	ThumbSide = 320
	// Quality is that of the JPEGs that are written, on the scale to 100 of
	// the standard library's encoder.
	Quality = 82

	// maxMemory is the most that opening a picture may take, by the
	// reckoning in measure, in bytes. The file comes on top.
	maxMemory = 256_000_000
	// collectFrom is the size, in bytes, from which a picture is cleared away
	// before the next one's turn: else two of them would be in memory, and
	// the collector would take that for the usual.
	collectFrom = 8_000_000
	// maxTime is the most that opening a picture may take. A picture of 50
	// megapixels takes a second on a desk machine.
	maxTime = 20 * time.Second
)

// Field is the name of the form field that messages are for.
const Field = "photo"

// Accept is for the accept attribute of a file field. Cameras that store
// another format hand over a JPEG where theirs is not in the list.
const Accept = "image/jpeg,image/png,image/webp"

// Picture is a photo that is fit to be kept: two JPEGs of the same, and their
// sizes in pixels.
type Picture struct {
	JPEG          []byte
	Width, Height int

	Thumb          []byte
	ThumbW, ThumbH int
}

// Process reads a photo and makes a Picture of it. A photo that is not taken
// is an apperr.Invalid, or an apperr.TooLarge when the file has more than
// MaxBytes, with a message at Field. When ctx ends, its error is returned.
//
// It waits for its turn with the bytes of the photo in memory, unless r can
// seek (a file, or what net/http puts into one): then it reads when its turn
// has come.
func Process(ctx context.Context, r io.Reader) (Picture, error) {
	if s, ok := r.(io.Seeker); ok {
		if size, err := left(s); err == nil {
			if size > MaxBytes {
				return Picture{}, tooLarge()
			}
			leave, err := turn(ctx)
			if err != nil {
				return Picture{}, err
			}
			defer leave()
			data, err := read(ctx, r)
			if err != nil {
				return Picture{}, err
			}
			return process(ctx, data)
		}
	}
	data, err := read(ctx, r)
	if err != nil {
		return Picture{}, err
	}
	leave, err := turn(ctx)
	if err != nil {
		return Picture{}, err
	}
	defer leave()
	return process(ctx, data)
}

// opening has room for the one picture that is being opened.
var opening = make(chan struct{}, 1)

// turn waits until no other picture is being opened.
func turn(ctx context.Context) (leave func(), err error) {
	select {
	case opening <- struct{}{}:
		return func() { <-opening }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// left tells how many bytes are still to be read from s.
func left(s io.Seeker) (int64, error) {
	at, err := s.Seek(0, io.SeekCurrent)
	if err != nil {
		return 0, err
	}
	end, err := s.Seek(0, io.SeekEnd)
	if err != nil {
		return 0, err
	}
	_, err = s.Seek(at, io.SeekStart)
	return end - at, err
}

func read(ctx context.Context, r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(&patient{ctx, r}, MaxBytes+1))
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case errors.Is(err, io.ErrUnexpectedEOF):
		return nil, cutShort(err)
	case err != nil:
		return nil, err
	case len(data) > MaxBytes:
		return nil, tooLarge()
	}
	return data, nil
}

// process makes a Picture of a file that is in memory. It is the caller's
// turn.
func process(ctx context.Context, data []byte) (Picture, error) {
	kind, err := sniff(data)
	if err != nil {
		return Picture{}, err
	}
	cost, err := measure(kind, data)
	if err != nil {
		return Picture{}, err
	}
	if err := cost.check(); err != nil {
		return Picture{}, err
	}
	if cost.memory > collectFrom {
		defer runtime.GC()
	}
	kept, err := open(ctx, kind, data)
	if err != nil {
		return Picture{}, err
	}
	kept = upright(kept, orientation(kind, data))
	small := shrink(kept, ThumbSide)
	p := Picture{
		Width: kept.Rect.Dx(), Height: kept.Rect.Dy(),
		ThumbW: small.Rect.Dx(), ThumbH: small.Rect.Dy(),
	}
	if p.JPEG, err = encode(kept); err != nil {
		return Picture{}, err
	}
	if p.Thumb, err = encode(small); err != nil {
		return Picture{}, err
	}
	return p, nil
}

// open decodes a picture and shrinks it to MaxSide. The large picture is let
// go before anything else is done.
func open(ctx context.Context, kind format, data []byte) (*image.RGBA, error) {
	limited, cancel := context.WithTimeout(ctx, maxTime)
	defer cancel()
	large, err := kind.decode(&patient{limited, bytes.NewReader(data)})
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case limited.Err() != nil:
		return nil, refuse(limited.Err(), "this photo takes too long to open: take it again, or send a smaller copy")
	case err != nil:
		return nil, unreadable(err)
	}
	return shrink(large, MaxSide), nil
}

func encode(m *image.RGBA) ([]byte, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: Quality}); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// patient reads until its context ends, a little at a time: a decoder cannot
// be stopped but by the end of what it reads, and a few bytes can keep it
// busy for long.
type patient struct {
	ctx context.Context
	r   io.Reader
}

func (p *patient) Read(b []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	return p.r.Read(b[:min(len(b), 1024)])
}

// refuse is an answer to whoever sent the photo.
func refuse(cause error, format string, args ...any) error {
	e := apperr.Field(Field, format, args...)
	e.Cause = cause
	return e
}

func tooLarge() error {
	e := apperr.Field(Field, "this file is larger than %d MB, the most that is taken: send a smaller copy of the photo", MaxBytes>>20)
	e.Kind = apperr.TooLarge
	return e
}

func cutShort(cause error) error {
	return refuse(cause, "this photo did not arrive whole: please send it again")
}

// unreadable tells what a decoder did not like.
func unreadable(err error) error {
	var rare jpeg.UnsupportedError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		return cutShort(err)
	case errors.As(err, &rare):
		return refuse(err, "this photo is a rare kind of JPEG that cannot be opened: save it as an ordinary JPEG and send that")
	}
	return refuse(err, "this photo is damaged and cannot be opened: take it again, or send another copy")
}

func megapixels(n int64) int64 { return int64(math.Ceil(float64(n) / 1e6)) }
