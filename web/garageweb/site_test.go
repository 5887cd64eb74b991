package garageweb_test

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
	"github.com/google/uuid"

	"rampside/internal/actor"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/roster"
	"rampside/internal/workday"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/garageweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with the pages that set it up.
type site struct {
	*cardtest.Garage
	server *httptest.Server
	kit    *ui.Kit
	roster *roster.Service
	t      *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	s := &site{Garage: g, roster: roster.New(g.DB), t: t}
	s.kit = ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"owner": g.Owner, "desk": g.Desk, "posy": g.Posy, "bram": g.Bram},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		Nav:        []ui.NavItem{{Label: "Garage", Path: "/garage", Need: actor.ManageGarage}},
	})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: g.DB.Now, PublicURL: "http://localhost", PerMinute: 1_000_000, Refuse: s.kit.Fail}); err != nil {
		t.Fatal(err)
	}
	r.Use(s.kit.Session)
	r.NotFound(s.kit.NotFound)
	r.Handle(static.Prefix+"*", static.Handler())
	s.kit.Routes(r)
	hub := live.NewHub(log)
	heard := make(chan struct{})
	ctx, stop := context.WithCancel(context.Background())
	go func() { defer close(heard); hub.Listen(ctx, g.URL) }()
	ui.Stream(s.kit, r, hub)
	garageweb.Mount(r, s.kit, g.DB, g.Settings, s.roster, garageweb.Link{Path: "/people", Label: "Staff", What: "who works here"})
	s.server = httptest.NewServer(r)
	t.Cleanup(func() { s.server.CloseClientConnections(); stop(); <-heard; s.server.Close() })
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

// get opens a page as the owner; it must be there.
func (s *site) get(path string) answer {
	s.t.Helper()
	a := s.do("owner", http.MethodGet, path, nil)
	if a.Status != http.StatusOK {
		s.t.Fatalf("GET %s: %d %s", path, a.Status, a.text("main"))
	}
	return a
}

func (s *site) post(path string, form url.Values) answer {
	s.t.Helper()
	return s.do("owner", http.MethodPost, path, form)
}

// form gives what a browser would send of the form that posts to action, with
// changes over it: pairs of a name and a value; a value of "-" leaves it out.
func (a answer) form(action string, changes ...string) url.Values {
	a.t.Helper()
	v := url.Values{}
	form := a.Find(`form[action="` + action + `"], form.sheet-form:not([action])`).First()
	if form.Length() == 0 {
		a.t.Fatalf("no form that posts to %s", action)
	}
	form.Find("input, select, textarea").Each(func(_ int, e *goquery.Selection) {
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
		if changes[i+1] == "-" {
			v.Del(changes[i])
		} else {
			v.Set(changes[i], changes[i+1])
		}
	}
	return v
}

// again gives the form a new key, as a page opened anew would have.
func again(v url.Values) url.Values {
	v.Set("key", uuid.NewString())
	return v
}

// text is what the elements say, a blank between any two of them.
func (a answer) text(selector string) string {
	var parts []string
	var walk func(int, *goquery.Selection)
	walk = func(_ int, e *goquery.Selection) {
		if goquery.NodeName(e) == "#text" {
			parts = append(parts, e.Text())
		}
		e.Contents().Each(walk)
	}
	a.Find(selector).Each(walk)
	return strings.Join(strings.Fields(strings.Join(parts, " ")), " ")
}

// problem is the message at a field.
func (a answer) problem(name string) string {
	return a.text("#f-" + strings.ReplaceAll(name, ".", "-") + "-problem")
}

// went checks that a post led on to path.
func (a answer) went(path string) {
	a.t.Helper()
	if a.Status != http.StatusSeeOther || a.Location != path {
		a.t.Fatalf("%d to %q, want %s: %s", a.Status, a.Location, path, a.text("main"))
	}
}

// refused checks that a form came back with a message at a field.
func (a answer) refused(field string) {
	a.t.Helper()
	if a.Status != http.StatusUnprocessableEntity || a.problem(field) == "" {
		a.t.Errorf("%d, nothing said at %s: %s", a.Status, field, a.text(".problems"))
	}
}

// has checks that the page says all of words.
func (a answer) has(words ...string) {
	a.t.Helper()
	text := a.text("main")
	for _, w := range words {
		if !strings.Contains(text, w) {
			a.t.Errorf("the page does not say %q: %s", w, text)
		}
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

func (s *site) exec(sql string, args ...any) {
	s.t.Helper()
	if _, err := s.DB.Pool.Exec(s.t.Context(), sql, args...); err != nil {
		s.t.Fatalf("%s: %v", sql, err)
	}
}

// in notes that somebody was in on the garage's day from one time to another;
// an empty to leaves them in.
func (s *site) in(who actor.Actor, from, to string) roster.Attendance {
	s.t.Helper()
	loc, err := workday.Zone("Europe/London")
	s.OK(err)
	when := func(c string) time.Time {
		clock, err := workday.ParseClock(c)
		s.OK(err)
		return workday.At(s.Day, clock, loc)
	}
	s.Clock = when(from)
	a, err := s.roster.Arrive(s.t.Context(), who)
	s.OK(err)
	if to != "" {
		s.Clock = when(to)
		a, err = s.roster.Leave(s.t.Context(), who)
		s.OK(err)
	}
	return a
}
