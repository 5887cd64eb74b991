package picture

import (
	"bytes"
	"encoding/binary"
	"errors"
)

// cost is what opening a picture would take, told from its headers.
type cost struct {
	width, height int64
	memory        int64 // bytes that the decoder holds at its peak
	visits        int64 // blocks that the decoder goes through, over all scans
}

// maxVisits allows a progressive JPEG of 34 megapixels its usual ten scans
// four times over. A file of a few kilobytes can ask for thousands.
const maxVisits = 1 << 25

// measure reads the headers of a picture. The decoder has to agree about its
// size.
func measure(kind format, data []byte) (cost, error) {
	config, err := kind.config(bytes.NewReader(data))
	if err != nil {
		return cost{}, unreadable(err)
	}
	c := cost{width: int64(config.Width), height: int64(config.Height)}
	return c, kind.measure(data, &c)
}

func (c *cost) pixels() int64 { return c.width * c.height }

func (c *cost) check() error {
	switch px := c.pixels(); {
	case px <= 0:
		return unreadable(errors.New("a side of the picture is nought"))
	case px > MaxPixels:
		return refuse(nil, "this photo has %d megapixels and %d is the most that is taken: send a smaller copy",
			megapixels(px), int64(MaxPixels)/1_000_000)
	case max(c.width, c.height) > maxLong:
		return refuse(nil, "this picture is %d by %d pixels, which no camera takes: %s", c.width, c.height, sendAnother)
	case c.memory > maxMemory:
		return refuse(nil, "opening this photo would take too much memory: save it as an ordinary JPEG, or send a smaller copy")
	case c.visits > maxVisits:
		return refuse(nil, "opening this photo would take too long: save it as an ordinary JPEG and send that")
	}
	return nil
}

// The markers of ITU-T T.81, table B.1, that matter here.
const (
	mSOF0, mSOF2  = 0xc0, 0xc2
	mRST0, mRST7  = 0xd0, 0xd7
	mSOI, mEOI    = 0xd8, 0xd9
	mSOS          = 0xda
	mAPP0, mAPP14 = 0xe0, 0xee
)

// measureJPEG goes through the segments as the decoder does. The planes are
// held at their own sampling; a progressive picture also holds each of its
// samples as a coefficient of four bytes until the end; CMYK, and RGB stored
// as such, are put together from the planes.
func measureJPEG(b []byte, c *cost) error {
	var samples, blocks, extra int64
	progressive, jfif, adobeRGB := false, false, false
	for i := 2; ; {
		at := bytes.IndexByte(b[i:], 0xff)
		if at < 0 || i+at+1 >= len(b) {
			break
		}
		i += at + 1
		marker := b[i]
		if marker == 0xff { // a fill byte: the next one is looked at again
			continue
		}
		i++
		if marker == mEOI {
			break
		}
		if marker == 0 || marker >= mRST0 && marker <= mRST7 {
			continue
		}
		if i+2 > len(b) {
			break
		}
		n := int(binary.BigEndian.Uint16(b[i:]))
		if n < 2 || i+n > len(b) {
			break
		}
		segment := b[i+2 : i+n]
		i += n
		switch {
		case marker >= mSOF0 && marker <= mSOF2 && samples == 0:
			progressive = marker == mSOF2
			var ok bool
			if samples, extra, ok = frame(segment, c); !ok {
				return unreadable(errors.New("the frame header is not what the decoder read"))
			}
			blocks = samples/64 + 1
		case marker == mSOS:
			c.visits += blocks
		case marker == mAPP0 && bytes.HasPrefix(segment, []byte("JFIF\x00")):
			jfif = true
		case marker == mAPP14 && len(segment) >= 12 && bytes.HasPrefix(segment, []byte("Adobe")):
			adobeRGB = segment[11] == 0
		}
	}
	if samples == 0 {
		return unreadable(errors.New("there is no frame header where the decoder found one"))
	}
	c.memory = samples
	if progressive {
		c.memory += 4 * samples
	}
	if extra == 0 && adobeRGB && !jfif {
		extra = 4
	}
	c.memory += extra * c.pixels()
	return nil
}

// frame reads a frame header (T.81, B.2.2): the number of samples in all
// planes together, and the bytes per pixel of the picture that is put
// together from them where there is one.
func frame(s []byte, c *cost) (samples, extra int64, ok bool) {
	if len(s) < 6 {
		return 0, 0, false
	}
	h, w, n := int64(binary.BigEndian.Uint16(s[1:])), int64(binary.BigEndian.Uint16(s[3:])), int(s[5])
	if w != c.width || h != c.height || len(s) != 6+3*n {
		return 0, 0, false
	}
	if n == 1 {
		return w * h, 0, true
	}
	var sum, first int64
	ids := ""
	for i := 6; i < len(s); i += 3 {
		hv := int64(s[i+1]>>4) * int64(s[i+1]&15)
		if first == 0 {
			first = max(hv, 1)
		}
		sum += hv
		ids += string(rune(s[i]))
	}
	if n == 4 || ids == "RGB" {
		extra = 4
	}
	return w * h * sum / first, extra, true
}

// measurePNG reads the bit depth, the colour type and the interlacing (PNG
// third edition, 11.2.1). Grey with a transparent shade, which a later chunk
// may ask for, is held as colour. The seven passes of an interlaced picture
// are pictures of their own, as large together as the whole.
func measurePNG(b []byte, c *cost) error {
	if len(b) < 29 {
		return cutShort(nil)
	}
	depth, colour, interlaced := b[24], b[25], b[28] != 0
	perPixel := int64(4)
	switch {
	case depth == 16:
		perPixel = 8
	case colour == 3:
		perPixel = 1
	}
	c.memory = perPixel * c.pixels()
	if interlaced {
		c.memory *= 2
	}
	return nil
}

// measureWebP goes through the chunks (RFC 9649). A lossy picture is held as
// 4:2:0; one without loss at four bytes a pixel, twice while its palette is
// undone, beside up to 2,600 sets of code tables, which is where the decoder
// draws the line. Transparency beside a lossy picture is itself a picture
// without loss.
func measureWebP(b []byte, c *cost) error {
	const tables = 140_000_000
	lossless := 8*c.pixels() + tables
	for i := 12; i+8 <= len(b); {
		n := int64(binary.LittleEndian.Uint32(b[i+4:]))
		switch string(b[i : i+4]) {
		case "ANIM", "ANMF":
			return refuse(nil, "this is a moving picture, not a photo: %s", sendAnother)
		case "ALPH":
			if i+8 < len(b) && b[i+8]&3 != 0 {
				c.memory += lossless
			}
			c.memory += c.pixels()
		case "VP8 ":
			c.memory += c.pixels() * 3 / 2
			return nil
		case "VP8L":
			c.memory += lossless
			return nil
		}
		next := int64(i) + 8 + n + n&1
		if next > int64(len(b)) {
			break
		}
		i = int(next)
	}
	return nil
}
