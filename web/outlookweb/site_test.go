package outlookweb_test

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

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/outlook"
	"rampside/internal/roster"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/outlookweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with its outlook.
type site struct {
	*cardtest.Garage
	looks  *outlook.Service
	server *httptest.Server
	t      *testing.T
	cars   int
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"owner": g.Owner, "desk": g.Desk, "technician": g.Posy},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		Nav:        []ui.NavItem{{Label: "Outlook", Path: outlookweb.Path, Need: actor.ReadCards}},
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
	s := &site{Garage: g, looks: outlook.New(g.DB), t: t}
	outlookweb.Mount(r, kit, s.looks, g.Settings)
	s.server = httptest.NewServer(r)
	t.Cleanup(s.server.Close)
	return s
}

// shifts lets both technicians work from 08:30 to 17:30.
func (s *site) shifts() {
	s.t.Helper()
	_, version, err := roster.Shifts(s.t.Context(), s.DB.Pool)
	s.OK(err)
	in := roster.ShiftsInput{Version: version}
	for _, who := range []actor.Actor{s.Posy, s.Bram} {
		w := roster.Week{StaffID: who.StaffID}
		for i := range 5 {
			w.Days[i] = &workday.Shift{Start: 8*60 + 30, End: 17*60 + 30, Break: 30 * time.Minute}
		}
		in.Weeks = append(in.Weeks, w)
	}
	s.OK(roster.New(s.DB).SaveShifts(s.t.Context(), s.Owner, in))
}

var cars = []vehicle.Input{
	{Mark: "BD51 AAA", Make: "Halden", Model: "Pike"}, {Mark: "BD51 AAB", Make: "Fenwick", Model: "Dart"}, {Mark: "BD51 AAC", Make: "Tamar", Model: "Gull"},
}

// car takes a car in, promised so many hours from now.
func (s *site) car(promised time.Duration, lines ...jobcard.NewLine) *jobcard.Sheet {
	s.t.Helper()
	done, err := s.Cards.Book(s.t.Context(), s.Desk, jobcard.Booking{
		NewVehicle: &cars[s.cars], CustomerID: s.Keeper, Here: true, Lines: lines,
		Visit: jobcard.Visit{BookedFor: s.Day, ArrivesAt: s.Clock, PromisedAt: s.Clock.Add(promised)},
	})
	s.OK(err)
	s.cars++
	return s.Sheet(done.CardID)
}

// aDay is three cars: one that is easily done, one that is in doubt, and one
// promised for long before it can be.
func (s *site) aDay() []*jobcard.Sheet {
	s.t.Helper()
	s.shifts()
	wash := cardtest.Free("Wash it", time.Hour)
	wash.MustDo = false
	out := []*jobcard.Sheet{
		s.car(8*time.Hour, cardtest.Op(s.Check)),
		s.car(150*time.Minute, cardtest.Op(s.Service), wash),
		s.car(20*time.Minute, cardtest.Op(s.Brakes), cardtest.Op(s.Service)),
	}
	s.refresh()
	return out
}

func (s *site) refresh() {
	s.t.Helper()
	_, err := s.looks.Refresh(s.t.Context())
	s.OK(err)
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	location string
}

func (s *site) ask(req *http.Request, role string) answer {
	s.t.Helper()
	req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	s.OK(err)
	defer res.Body.Close()
	doc, err := goquery.NewDocumentFromReader(res.Body)
	s.OK(err)
	return answer{doc, res.StatusCode, res.Header.Get("Location")}
}

func (s *site) get(role, path string) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), http.MethodGet, s.server.URL+path, nil)
	s.OK(err)
	return s.ask(req, role)
}

var keys int

func (s *site) post(role, path string, pairs ...string) answer {
	s.t.Helper()
	keys++
	v := url.Values{"key": {"00000000-0000-4000-8000-0000000000" + string(rune('a'+keys%6)) + string(rune('a'+keys/6%6))}}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	req, err := http.NewRequestWithContext(s.t.Context(), http.MethodPost, s.server.URL+path, strings.NewReader(v.Encode()))
	s.OK(err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return s.ask(req, role)
}

func (a answer) text() string { return strings.Join(strings.Fields(a.Find("main").Text()), " ") }
