package storesweb_test

import (
	"context"
	"io"
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
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/stores"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/storesweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with its stores.
type site struct {
	*cardtest.Garage
	stores *stores.Service
	clocks *clocking.Service
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
		Nav:        []ui.NavItem{{Label: "Stores", Path: storesweb.Path, Need: actor.ReadCards}},
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
	s := &site{Garage: g, stores: stores.New(g.DB), clocks: clocking.New(g.DB), t: t}
	storesweb.Mount(r, kit, s.stores)
	s.server = httptest.NewServer(r)
	t.Cleanup(s.server.Close)
	return s
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	header   http.Header
	location string
	body     string
}

func (s *site) do(role, method, path string, form url.Values) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.server.URL+path, strings.NewReader(form.Encode()))
	s.OK(err)
	if method == http.MethodPost {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	s.OK(err)
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	s.OK(err)
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(string(raw)))
	s.OK(err)
	return answer{doc, res.StatusCode, res.Header, res.Header.Get("Location"), string(raw)}
}

func (s *site) get(role, path string) answer { return s.do(role, http.MethodGet, path, nil) }

func (s *site) post(role, path string, kv ...string) answer {
	form := url.Values{"key": {uuid.NewString()}}
	for i := 0; i+1 < len(kv); i += 2 {
		form.Set(kv[i], kv[i+1])
	}
	return s.do(role, http.MethodPost, path, form)
}

func (s *site) part(c *jobcard.Sheet, line int, terms jobcard.PartTerms) jobcard.PartID {
	s.t.Helper()
	if line >= 0 {
		terms.LineID = c.Lines[line].ID
	}
	if terms.Qty == 0 {
		terms.Qty = 1000
	}
	done, err := s.Cards.AddPart(s.t.Context(), s.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: terms})
	s.OK(err)
	return done.PartID
}

func (s *site) order(due time.Time, parts ...jobcard.PartID) stores.Order {
	s.t.Helper()
	in := stores.OrderInput{SupplierID: s.Supplier, DueAt: due}
	for _, id := range parts {
		in.Lines = append(in.Lines, stores.OrderedLine{PartID: id})
	}
	done, err := s.stores.Order(s.t.Context(), s.Desk, in)
	s.OK(err)
	o, _, err := s.stores.OrderBy(s.t.Context(), s.Owner, done.OrderID)
	s.OK(err)
	return o
}
