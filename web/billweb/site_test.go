package billweb_test

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
	"rampside/internal/bill"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/static"
	"rampside/web/billweb"
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

// site is a garage registered for VAT, with its bills.
type site struct {
	*cardtest.Garage
	bills  *bill.Service
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
		Nav:        []ui.NavItem{{Label: "Bills", Path: billweb.Path, Need: actor.ReadPeople}},
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
	s := &site{Garage: g, bills: bill.New(g.DB), clocks: clocking.New(g.DB), t: t}
	billweb.Mount(r, kit, s.bills, g.Cards, link.New(g.DB, nil))
	s.server = httptest.NewServer(r)
	t.Cleanup(s.server.Close)
	s.registered()
	return s
}

// registered gives the garage its address and VAT number.
func (s *site) registered() {
	s.t.Helper()
	set, err := s.Settings.Settings(s.t.Context(), s.Owner)
	s.OK(err)
	set.Address, set.Phone, set.Email, set.VATNumber = "2 Saltmarsh Lane\nSaltmarsh\nZZ9 1AA", "01632 960100", "desk@saltmarsh.example", "350983637"
	_, err = s.Settings.SaveSettings(s.t.Context(), s.Owner, set)
	s.OK(err)
}

func (s *site) lives(address string) {
	s.t.Helper()
	c, err := customer.Get(s.t.Context(), s.DB.Pool, s.Keeper)
	s.OK(err)
	_, err = customer.New(s.DB).Edit(s.t.Context(), s.Desk, customer.EditInput{ID: c.ID, Version: c.Version, Input: customer.Input{Name: c.Name, Phone: c.Phone, Email: "odette@marlowe.example", Address: address}})
	s.OK(err)
}

func fixed(title string, net money.Minor) jobcard.NewLine {
	l := cardtest.Free(title, time.Hour)
	l.FixedPrice = &net
	return l
}

func (s *site) tick(l jobcard.Line) {
	s.t.Helper()
	_, err := s.clocks.Tick(s.t.Context(), s.Posy, clocking.LineInput{LineID: l.ID})
	s.OK(err)
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
	req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
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
