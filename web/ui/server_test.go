package ui_test

import (
	"bytes"
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/ui"
	"rampside/web/ui/specimen"
)

// people are the sessions of the tests: a token is the name of a role.
type people struct{}

func (people) Actor(_ context.Context, p ui.Presented) (actor.Actor, error) {
	switch p.Token {
	case "owner":
		return actor.Actor{StaffID: 1, Name: "Petra Lind", Role: actor.Owner}, nil
	case "desk":
		return actor.Actor{StaffID: 2, Name: "Ana Whitlock", Role: actor.Desk}, nil
	case "technician":
		return actor.Actor{StaffID: 3, Name: "Ivo Marsh", Role: actor.Technician}, nil
	case "broken":
		return actor.Actor{}, context.DeadlineExceeded
	}
	if p.Device == "tablet" {
		return actor.Actor{DeviceID: 9, Device: "tablet by ramp 2"}, nil
	}
	return actor.Actor{}, nil
}

// site is a server with every kind of route, and what its log said.
type site struct {
	*httptest.Server
	kit    *ui.Kit
	router *chi.Mux
	log    *safeBuffer
	hub    *hub
	record *records
}

type safeBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *safeBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *safeBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

// hub is a small stand-in for where changes are heard of.
type hub struct {
	mu   sync.Mutex
	subs map[chan int]string
}

func (h *hub) Subscribe(topic string) (<-chan int, func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	c := make(chan int, 16)
	h.subs[c] = topic
	return c, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.subs, c)
	}
}

func (h *hub) say(topic string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for c, t := range h.subs {
		if t == topic {
			c <- 1
		}
	}
}

func (h *hub) listening() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.subs)
}

func newSite(t *testing.T, change ...func(*ui.Options, *edge.Options)) *site {
	t.Helper()
	s := &site{log: &safeBuffer{}, hub: &hub{subs: map[chan int]string{}}, record: &records{version: 1, note: "as it was", keys: map[string]bool{}}}
	o := ui.Options{
		Log: slog.New(slog.NewJSONHandler(s.log, nil)), Now: time.Now, Sessions: people{},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		SignOut:    "/sign-out",
		Nav: []ui.NavItem{
			{Label: "Diary", Path: "/diary", Need: actor.ReadCards},
			{Label: "Book in", Path: "/book-in", Need: actor.BookIn},
			{Label: "Floor", Path: "/floor", Need: actor.Work},
			{Label: "Day’s end", Path: "/days-end", Need: actor.SeeMargins},
			{Label: "Garage", Path: "/garage", Need: actor.ManageGarage},
		},
	}
	e := edge.Options{Log: o.Log, Now: time.Now, PublicURL: "https://jobs.saltmarsh.example"}
	for _, c := range change {
		c(&o, &e)
	}
	s.kit = ui.New(o)
	e.Refuse = s.kit.Fail
	s.router = chi.NewRouter()
	if err := edge.Use(s.router, e); err != nil {
		t.Fatal(err)
	}
	s.router.Use(s.kit.Session)
	s.router.NotFound(s.kit.NotFound)
	s.router.MethodNotAllowed(s.kit.NotAllowed)
	s.router.Handle(static.Prefix+"*", static.Handler())
	s.routes()
	s.specimenRoutes()
	s.recordRoutes()
	s.Server = httptest.NewServer(s.router)
	t.Cleanup(s.Close)
	return s
}

var kinds = map[string]apperr.Kind{
	"/invalid": apperr.Invalid, "/not-found": apperr.NotFound, "/conflict": apperr.Conflict,
	"/forbidden": apperr.Forbidden, "/too-many": apperr.TooMany, "/too-large": apperr.TooLarge,
}

func (s *site) routes() {
	k, r := s.kit, s.router
	k.Routes(r)
	ui.Stream(k, r, s.hub)
	k.Get(r, "/diary", actor.ReadCards, s.show("Diary"))
	k.Get(r, "/garage", actor.ManageGarage, s.show("Garage"))
	k.Post(r, "/diary", actor.BookIn, func(w http.ResponseWriter, r *http.Request) error {
		return ui.SeeOther(w, r, "/diary")
	})
	k.Public(r, http.MethodGet, "/open", "a page for everybody", s.show("Open to all"))
	k.Get(r, "/panic", actor.ReadCards, func(http.ResponseWriter, *http.Request) error { panic("a nut fell in") })
	k.Get(r, "/panic-late", actor.ReadCards, func(w http.ResponseWriter, _ *http.Request) error {
		_, _ = w.Write([]byte("half of the page"))
		panic("too late to say")
	})
	for path, kind := range kinds {
		k.Get(r, path, actor.ReadCards, func(http.ResponseWriter, *http.Request) error {
			return apperr.New(kind, "the message of %s", path)
		})
	}
	k.Get(r, "/fault", actor.ReadCards, func(http.ResponseWriter, *http.Request) error {
		return context.DeadlineExceeded
	})
}

func (s *site) show(title string) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		return s.kit.Render(w, r, http.StatusOK, specimen.Marks(s.kit.Page(r, title, r.URL.Path)))
	}
}

// as asks the server for something as a role, without following redirects.
func (s *site) as(t *testing.T, role, method, path string, change func(*http.Request)) *http.Response {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), method, s.URL+path, http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	if change != nil {
		change(req)
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	if err != nil {
		t.Fatalf("%s %s: %v", method, path, err)
	}
	t.Cleanup(func() { _ = res.Body.Close() })
	return res
}
