package static

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
)

func bundle() fstest.MapFS {
	return fstest.MapFS{
		"dist/README":   {Data: []byte("not for browsers")},
		"dist/app.css":  {Data: []byte(strings.Repeat("a{color:red}", 200))},
		"dist/app.js":   {Data: []byte("1")},
		"dist/icon.svg": {Data: []byte("<svg></svg>")},
	}
}

func ask(h http.Handler, path string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, http.NoBody)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestAFileMayBeKeptForGoodUnderTheNameOfItsContent(t *testing.T) {
	files, err := read(bundle())
	if err != nil {
		t.Fatal(err)
	}
	h := handler(files, nil)
	css := files["app.css"]
	served := Prefix + css.served
	if !strings.HasPrefix(css.served, "app.") || css.served == "app.css" {
		t.Fatalf("served as %q", css.served)
	}
	got := ask(h, served)
	if got.Code != 200 || got.Header().Get("Cache-Control") != "public, max-age=31536000, immutable" || !strings.HasPrefix(got.Header().Get("Content-Type"), "text/css") {
		t.Errorf("%d %v", got.Code, got.Header())
	}
	if again := ask(h, served, "If-None-Match", got.Header().Get("ETag")); again.Code != http.StatusNotModified || again.Body.Len() != 0 {
		t.Errorf("asked again: %d with %d bytes", again.Code, again.Body.Len())
	}
	if plain := ask(h, Prefix+"app.css"); plain.Code != 200 || plain.Header().Get("Cache-Control") != "no-cache" {
		t.Errorf("by its own name: %d %v", plain.Code, plain.Header())
	}
	changed := bundle()
	changed["dist/app.css"].Data = append(changed["dist/app.css"].Data, '\n')
	other, err := read(changed)
	if err != nil || other["app.css"].served == css.served {
		t.Errorf("another content has the same name: %v", err)
	}
}

func TestAFileIsSentPackedToWhoeverUnpacks(t *testing.T) {
	files, err := read(bundle())
	if err != nil {
		t.Fatal(err)
	}
	h := handler(files, nil)
	got := ask(h, Prefix+"app.css", "Accept-Encoding", "br, gzip")
	z, err := gzip.NewReader(got.Body)
	if err != nil || got.Header().Get("Content-Encoding") != "gzip" {
		t.Fatalf("%v %v", got.Header(), err)
	}
	body, err := io.ReadAll(z)
	if err != nil || !bytes.Equal(body, files["app.css"].body) {
		t.Errorf("%d bytes, %v", len(body), err)
	}
	for name, r := range map[string]*httptest.ResponseRecorder{"does not unpack": ask(h, Prefix+"app.css"), "too small to pack": ask(h, Prefix+"app.js", "Accept-Encoding", "gzip")} {
		if r.Header().Get("Content-Encoding") != "" {
			t.Errorf("%s: packed", name)
		}
	}
}

func TestWhatIsNotInTheBundleIsNotServed(t *testing.T) {
	files, err := read(bundle())
	if err != nil {
		t.Fatal(err)
	}
	h := handler(files, nil)
	for _, path := range []string{"README", "", "../static.go", "app.css/", "none.css"} {
		if got := ask(h, Prefix+path).Code; got != http.StatusNotFound {
			t.Errorf("%q: %d", path, got)
		}
	}
}

func TestAMissingBundleSaysHowToBuildIt(t *testing.T) {
	files, err := read(fstest.MapFS{"dist/README": {Data: []byte("x")}})
	if !errors.Is(err, ErrNotBuilt) {
		t.Fatalf("Check says %v", err)
	}
	got := ask(handler(files, err), Prefix+"app.css")
	if got.Code != http.StatusServiceUnavailable || !strings.Contains(got.Body.String(), "web/assets/build.sh") {
		t.Errorf("%d %q", got.Code, got.Body.String())
	}
}

func TestTheBundleInThisServerIsWhole(t *testing.T) {
	if err := Check(); err != nil {
		t.Fatal(err)
	}
	if got := Path("app.css"); got == Prefix+"app.css" || ask(Handler(), got).Code != 200 {
		t.Errorf("app.css is at %q", got)
	}
}
