package booksweb_test

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
	"rampside/internal/books"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/internal/vehicle"
	"rampside/static"
	"rampside/web/booksweb"
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

// site is a garage with its accounts.
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
		Nav:        []ui.NavItem{{Label: "Accounts", Path: booksweb.Path, Need: actor.SeeAccounts}},
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
	booksweb.Mount(r, kit, books.New(g.DB), g.Settings)
	s.server = httptest.NewServer(r)
	t.Cleanup(s.server.Close)
	set, err := garage.Load(t.Context(), g.DB.Pool)
	s.OK(err)
	set.Address, set.Email, set.Phone, set.VATNumber = "3 Saltmarsh Lane\nSedgeholm", "desk@saltmarsh.example", "01632 960400", "100000132"
	_, err = g.Settings.SaveSettings(t.Context(), g.Owner, set)
	s.OK(err)
	terms, err := s.bills.Terms(t.Context(), g.Owner)
	s.OK(err)
	terms.PayDays, terms.AccountName, terms.IBAN = 14, "Saltmarsh Lane Garage", "GB33BUKB20201555555555"
	_, err = s.bills.SaveTerms(t.Context(), g.Owner, terms)
	s.OK(err)
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

// billed issues a bill of one line at a net price for a new customer.
func (s *site) billed(mark, name string, net money.Minor) bill.Issued {
	s.t.Helper()
	ctx := s.t.Context()
	done, err := s.Cards.Book(ctx, s.Desk, jobcard.Booking{
		NewVehicle: &vehicle.Input{Mark: mark, Make: "Brisling", Model: "Tern"}, NewCustomer: &customer.Input{Name: name, Phone: "01632 960123", Email: "someone@example.org", Address: "4 Quay Street\nNorthhaven"},
		Here: true, Visit: jobcard.Visit{BookedFor: s.Day, ArrivesAt: s.Clock, PromisedAt: s.Clock.Add(6 * time.Hour)},
		Lines: []jobcard.NewLine{{LineTerms: jobcard.LineTerms{Title: "Weld the bracket", MustDo: true, Estimate: hours.One(time.Hour), FixedPrice: &net}}},
	})
	s.OK(err)
	s.Agree(done.CardID)
	_, err = s.clocks.Tick(ctx, s.Posy, clocking.LineInput{LineID: s.Sheet(done.CardID).Lines[0].ID})
	s.OK(err)
	b, err := s.bills.Issue(ctx, s.Desk, bill.IssueInput{CardID: done.CardID})
	s.OK(err)
	return b
}

func (s *site) pay(b bill.Issued, amount money.Minor, method string) bill.Taken {
	s.t.Helper()
	p, err := s.bills.Take(s.t.Context(), s.Desk, bill.TakeInput{BillID: b.ID, Amount: amount, Method: method})
	s.OK(err)
	return p
}

// days moves the clock on.
func (s *site) days(n int) { s.Clock, s.Day = s.Clock.AddDate(0, 0, n), s.Day.AddDays(n) }

// aQuarter is some weeks of bills: one long due, one that is late, one not yet
// due, one paid, one credited in part, and a deposit.
func (s *site) aQuarter() (late, paid bill.Issued) {
	s.t.Helper()
	late = s.billed("BD11 SMR", "Peregrine Lowe", 300_00)
	s.days(40)
	s.billed("BD12 SMR", "Odalys Finch", 80_00)
	s.days(20)
	paid = s.billed("BD13 SMR", "Ottoline Reave", 120_00)
	s.pay(paid, 144_00, "card")
	half := s.billed("BD14 SMR", "Peregrine Lowe", 50_00)
	s.pay(half, 20_00, "cash")
	credited := s.billed("BD15 SMR", "Calder & Sons <Haulage>", 200_00)
	_, err := s.bills.Credit(s.t.Context(), s.Desk, bill.CreditInput{BillID: credited.ID, Whole: true, Why: "billed to the wrong firm"})
	s.OK(err)
	return late, paid
}

// text is what can be read, with a blank between any two elements.
func text(sel *goquery.Selection) string {
	var words []string
	var walk func(int, *goquery.Selection)
	walk = func(_ int, s *goquery.Selection) {
		if goquery.NodeName(s) == "#text" {
			words = append(words, strings.Fields(s.Text())...)
		}
		s.Contents().Each(walk)
	}
	sel.Each(walk)
	return strings.Join(words, " ")
}
