package bookinweb_test

import (
	"context"
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
	"rampside/web/bookinweb"
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

// site is a garage with the page to book in on it.
type site struct {
	*cardtest.Garage
	*httptest.Server
	t *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"owner": g.Owner, "desk": g.Desk, "technician": g.Posy},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		Nav:        []ui.NavItem{{Label: "Book in", Path: "/book-in", Need: actor.BookIn}},
	})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: g.DB.Now, PublicURL: "http://localhost", Refuse: kit.Fail}); err != nil {
		t.Fatal(err)
	}
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	r.Handle(static.Prefix+"*", static.Handler())
	kit.Routes(r)
	bookinweb.Mount(r, kit, g.DB.Now, g.Vehicles, customer.New(g.DB), g.Cards, g.Settings)
	kit.Get(r, "/cards/{card}", actor.ReadCards, func(w http.ResponseWriter, r *http.Request) error {
		return kit.Render(w, r, http.StatusOK, ui.Page(kit.Page(r, "The card", "")))
	})
	s := &site{Garage: g, Server: httptest.NewServer(r), t: t}
	t.Cleanup(s.Server.Close)
	return s
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	Status   int
	Location string
	t        *testing.T
}

func (s *site) do(role, method, path string, form url.Values) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.URL()+path, strings.NewReader(form.Encode()))
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

// URL hides the field of that name: the garage has one too.
func (s *site) URL() string { return s.Server.URL }

func (s *site) get(path string) answer { s.t.Helper(); return s.do("desk", http.MethodGet, path, nil) }

// form gives what a browser would send of the page's form, with changes over
// it: pairs of a name and a value.
func (a answer) form(changes ...string) url.Values {
	a.t.Helper()
	v := url.Values{}
	a.Find("form.book-in").Find("input, select, textarea").Each(func(_ int, e *goquery.Selection) {
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
			value, _ = e.Find("option[selected]").Attr("value")
		}
		v.Add(name, value)
	})
	for i := 0; i+1 < len(changes); i += 2 {
		v.Set(changes[i], changes[i+1])
	}
	return v
}

func (s *site) post(v url.Values) answer {
	s.t.Helper()
	return s.do("desk", http.MethodPost, "/book-in", v)
}

// problems are the messages of the page, by the field that each is at.
func (a answer) problems() map[string]string {
	out := map[string]string{}
	a.Find(".field-problem").Each(func(_ int, e *goquery.Selection) {
		id, _ := e.Attr("id")
		out[strings.TrimSuffix(strings.TrimPrefix(id, "f-"), "-problem")] = strings.Join(strings.Fields(e.Text()), " ")
	})
	return out
}

// value is what stands in a field of the form.
func (a answer) value(name string) string { return a.form().Get(name) }

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

func (s *site) count(sql string, args ...any) int {
	s.t.Helper()
	var n int
	if err := s.DB.Pool.QueryRow(s.t.Context(), sql, args...).Scan(&n); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
	return n
}

func (s *site) exec(sql string, args ...any) {
	s.t.Helper()
	if _, err := s.DB.Pool.Exec(s.t.Context(), sql, args...); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
}
