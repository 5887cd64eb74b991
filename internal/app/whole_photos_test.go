package app_test

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"net"
	"net/http"
	"net/url"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/app/apptest"
)

const (
	// refusedWithin is for a machine that has other things to do; a second is
	// what is asked of an idle one.
	refusedWithin = 10 * time.Second
	// heapGrowth is the most that hostile uploads may add to the heap, in bytes.
	heapGrowth = 150 << 20
	photoLimit = 15 << 20
)

// frame gives a JPEG other measures: the two numbers of its frame header (ITU-T
// T.81, B.2.2).
func frame(t *testing.T, b []byte, w, h int) []byte {
	t.Helper()
	b = bytes.Clone(b)
	i := bytes.Index(b, []byte{0xff, 0xc0})
	if i < 0 {
		t.Fatal("no frame header")
	}
	binary.BigEndian.PutUint16(b[i+5:], uint16(h))
	binary.BigEndian.PutUint16(b[i+7:], uint16(w))
	return b
}

// pngBomb is a PNG that says 65535 by 65535 in its header (PNG, third edition,
// 11.2.1) and has next to nothing behind it.
func pngBomb() []byte {
	chunk := func(kind string, content []byte) []byte {
		b := binary.BigEndian.AppendUint32(nil, uint32(len(content)))
		b = append(append(b, kind...), content...)
		return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
	}
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, 65535), 65535)
	return append(append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, 8, 6, 0, 0, 0))...), chunk("IDAT", []byte{0x78, 0x9c, 1})...)
}

// highest watches the heap while f runs, and gives by how much it grew.
func highest(f func()) int64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	before, top := m.HeapAlloc, m.HeapAlloc
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for {
			select {
			case <-stop:
				return
			case <-time.After(5 * time.Millisecond):
				runtime.ReadMemStats(&m)
				top = max(top, m.HeapAlloc)
			}
		}
	}()
	f()
	close(stop)
	<-done
	return int64(top) - int64(before)
}

