//go:build !race

package app_test

import (
	"net/http"
	"slices"
	"strings"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/app/apptest"
)

// streams and downloads of the server, which are no pages.
var notPages = []string{"/live", "/metrics"}

// allPages is every address that a GET takes, with what is there, and every
// page that a form stands on.
func (w *world) allPages() []string {
	w.t.Helper()
	var out []string
	for _, d := range w.App.Handler().Declared() {
		if d.Method == http.MethodGet && !slices.Contains(notPages, d.Pattern) {
			out = append(out, w.path(strings.Replace(d.Pattern, "*", "none", 1)))
		}
	}
	for _, list := range forms {
		for _, e := range list {
			if e.on != "" && !strings.Contains(e.on, "{n}") {
				out = append(out, w.path(e.on))
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// crawl opens the pages given and all that they lead to, as c, and hands each
// to see. It follows links and the first way of each search, and never a form
// that posts. most bounds how many pages are opened.
func (w *world) crawl(c *apptest.Client, from []string, most int, see func(path string, a apptest.Answer)) int {
	w.t.Helper()
	queue := slices.Clone(from)
	seen := map[string]bool{}
	opened := 0
	for len(queue) > 0 && opened < most {
		path := queue[0]
		queue = queue[1:]
		if seen[path] {
			continue
		}
		seen[path] = true
		a := c.Get(path)
		opened++
		see(path, a)
		if a.Status == http.StatusSeeOther {
			queue = append(queue, strings.SplitN(a.Location, "#", 2)[0])
			continue
		}
		if !strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
			continue
		}
		a.Page().Find("a[href], img[src], link[href], script[src]").Each(func(_ int, el *goquery.Selection) {
			to := el.AttrOr("href", el.AttrOr("src", ""))
			to = strings.SplitN(to, "#", 2)[0]
			if strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "//") && !seen[to] {
				queue = append(queue, to)
			}
		})
	}
	return opened
}
