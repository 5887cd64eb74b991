// Package static carries the built browser bundle inside the server and
// serves it: each file under a name that holds its content's hash, so that a
// browser may keep it for good, and compressed once at start.
package static

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
)

//go:embed all:dist
var dist embed.FS

// Prefix is where the files are served.
const Prefix = "/static/"

// ErrNotBuilt says what to do when the server was compiled without the bundle.
var ErrNotBuilt = errors.New("the browser bundle is missing: run web/assets/build.sh, then build the server again")

type file struct {
	name        string // app.css
	served      string // app.0f3c….css
	contentType string
	etag        string
	body        []byte
	packed      []byte // gzip, nil where it would not be smaller
}

// shelf holds the files by their own and by their served name.
type shelf map[string]*file

var load = sync.OnceValues(func() (shelf, error) { return read(dist) })

// Check gives ErrNotBuilt when the bundle is missing.
func Check() error {
	_, err := load()
	return err
}

// Path gives the address of a file of the bundle, such as app.css.
func Path(name string) string {
	files, _ := load()
	if f, ok := files[name]; ok {
		return Prefix + f.served
	}
	return Prefix + name
}

// Handler serves the files below Prefix.
func Handler() http.Handler {
	files, err := load()
	return handler(files, err)
}

func handler(files shelf, loadErr error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		f, ok := files[strings.TrimPrefix(r.URL.Path, Prefix)]
		if !ok {
			w.Header().Set("Cache-Control", "no-store")
			if loadErr != nil {
				http.Error(w, loadErr.Error(), http.StatusServiceUnavailable)
				return
			}
			http.Error(w, "no such file", http.StatusNotFound)
			return
		}
		f.serve(w, r)
	})
}

func (f *file) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", f.contentType)
	h.Set("ETag", f.etag)
	h.Set("Vary", "Accept-Encoding")
	if strings.HasSuffix(r.URL.Path, "/"+f.served) {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		h.Set("Cache-Control", "no-cache")
	}
	if r.Header.Get("If-None-Match") == f.etag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	body := f.body
	if f.packed != nil && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		body = f.packed
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method != http.MethodHead {
		_, _ = w.Write(body)
	}
}

// read takes the bundle out of a file system whose folder dist holds it.
func read(fsys fs.FS) (shelf, error) {
	files := shelf{}
	err := fs.WalkDir(fsys, "dist", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(p) == "" {
			return err
		}
		body, err := fs.ReadFile(fsys, p)
		if err != nil {
			return err
		}
		f, err := pack(strings.TrimPrefix(p, "dist/"), body)
		if err != nil {
			return err
		}
		files[f.name], files[f.served] = f, f
		return nil
	})
	if err != nil {
		return nil, err
	}
	if files["app.css"] == nil || files["app.js"] == nil {
		return files, ErrNotBuilt
	}
	return files, nil
}

func pack(name string, body []byte) (*file, error) {
	sum := sha256.Sum256(body)
	hash := hex.EncodeToString(sum[:8])
	ext := path.Ext(name)
	f := &file{
		name:        name,
		served:      strings.TrimSuffix(name, ext) + "." + hash + ext,
		contentType: mime.TypeByExtension(ext),
		etag:        `"` + hash + `"`,
		body:        body,
	}
	if ext == ".js" {
		f.contentType = "text/javascript; charset=utf-8"
	}
	if f.contentType == "" {
		f.contentType = "application/octet-stream"
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(body); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	if b.Len() < len(body) {
		f.packed = b.Bytes()
	}
	return f, nil
}
