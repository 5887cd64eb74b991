package ui_test

import (
	"context"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"rampside/web/ui"
	"rampside/web/ui/specimen"
)

func parse(t *testing.T, page string) *goquery.Document {
	t.Helper()
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func texts(t *testing.T, page, selector string) []string {
	t.Helper()
	return parse(t, page).Find(selector).Map(func(_ int, s *goquery.Selection) string { return strings.Join(strings.Fields(s.Text()), " ") })
}

// hostile are values that break out of a page which quotes them badly; from
// memory, after the common cases of the OWASP filter evasion list.
var hostile = []string{
	`<script>alert(1)</script>`, `"><script>alert(1)</script>`, `'><img src=x onerror=alert(1)>`, `</title><script>alert(1)</script>`,
	`</textarea><script>alert(1)</script>`, `" autofocus onfocus="alert(1)`, `' onmouseover='alert(1)`, "`><svg onload=alert(1)>",
	`javascript:alert(1)`, `<svg><animate onbegin=alert(1)>`, `&lt;script&gt;alert(1)&lt;/script&gt;`, `<!--<script>-->`, `]]><script>alert(1)</script>`,
	`<iframe srcdoc="<script>alert(1)</script>">`, `{{7*7}}${7*7}<%= 7*7 %>`, `</style><script>alert(1)</script>`, `<math><mi xlink:href="data:x">`,
}

func TestWhatWasTypedIsShownAndNeverObeyed(t *testing.T) {
	s := newSite(t)
	calm := countTags(parse(t, render(t, s, "as it was")))
	for _, h := range hostile {
		page := render(t, s, h)
		doc := parse(t, page)
		if v, _ := doc.Find("#f-at").Attr("value"); v != h {
			t.Errorf("typed %q, shown %q", h, v)
		}
		if got := countTags(doc); got != calm {
			t.Errorf("%q adds to the page: %s, want %s", h, got, calm)
		}
		doc.Find("*").Each(func(_ int, e *goquery.Selection) {
			for _, a := range e.Nodes[0].Attr {
				if strings.HasPrefix(a.Key, "on") || a.Key == "style" || a.Key == "srcdoc" {
					t.Errorf("%q gives %s an attribute %s", h, e.Nodes[0].Data, a.Key)
				}
			}
		})
	}
}

func countTags(doc *goquery.Document) string {
	var names []string
	doc.Find("*").Each(func(_ int, e *goquery.Selection) { names = append(names, e.Nodes[0].Data) })
	return strings.Join(names, " ")
}

// render shows a value everywhere that the promise page shows one.
func render(t *testing.T, s *site, value string) string {
	t.Helper()
	f := ui.NewForm(url.Values{"at": {value}})
	f.Fail("at", "%s", value)
	f.Summary = value
	p := s.kit.Page(mustGet(t), value, "")
	p.Flash, p.Garage = value, value
	var b strings.Builder
	if err := specimen.Promise(p, f, value).Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func mustGet(t *testing.T) *http.Request {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "/record", http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The security policy refuses code and style inside a page, so a template that
// carries some shows a page that does not work.
func TestNoTemplateCarriesCodeOrStyle(t *testing.T) {
	inline := regexp.MustCompile(`(?i)\bstyle\s*=|\son[a-z]+\s*=|<style|javascript:|^\s*(script|css)\s+\w+\(|@templ\.(Raw|JSFuncCall|JSONScript)|<script(?:>| [^>]*>[^<])`)
	n := 0
	err := filepath.WalkDir("..", func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && d.Name() == "node_modules" {
			return filepath.SkipDir
		}
		if filepath.Ext(path) != ".templ" {
			return nil
		}
		n++
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		src, err := io.ReadAll(f)
		if err != nil {
			return err
		}
		for i, line := range strings.Split(string(src), "\n") {
			if inline.MatchString(line) {
				t.Errorf("%s:%d: %s", path, i+1, strings.TrimSpace(line))
			}
		}
		return nil
	})
	if err != nil || n < 8 {
		t.Fatalf("looked at %d templates: %v", n, err)
	}
}

func TestEveryMarkHasADrawingOfItsOwn(t *testing.T) {
	drawn := map[string]string{}
	for _, w := range ui.MarkWords() {
		var b strings.Builder
		if err := ui.Mark(w).Render(context.Background(), &b); err != nil {
			t.Fatal(err)
		}
		doc := parse(t, b.String())
		if got := strings.TrimSpace(doc.Find(".word").Text()); got != w {
			t.Errorf("the mark of %q says %q", w, got)
		}
		svg, err := doc.Find("svg").Html()
		if err != nil || svg == "" {
			t.Fatalf("%q has no drawing", w)
		}
		if other, ok := drawn[svg]; ok {
			t.Errorf("%q and %q look the same", w, other)
		}
		drawn[svg] = w
	}
	for _, w := range []string{
		"open", "in hand", "done", "deferred", "waiting on parts", "asked", "agreed", "declined",
		"needed", "ordered", "arrived", "fitted", "going back", "credited", "not coming",
		"unchecked", "fits", "does not fit", "cannot tell",
		"booked", "on site", "in work", "ready", "collected", "cancelled", "dangerous", "major", "minor", "advisory",
	} {
		found := false
		for _, d := range drawn {
			found = found || d == w
		}
		if !found {
			t.Errorf("%q has no mark", w)
		}
	}
}
