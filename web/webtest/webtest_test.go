package webtest_test

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// witness is a test that is expected to fail: it remembers what it was told.
type witness struct {
	*testing.T
	mu   sync.Mutex
	said []string
	ends []func()
}

func (w *witness) Errorf(format string, args ...any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.said = append(w.said, fmt.Sprintf(format, args...))
}

func (w *witness) Fatalf(format string, args ...any) {
	w.Errorf(format, args...)
	runtime.Goexit()
}

func (w *witness) Failed() bool     { return false }
func (w *witness) Cleanup(f func()) { w.ends = append(w.ends, f) }

// watch runs a test body to its end, cleaning up included, and gives what it
// complained of.
func watch(t *testing.T, url string, body func(b *webtest.Browser)) string {
	t.Helper()
	w := &witness{T: t}
	done := make(chan struct{})
	go func() {
		defer close(done)
		b := webtest.Open(w, url)
		body(b)
	}()
	<-done
	for _, f := range w.ends {
		f()
	}
	return strings.Join(w.said, "\n")
}

const good = `<!DOCTYPE html><html lang="en"><head><title>A sheet</title><meta name="viewport" content="width=device-width">
<link rel="icon" href="data:,"><link rel="stylesheet" href="/style.css"></head><body><main><h1>A sheet</h1>%s</main></body></html>`

const style = `body{font:16px sans-serif;color:#111;background:#fff}button,input,select{min-height:32px;min-width:32px}
.faint{color:#bbb}.wide{width:900px}.tiny{min-height:10px;height:10px;min-width:10px}`

const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; form-action 'self'"

// pages is a server of small pages, each for one matter.
func pages(t *testing.T, bodies map[string]string) string {
	t.Helper()
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		switch r.URL.Path {
		case "/style.css":
			w.Header().Set("Content-Type", "text/css")
			_, _ = io.WriteString(w, style)
			return
		case "/throw.js":
			w.Header().Set("Content-Type", "text/javascript")
			_, _ = io.WriteString(w, `throw new Error("a nut fell in")`)
			return
		}
		b, ok := bodies[r.URL.Path]
		if r.Method == http.MethodPost {
			_ = r.ParseMultipartForm(1 << 20)
			files := 0
			if r.MultipartForm != nil {
				files = len(r.MultipartForm.File["photo"])
			}
			b, ok = fmt.Sprintf("<p>Got %s, %d files</p>", r.PostForm.Encode(), files), true
		}
		if !ok {
			w.WriteHeader(http.StatusNotFound)
			b = "<p>Not here</p>"
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = fmt.Fprintf(w, good, b)
	}))
	t.Cleanup(srv.Close)
	return srv.URL
}

func TestTheConsolesComplaintsFailTheTest(t *testing.T) {
	url := pages(t, map[string]string{
		"/calm": `<p>Nothing to say</p>`, "/inline": `<p style="color:red">Red</p>`, "/throw": `<script src="/throw.js"></script>`, "/missing": `<link rel="stylesheet" href="/none.css">`,
	})
	for path, want := range map[string]string{"/calm": "", "/nowhere": "", "/inline": "Content Security Policy", "/throw": "a nut fell in", "/missing": "none.css"} {
		got := watch(t, url, func(b *webtest.Browser) { b.Go(path); b.Until("a moment", once()) })
		if (want == "") != (got == "") || !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q", path, got, want)
		}
	}
	if got := watch(t, url, func(b *webtest.Browser) { b.Allow("a nut"); b.Go("/throw") }); got != "" {
		t.Errorf("what was expected is told all the same: %q", got)
	}
}

// once holds at the third look, so that the console has had its say.
func once() func() bool {
	n := 0
	return func() bool { n++; return n > 3 }
}

