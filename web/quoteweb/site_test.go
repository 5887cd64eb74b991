package quoteweb_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/live"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/quoteweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with the pages of its quotes.
type site struct {
	*cardtest.Garage
	quotes *quote.Service
	links  *link.Service
	server *httptest.Server
	t      *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, PublicURL: "https://jobs.garage.test", Sessions: people{"owner": g.Owner, "desk": g.Desk, "technician": g.Posy},
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
	letters := post.New(g.DB, "jobs@garage.test")
	s := &site{Garage: g, quotes: quote.New(g.DB, kit.PublicURL, letters), links: link.New(g.DB, nil), t: t}
	quoteweb.Mount(r, kit, s.quotes, s.links, letters)
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

// card is a card with brakes, whose pads were found worn out, and a service.
func (s *site) card() *jobcard.Sheet {
	s.t.Helper()
	c := s.Book(cardtest.Op(s.Brakes), cardtest.Op(s.Service))
	_, err := s.Cards.AddPart(s.t.Context(), s.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: jobcard.PartTerms{
		LineID: c.Lines[0].ID, Name: "Pad set", Number: "EM 12-34", SupplierID: s.Supplier, Qty: 1000, Cost: 26_50,
	}})
	s.OK(err)
	_, err = s.DB.Pool.Exec(s.t.Context(), `insert into finding (card_id, line_id, severity, what, measured, limit_value, proposed_line_id, at)
		values ($1, $2, 'dangerous', 'Pads worn to the metal', '0.4 mm', '1.5 mm', $3, $4)`, c.ID, c.Lines[1].ID, c.Lines[0].ID, s.Clock)
	s.OK(err)
	return s.Sheet(c.ID)
}

func (s *site) make(id jobcard.CardID) quote.VersionID {
	s.t.Helper()
	m, err := s.quotes.Make(s.t.Context(), s.Desk, quote.MakeInput{CardID: id, Kind: quote.Estimate})
	s.OK(err)
	return m.VersionID
}
