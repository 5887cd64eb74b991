package dayendweb_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/static"
	"rampside/web/dayendweb"
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

// site is a garage with its day's end.
type site struct {
	*cardtest.Garage
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
		Nav:        []ui.NavItem{{Label: "Day's end", Path: dayendweb.Path, Need: actor.SeeMargins}},
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
	dayendweb.Mount(r, kit, dayend.New(g.DB))
	s := &site{Garage: g, clocks: clocking.New(g.DB), server: httptest.NewServer(r), t: t}
	t.Cleanup(s.server.Close)
	return s
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	location string
}

func (s *site) get(role, path string) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), http.MethodGet, s.server.URL+path, nil)
	s.OK(err)
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	s.OK(err)
	defer res.Body.Close()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	s.OK(err)
	return answer{doc, res.StatusCode, res.Header.Get("Location")}
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

// see wants each of the texts on the page, in this order.
func (s *site) see(a answer, texts ...string) {
	s.t.Helper()
	rest := a.text("main")
	for _, want := range texts {
		i := strings.Index(rest, want)
		if i < 0 {
			s.t.Errorf("%q is not to be seen in its place; from there on: %.600s", want, rest)
			return
		}
		rest = rest[i+len(want):]
	}
}

// work has somebody on a line for so long from now on.
func (s *site) work(who actor.Actor, l jobcard.Line, d time.Duration) {
	s.t.Helper()
	_, err := s.clocks.ClockOn(s.t.Context(), who, clocking.OnInput{LineID: l.ID, Read: l.Cautions})
	s.OK(err)
	s.Clock = s.Clock.Add(d)
	_, err = s.clocks.ClockOff(s.t.Context(), who, clocking.OffInput{})
	s.OK(err)
}

func (s *site) tick(who actor.Actor, l jobcard.Line) {
	s.t.Helper()
	s.Fits(l.CardID) // or the gate stays closed
	_, err := s.clocks.Tick(s.t.Context(), who, clocking.LineInput{LineID: l.ID})
	s.OK(err)
}

func (s *site) part(c *jobcard.Sheet, line int, terms jobcard.PartTerms) {
	s.t.Helper()
	terms.LineID = c.Lines[line].ID
	if terms.Qty == 0 {
		terms.Qty = 1000
	}
	_, err := s.Cards.AddPart(s.t.Context(), s.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: terms})
	s.OK(err)
}

// aDay is a card with a service that is done at a loss of time, brakes that go
// on, work that nobody agreed to, a line put off and one that waits.
func (s *site) aDay() *jobcard.Sheet {
	s.t.Helper()
	c := s.Book(cardtest.Op(s.Service), cardtest.Op(s.Brakes), cardtest.Free("Wash", time.Hour), cardtest.Free("Sills", time.Hour),
		cardtest.Free("Clutch", 4*time.Hour))
	s.part(c, 0, jobcard.PartTerms{Name: "Oil", Qty: 4500, Cost: 6_20, Supply: jobcard.Arrived})
	s.part(c, 4, jobcard.PartTerms{Name: "Clutch kit", Cost: 120_00, SupplierID: s.Supplier, Supply: jobcard.Ordered, DueAt: s.Clock.Add(26 * time.Hour)})
	ask := []jobcard.LineID{c.Lines[0].ID, c.Lines[1].ID, c.Lines[3].ID, c.Lines[4].ID}
	_, err := s.Cards.Answer(s.t.Context(), s.Desk, jobcard.ConsentInput{CardID: c.ID, Lines: ask, Answer: jobcard.Agreed, SaidBy: "Odette Marlowe", How: "by phone"})
	s.OK(err)
	s.GoAhead(c.Lines[2].ID)
	s.work(s.Bram, c.Lines[0], 2*time.Hour)
	s.tick(s.Bram, c.Lines[0])
	s.work(s.Posy, c.Lines[1], 30*time.Minute)
	s.work(s.Posy, c.Lines[2], 15*time.Minute)
	s.tick(s.Posy, c.Lines[2])
	_, err = s.clocks.Defer(s.t.Context(), s.Posy, clocking.DeferInput{LineID: c.Lines[3].ID, Reason: "too wet", DecidedBy: "Odette Marlowe"})
	s.OK(err)
	_, err = s.clocks.Wait(s.t.Context(), s.Posy, clocking.ReasonInput{LineID: c.Lines[4].ID, Reason: "the kit comes tomorrow"})
	s.OK(err)
	return s.Sheet(c.ID)
}