func TestThePageIsAuditedForWhoeverUsesIt(t *testing.T) {
	url := pages(t, map[string]string{
		"/fine":     `<form><label>Name <input name="n"></label> <button>Save</button></form>`,
		"/unnamed":  `<form><input name="n"></form>`,
		"/faint":    `<p class="faint">You can hardly read this line of text</p>`,
		"/tiny":     `<p><button class="tiny">x</button></p>`,
		"/sideways": `<p class="wide">Far too wide for a small screen</p>`,
	})
	for path, want := range map[string]string{
		"/fine": "", "/unnamed": "label", "/faint": "color-contrast", "/tiny": "smaller than 24 px", "/sideways": "does not fit the screen",
	} {
		got := watch(t, url, func(b *webtest.Browser) {
			b.Go(path)
			b.Size(320, 640)
			b.Axe()
			b.Targets(24)
			b.Reflow()
		})
		if (want == "") != (got == "") || !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q", path, got, want)
		}
	}
}

func TestAPersonFindsThingsByWhatTheyAreCalled(t *testing.T) {
	file := filepath.Join(t.TempDir(), "photo.jpg")
	if err := os.WriteFile(file, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	url := pages(t, map[string]string{"/": `
		<ul><li>Discs <button>Done</button></li><li>Wipers <button>Done</button></li></ul>
		<form method="post" action="/got" enctype="multipart/form-data">
			<label>Registration mark <input name="mark" value="old"></label>
			<label>Day <input type="date" name="day"></label>
			<label>Ramp <select name="ramp"><option value="1">One</option><option value="2">Two</option></select></label>
			<label><input type="checkbox" name="wash" value="yes"> Wash it</label>
			<label>Photo <input type="file" name="photo"></label>
			<details><summary>More</summary><p>There is more</p></details>
			<button>Send</button>
		</form>`})
	b := webtest.Open(t, url)
	b.Go("/")
	b.Fill("Registration mark", "RS65 CAR")
	b.Fill("Day", "2026-10-05")
	b.Choose("Ramp", "Two")
	b.Click("Wash it")
	b.Attach("Photo", file)
	b.SeeNot("There is more")
	b.Tap("More")
	b.See("There is more")
	if b.Value("Registration mark") != "RS65 CAR" || !b.Ticked("Wash it") || !b.Has("Send") || b.Has("Fly") {
		t.Error("the form is not as it was filled in")
	}
	b.In("Wipers").Click("Done")
	if b.Keys() != 8+10+1 || b.Taps() != 8 {
		t.Errorf("%d keys and %d taps", b.Keys(), b.Taps())
	}
	b.Recount()
	b.Click("Send")
	b.See("Got day=2026-10-05&mark=RS65+CAR&ramp=2&wash=yes, 1 files")
	if b.Taps() != 1 || b.Path() != "/got" || b.Status() != 200 || b.Title() != "A sheet" {
		t.Errorf("%d taps, at %s with %d", b.Taps(), b.Path(), b.Status())
	}
}

func TestTwoPeopleHaveCookiesOfTheirOwn(t *testing.T) {
	url := pages(t, map[string]string{"/": "<p>x</p>"})
	one, two := webtest.Open(t, url), webtest.Open(t, url)
	one.SetCookie("who", "one")
	one.Go("/")
	two.Go("/")
	if a, b := webtest.Eval[string](one, "document.cookie"), webtest.Eval[string](two, "document.cookie"); a != "who=one" || b != "" {
		t.Errorf("one has %q, two has %q", a, b)
	}
}

func TestAPageIsSavedAsItLooksAndAsItPrints(t *testing.T) {
	dir := t.TempDir()
	t.Setenv(webtest.ShotsEnv, dir)
	url := pages(t, map[string]string{"/": "<p>x</p>"})
	b := webtest.Open(t, url)
	b.Go("/")
	b.Dump("page")
	for _, name := range []string{"page-desk.png", "page-desk-night.png", "page-tablet.png", "page-phone.png", "page.pdf"} {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil || len(data) < 500 {
			t.Errorf("%s: %d bytes, %v", name, len(data), err)
		}
	}
}
