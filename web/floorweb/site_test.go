package floorweb_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"rampside/internal/actor"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/fitment"
	"rampside/internal/floor"
	"rampside/internal/live"
	"rampside/internal/roster"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/floorweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is somebody's first name.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is the shop with its floor pages.
type site struct {
	*clocktest.Shop
	t      *testing.T
	server *httptest.Server
	kit    *ui.Kit
}

func newSite(t *testing.T) *site {
	t.Helper()
	shop := clocktest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: shop.Now,
		Sessions:   people{"wren": shop.Owner, "ines": shop.Desk, "posy": shop.Posy, "bram": shop.Bram},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		SignOut:    "/sign-out",
		Nav: []ui.NavItem{
			{Label: "Diary", Path: "/diary", Need: actor.ReadCards}, {Label: "Floor", Path: "/floor", Need: actor.Work},
			{Label: "Clockings", Path: "/clockings", Need: actor.SeeMargins},
		},
	})
	r := chi.NewRouter()
	clocktest.Ok(t, edge.Use(r, edge.Options{Log: log, Now: shop.Now, PublicURL: "http://localhost", Refuse: kit.Fail}))
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	r.MethodNotAllowed(kit.NotAllowed)
	r.Handle(static.Prefix+"*", static.Handler())
	hub := live.NewHub(log)
	go hub.Listen(t.Context(), shop.DB.Pool.Config().ConnString())
	ui.Stream(kit, r, hub)
	kit.Routes(r)
	floorweb.Mount(r, kit, floorweb.Services{
		Floor: floor.New(shop.DB), Cards: shop.Cards, Clock: shop.Clock, Fitment: fitment.New(shop.DB), Roster: roster.New(shop.DB), Garage: shop.Garage,
		PhotoForm: func(line, back string) templ.Component {
			return templ.Raw(`<p class="photo-place">photos of ` + line + ` for ` + back + `</p>`)
		},
	})
	s := &site{Shop: shop, t: t, server: httptest.NewServer(r), kit: kit}
	t.Cleanup(s.server.Close)
	return s
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	location string
}

func (s *site) send(who, method, path string, form url.Values) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.server.URL+path, strings.NewReader(form.Encode()))
	clocktest.Ok(s.t, err)
	if method == http.MethodPost {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if who != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: who})
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	clocktest.Ok(s.t, err)
	defer func() { _ = res.Body.Close() }()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	clocktest.Ok(s.t, err)
	return answer{doc, res.StatusCode, res.Header.Get("Location")}
}

func (s *site) get(who, path string) answer {
	s.t.Helper()
	return s.send(who, http.MethodGet, path, nil)
}

// post sends a form with a key of its own, unless it has one.
func (s *site) post(who, path string, pairs ...string) answer {
	s.t.Helper()
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	if !form.Has("key") {
		form.Set("key", uuid.NewString())
	}
	return s.send(who, http.MethodPost, path, form)
}

// done wants a write to have been taken, and to lead on to a page.
func (s *site) done(a answer, location string) {
	s.t.Helper()
	if a.status != http.StatusSeeOther || a.location != location {
		s.t.Fatalf("answered %d to %q, want %q: %.500s", a.status, a.location, location, a.text("main"))
	}
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

// see wants each of the texts in the page's main part, in this order.
func (s *site) see(a answer, status int, texts ...string) {
	s.t.Helper()
	if a.status != status {
		s.t.Errorf("answered %d, want %d", a.status, status)
	}
	rest := a.text("main")
	for _, want := range texts {
		_, after, ok := strings.Cut(rest, want)
		if !ok {
			s.t.Errorf("%q is not to be seen in its place; from there on: %.800s", want, rest)
			return
		}
		rest = after
	}
}

func (s *site) seeNot(a answer, texts ...string) {
	s.t.Helper()
	for _, no := range texts {
		if strings.Contains(a.text("main"), no) {
			s.t.Errorf("%q is to be seen: %.800s", no, a.text("main"))
		}
	}
}
