package reckonerweb_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/money"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/reckonerweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people struct{}

func (people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	role := actor.Role(shown.Token)
	if !role.Valid() {
		return actor.Actor{}, nil
	}
	return actor.Actor{StaffID: 1, Name: "Wren Alder", Role: role}, nil
}

// site is the reckoner on its own: it needs no database.
type site struct {
	server *httptest.Server
	t      *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	now := func() time.Time { return time.Date(2026, 10, 5, 9, 0, 0, 0, time.UTC) }
	kit := ui.New(ui.Options{
		Log: log, Now: now, Sessions: people{}, GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		Nav: []ui.NavItem{{Label: "Diary", Path: "/diary", Need: actor.ReadCards}, {Label: "Reckoner", Path: "/reckoner", Need: actor.ReadCards}},
	})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: now, PublicURL: "http://localhost", PerMinute: 1_000_000, Refuse: kit.Fail}); err != nil {
		t.Fatal(err)
	}
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	r.Handle(static.Prefix+"*", static.Handler())
	kit.Routes(r)
	reckonerweb.Mount(r, kit, func(context.Context) (reckonerweb.House, error) {
		return reckonerweb.House{Standard: money.UKRate(money.Standard)}, nil
	})
	s := &site{httptest.NewServer(r), t}
	t.Cleanup(s.server.Close)
	return s
}

type answer struct {
	*goquery.Document
	status int
}

// ask opens a calculator with fields by name and value.
func (s *site) ask(role, tool string, fields ...string) answer {
	s.t.Helper()
	q := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		q.Set(fields[i], fields[i+1])
	}
	return s.get(role, "/reckoner/"+tool+"?"+q.Encode())
}

func (s *site) get(role, path string) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), http.MethodGet, s.server.URL+path, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	res, err := s.server.Client().Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return answer{doc, res.StatusCode}
}

// text is what is to be read in a part of the page.
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

func (s *site) see(a answer, texts ...string) {
	s.t.Helper()
	if a.status != http.StatusOK {
		s.t.Errorf("status %d: %.600s", a.status, a.text("main"))
	}
	all := a.text(".answer")
	for _, want := range texts {
		if !strings.Contains(all, want) {
			s.t.Errorf("%q is not in the answer: %.1500s", want, all)
		}
	}
}