func TestNoUploadHurtsTheServer(t *testing.T) {
	w := openWorld(t)
	posy := w.browser("posy")
	path := "/lines/" + w.at["line"] + "/photos"
	good := smallJPEG(t)
	big := append(bytes.Clone(good), make([]byte, 16<<20)...)
	page := "<!doctype html><script>alert(document.cookie)</script>"
	photo := func(name string, b []byte) apptest.File { return apptest.File{Field: "photo", Name: name, Content: b} }
	var parts []apptest.File
	for i := range 1000 {
		parts = append(parts, apptest.File{Field: fmt.Sprintf("part%d", i), Name: "x.jpg", Content: []byte("x")})
	}
	// The bodies are made before the heap is watched, since they are the test's
	// own; so is a browser's answer, which is small.
	type body struct {
		what, kind string
		status     int
		b          []byte
	}
	made := func(what string, status int, files ...apptest.File) body {
		kind, b := apptest.Multipart(t, url.Values{"key": {apptest.Key()}, "caption": {what}}, files...)
		return body{what, kind, status, b}
	}
	bodies := []body{
		made("a JPEG that says 65535 by 65535", 422, photo("bomb.jpg", frame(t, good, 65535, 65535))),
		made("a PNG that says 65535 by 65535", 422, photo("bomb.png", pngBomb())),
		made("51 megapixels", 422, photo("large.jpg", frame(t, good, 7142, 7142))),
		made("16 MB", 413, photo("large.jpg", big)),
		made("a web page named .jpg", 422, photo("page.jpg", []byte(page))),
		made("a drawing named .jpg", 422, photo("drawing.jpg", []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`))),
		made("an archive named .jpg", 422, photo("archive.jpg", append([]byte("PK\x03\x04"), make([]byte, 1000)...))),
		made("a GIF", 422, photo("moving.gif", []byte("GIF89a\xff\xff\xff\xff\x00\x00\x00,\x00\x00\x00\x00\xff\xff\xff\xff\x00\x02\x02L\x01\x00;"))),
		made("half a JPEG", 422, photo("half.jpg", good[:len(good)/2])),
		made("nothing", 422, photo("empty.jpg", nil)),
		made("no photo at all", 422),
		made("a thousand parts", 422, parts...),
		made("the photo in another field", 422, apptest.File{Field: "picture", Name: "a.jpg", Content: good}),
	}
	taken := made("as much as is taken", 303, photo("full.jpg", big[:photoLimit]))
	send := func(b body) apptest.Answer {
		r := posy.Request(http.MethodPost, path, bytes.NewReader(b.b))
		r.Header.Set("Content-Type", b.kind)
		return posy.Send(r)
	}
	before := w.books()
	slowest := time.Duration(0)
	grew := highest(func() {
		for _, c := range bodies {
			began := time.Now()
			a := send(c)
			took := time.Since(began)
			slowest = max(slowest, took)
			if a.Status != c.status || took > refusedWithin {
				t.Errorf("%s: %d in %v: %s", c.what, a.Status, took, a.Says())
			}
		}
		// Many at once.
		var wg sync.WaitGroup
		for range 8 {
			for _, b := range []body{bodies[0], bodies[1], bodies[3], taken} {
				wg.Go(func() {
					if a := send(b); a.Status != b.status && a.Status != http.StatusTooManyRequests {
						t.Errorf("%s, many at once: %d %s", b.what, a.Status, a.Says())
					}
				})
			}
		}
		wg.Wait()
	})
	after := w.books()
	t.Logf("slowest refusal %v, the heap grew by %d MB at most", slowest, grew>>20)
	if grew > heapGrowth {
		t.Errorf("the heap grew by %d MB", grew>>20)
	}
	// One form was good, and was sent eight times.
	if was, now := w.count(before, "photo"), w.count(after, "photo"); now != was+1 || before["line"] != after["line"] || before["card"] != after["card"] {
		t.Errorf("%d photos, %d before; it changed %v", now, was, changed(before, after))
	}
}

// What is a photo and something else besides is kept as the photo alone, and
// nothing that is served from here is ever taken for anything else.
func TestAPhotoThatIsAPageTooIsServedAsAPhoto(t *testing.T) {
	w := openWorld(t)
	posy := w.browser("posy")
	page := "<!doctype html><script>alert(document.cookie)</script>"
	comment := append([]byte{0xff, 0xfe, 0, byte(len(page) + 2)}, page...)
	good := smallJPEG(t)
	both := append(append(append(bytes.Clone(good[:2]), comment...), good[2:]...), page...)
	for _, name := range []string{"photo.jpg", "../../../etc/passwd", "a\x00.html", "<script>.svg", strings.Repeat("n", 3000), "", "photo.html"} {
		a := posy.PostMultipart("/lines/"+w.at["line"]+"/photos", url.Values{"key": {apptest.Key()}, "caption": {"both"}}, apptest.File{Field: "photo", Name: name, Content: both})
		if a.Status != http.StatusSeeOther {
			// A part without a name of a file is no file, and this is no name.
			if name != "" && !strings.Contains(name, "\x00") || a.Status != http.StatusUnprocessableEntity {
				t.Errorf("the file name %.20q: %d %s", name, a.Status, a.Says())
			}
			continue
		}
		var id string
		w.OK(w.DB.Pool.QueryRow(t.Context(), `select max(id)::text from photo`).Scan(&id))
		for _, path := range []string{"/photos/" + id, "/photos/" + id + "/small"} {
			p := posy.Get(path)
			if p.Status != http.StatusOK || p.Header.Get("Content-Type") != "image/jpeg" || p.Header.Get("X-Content-Type-Options") != "nosniff" ||
				p.Header.Get("Content-Disposition") != `inline; filename="photo-`+id+`.jpg"` {
				t.Errorf("%s: %d %v", path, p.Status, p.Header)
			}
			if !strings.HasPrefix(p.Body, "\xff\xd8\xff") || strings.Contains(p.Body, "script") {
				t.Errorf("%s holds what is no photo", path)
			}
		}
	}
}

// What is announced or sent without end is refused after what is taken, and
// the connection is closed.
func TestABodyWithoutEndIsCutOff(t *testing.T) {
	w := openWorld(t)
	at, err := url.Parse(w.At)
	w.OK(err)
	cookie, token := w.session(w.Posy), w.Program(w.Owner).Token()
	const head = "--x\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a.jpg\"\r\n\r\n\xff\xd8\xff\xe0"
	filler := strings.Repeat("y", 64<<10)
	for _, c := range []struct {
		what, path, kind, length, first string
		chunked                         bool
	}{
		{"2 GB announced as a photo", "/lines/" + w.at["line"] + "/photos", "multipart/form-data; boundary=x", "2147483648", head, false},
		{"a photo in chunks without end", "/lines/" + w.at["line"] + "/photos", "multipart/form-data; boundary=x", "", head, true},
		{"parts without end", "/lines/" + w.at["line"] + "/photos", "multipart/form-data; boundary=x", "", "--x\r\n" + strings.Repeat("A: b\r\n", 1000), true},
		{"2 GB announced as a form", "/floor/lines/" + w.at["line"] + "/snag", "application/x-www-form-urlencoded", "2147483648", "title=", false},
		{"a form in chunks without end", "/floor/lines/" + w.at["line"] + "/snag", "application/x-www-form-urlencoded", "", "title=", true},
		{"JSON in chunks without end", "/api/v1/suppliers", "application/json", "", `{"name":"`, true},
		{"2 GB announced to nowhere", "/nowhere", "application/x-www-form-urlencoded", "2147483648", "a=", false},
	} {
		t.Run(c.what, func(t *testing.T) {
			var status int
			var sent int64
			began := time.Now()
			grew := highest(func() {
				conn, err := net.Dial("tcp", at.Host)
				if err != nil {
					t.Error(err)
					return
				}
				defer func() { _ = conn.Close() }()
				_ = conn.SetDeadline(time.Now().Add(2 * refusedWithin))
				fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: %s\r\nAuthorization: Bearer %s\r\nCookie: %s=%s\r\nContent-Type: %s\r\n",
					c.path, at.Host, token, cookie.Name, cookie.Value, c.kind)
				if c.chunked {
					io.WriteString(conn, "Transfer-Encoding: chunked\r\n\r\n")
				} else {
					fmt.Fprintf(conn, "Content-Length: %s\r\n\r\n", c.length)
				}
				done := make(chan struct{})
				go func() {
					defer close(done)
					for block := c.first; ; block = filler {
						text := block
						if c.chunked {
							text = fmt.Sprintf("%x\r\n%s\r\n", len(block), block)
						}
						n, err := io.WriteString(conn, text)
						sent += int64(n)
						if err != nil {
							return
						}
					}
				}()
				res, err := http.ReadResponse(bufio.NewReader(conn), nil)
				if err != nil {
					t.Errorf("no answer: %v", err)
				} else {
					status = res.StatusCode
				}
				took := time.Since(began)
				<-done // the server closes the line, and writing to it fails
				t.Logf("%d after %v, %d MB sent until the line was closed after %v", status, took, sent>>20, time.Since(began))
				if took > refusedWithin {
					t.Errorf("it took %v", took)
				}
			})
			if status < 400 || status >= 500 || sent > 200<<20 || grew > heapGrowth {
				t.Errorf("%d after %d MB, the heap grew by %d MB", status, sent>>20, grew>>20)
			}
		})
	}
}
