package ui

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"github.com/a-h/templ"
)

var buffers = sync.Pool{New: func() any { return bytes.NewBuffer(make([]byte, 0, 64<<10)) }}

// keepBuffer is the largest buffer that goes back to the pool, in bytes.
const keepBuffer = 1 << 20

// Render writes a whole page: into memory first, so that a fault in the
// middle is an error page and not half of this one.
func (k *Kit) Render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	buf := buffers.Get().(*bytes.Buffer)
	buf.Reset()
	defer func() {
		if buf.Cap() <= keepBuffer {
			buffers.Put(buf)
		}
	}()
	if err := c.Render(r.Context(), buf); err != nil {
		// The route and never the address: that of a customer's page is a secret.
		return fmt.Errorf("render %s: %w", routePattern(r), err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Length", strconv.Itoa(buf.Len()))
	k.dropFlash(w, r)
	w.WriteHeader(status)
	// A failure here is a browser that went away; the status is sent and
	// nothing can be said to it any more.
	_, _ = w.Write(buf.Bytes())
	return nil
}

// SeeOther sends the browser on to a page of ours after a write (303). A path
// that leads elsewhere becomes the front page.
func SeeOther(w http.ResponseWriter, r *http.Request, path string) error {
	w.Header().Set("Cache-Control", "no-store")
	http.Redirect(w, r, LocalPath(path), http.StatusSeeOther)
	return nil
}

// LocalPath gives path back when it stays on this server, else "/". It is the
// one guard for every address that came in with a request.
func LocalPath(path string) string {
	if len(path) > 2000 || !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.Contains(path, `\`) {
		return "/"
	}
	for _, c := range path {
		if c < 0x20 || c == 0x7f {
			return "/"
		}
	}
	return path
}

// Itoa writes a typed ID for an address.
func Itoa[T ~int64](id T) string { return strconv.FormatInt(int64(id), 10) }
