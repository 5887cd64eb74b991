// The race detector takes memory of its own, many times what it watches.
//go:build linux && !race

package picture

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
)

func init() { child = openTwice }

// openTwice processes one file twice at once, as a process of its own, and
// prints by how many kB its peak of resident memory grew.
func openTwice(name string) {
	before, err := peak()
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			f, err := os.Open(name)
			if err == nil {
				defer f.Close()
				_, err = Process(context.Background(), f)
			}
			if err != nil {
				fmt.Fprintln(os.Stderr, err)
			}
		})
	}
	wg.Wait()
	after, err := peak()
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println(after - before)
}

// peak is the peak of the process's resident memory in kB (proc(5), VmHWM).
func peak() (int, error) {
	b, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(string(b)) {
		if v, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			return strconv.Atoi(strings.Fields(v)[0])
		}
	}
	return 0, fmt.Errorf("no VmHWM in /proc/self/status")
}

func TestOpeningPicturesTakesNoMoreMemoryThanSaid(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	twelve := photo(4000, 3000)
	progressive := fixture(t, "progressive.jpg")
	for _, c := range []struct {
		name string
		file []byte
		most int // MB
	}{
		{"a photo of 12 megapixels", jpegOf(t, twelve, 92), 150},
		{"a screenshot of 12 megapixels", pngOf(t, twelve), 150},
		{"a JPEG that says 65535 by 65535", withFrame(t, progressive, 65535, 65535), 150},
		{"a PNG that says 65535 by 65535", append(pngHeader(65535, 65535, 8, 6, 0), pngChunk("IDAT", bomb())...), 150},
		{"a WebP that says 16384 by 16384", riff(lossless(16384, 16384)), 150},
		{"a JPEG of 50 megapixels and 400 bytes", withFrame(t, fixture(t, "422.jpg"), 7071, 7071), 150},
		{"a photo of 50 megapixels", jpegOf(t, image.NewYCbCr(image.Rect(0, 0, 8164, 6124), image.YCbCrSubsampleRatio420), 92), 150},
		// The most that maxMemory lets through, and what the collector adds.
		{"a progressive JPEG of 34 megapixels", withFrame(t, progressive, 5800, 5800), 300},
	} {
		t.Run(c.name, func(t *testing.T) {
			name := filepath.Join(t.TempDir(), "picture")
			if err := os.WriteFile(name, c.file, 0o600); err != nil {
				t.Fatal(err)
			}
			cmd := exec.CommandContext(t.Context(), self)
			// As the server is run.
			cmd.Env = append(os.Environ(), "PICTURE_TEST_CHILD="+name, "GOGC=400", "GOMEMLIMIT=192MiB")
			var stderr bytes.Buffer
			cmd.Stderr = &stderr
			out, err := cmd.Output()
			if err != nil {
				t.Fatalf("%v: %s%s", err, out, stderr.Bytes())
			}
			kB, err := strconv.Atoi(strings.TrimSpace(string(out)))
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("file %.1f MB, memory grew by %d MB %s", float64(len(c.file))/1e6, kB/1000, strings.SplitN(stderr.String(), "\n", 2)[0])
			if kB <= 0 || kB > c.most*1000 {
				t.Errorf("memory grew by %d kB; %d MB is the most", kB, c.most)
			}
		})
	}
}
