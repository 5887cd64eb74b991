package vehicleweb_test

import (
	"context"
	"crypto/rand"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/jobcard/cardtest"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/ui"
	"rampside/web/vehicleweb"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with the pages of cars and customers on it.
type site struct {
	*cardtest.Garage
	server *httptest.Server
	t      *testing.T
	people *customer.Service
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"owner": g.Owner, "desk": g.Desk, "technician": g.Posy},
		Nav: []ui.NavItem{{Label: "Vehicles", Path: "/vehicles", Need: actor.ReadCards}},
	})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: g.DB.Now, PublicURL: "http://localhost", Refuse: kit.Fail}); err != nil {
		t.Fatal(err)
	}
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	r.Handle(static.Prefix+"*", static.Handler())
	kit.Routes(r)
	s := &site{Garage: g, server: httptest.NewServer(r), t: t, people: customer.New(g.DB)}
	ui.Stream(kit, r, silent{})
	vehicleweb.Mount(r, kit, g.DB.Now, g.Settings, g.Vehicles, s.people, g.Cards)
	t.Cleanup(s.server.Close)
	return s
}

// silent is a hub that hears of nothing.
type silent struct{}

func (silent) Subscribe(string) (<-chan int, func()) { return make(chan int), func() {} }

type answer struct {
	*goquery.Document
	Status   int
	Location string
	t        *testing.T
}

func (s *site) do(role, method, path string, form url.Values) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.server.URL+path, strings.NewReader(form.Encode()))
	if err != nil {
		s.t.Fatal(err)
	}
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	if err != nil {
		s.t.Fatalf("%s %s: %v", method, path, err)
	}
	defer res.Body.Close()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	if err != nil {
		s.t.Fatalf("%s %s: %v", method, path, err)
	}
	return answer{doc, res.StatusCode, res.Header.Get("Location"), s.t}
}

func (s *site) get(path string) answer { s.t.Helper(); return s.do("desk", http.MethodGet, path, nil) }

// form gives what a browser would send of the form with that action, with
// changes over it: pairs of a name and a value.
func (a answer) form(action string, changes ...string) url.Values {
	a.t.Helper()
	f := a.Find(`form[action="` + action + `"]`).Last()
	if f.Length() == 0 {
		a.t.Fatalf("%d: there is no form for %s: %s", a.Status, action, a.text("main"))
	}
	v := url.Values{}
	f.Find("input, select, textarea").Each(func(_ int, e *goquery.Selection) {
		name, _ := e.Attr("name")
		value, _ := e.Attr("value")
		kind, _ := e.Attr("type")
		_, ticked := e.Attr("checked")
		switch {
		case name == "" || (kind == "checkbox" || kind == "radio") && !ticked:
			return
		case goquery.NodeName(e) == "textarea":
			value = strings.TrimPrefix(e.Text(), "\n")
		case goquery.NodeName(e) == "select":
			chosen := e.Find("option[selected]")
			if chosen.Length() == 0 {
				chosen = e.Find("option").First()
			}
			value, _ = chosen.Attr("value")
		}
		v.Add(name, value)
	})
	// Each is sent as if from a page of its own.
	v.Set("key", rand.Text())
	for i := 0; i+1 < len(changes); i += 2 {
		v.Set(changes[i], changes[i+1])
	}
	return v
}

// problem is the message at a field.
func (a answer) problem(field string) string { return a.text("#f-" + field + "-problem") }

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

func (s *site) exec(sql string, args ...any) {
	s.t.Helper()
	if _, err := s.DB.Pool.Exec(s.t.Context(), sql, args...); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
}

func (s *site) count(sql string, args ...any) int {
	s.t.Helper()
	var n int
	if err := s.DB.Pool.QueryRow(s.t.Context(), sql, args...).Scan(&n); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
	return n
}

func (s *site) someone(name, phone string) customer.ID {
	s.t.Helper()
	id, err := s.people.Create(s.t.Context(), s.Desk, customer.Input{Name: name, Phone: phone})
	s.OK(err)
	return id
}
