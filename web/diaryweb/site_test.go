package diaryweb_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/diary"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/outlook"
	"rampside/static"
	"rampside/web/diaryweb"
	"rampside/web/edge"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with its diary.
type site struct {
	*cardtest.Garage
	server *httptest.Server
	t      *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"owner": g.Owner, "desk": g.Desk, "technician": g.Posy},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		Nav:        []ui.NavItem{{Label: "Diary", Path: "/diary", Need: actor.ReadCards}},
	})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: g.DB.Now, PublicURL: "http://localhost", Refuse: kit.Fail}); err != nil {
		t.Fatal(err)
	}
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	r.Handle(static.Prefix+"*", static.Handler())
	kit.Routes(r)
	ui.Stream(kit, r, live.NewHub(log))
	diaryweb.Mount(r, kit, diary.New(g.DB), outlook.New(g.DB))
	s := &site{Garage: g, server: httptest.NewServer(r), t: t}
	t.Cleanup(s.server.Close)
	return s
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	location string
}

func (s *site) get(role, path string) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), http.MethodGet, s.server.URL+path, nil)
	s.OK(err)
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	s.OK(err)
	defer res.Body.Close()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	s.OK(err)
	return answer{doc, res.StatusCode, res.Header.Get("Location")}
}

// text is what is to be read in a part of the page, with a blank between its
// elements.
func (a answer) text(selector string) string {
	var words []string
	var walk func(int, *goquery.Selection)
	walk = func(_ int, e *goquery.Selection) {
		if goquery.NodeName(e) == "#text" {
			words = append(words, strings.Fields(e.Text())...)
			return
		}
		e.Contents().Each(walk)
	}
	a.Find(selector).Each(walk)
	return strings.Join(words, " ")
}

// see wants each of the texts on the page, in this order.
func (s *site) see(a answer, texts ...string) {
	s.t.Helper()
	rest := a.text("main")
	for _, want := range texts {
		i := strings.Index(rest, want)
		if i < 0 {
			s.t.Errorf("%q is not to be seen in its place; from there on: %.600s", want, rest)
			return
		}
		rest = rest[i+len(want):]
	}
}
