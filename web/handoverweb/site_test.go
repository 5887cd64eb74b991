package handoverweb_test

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"rampside/internal/actor"
	"rampside/internal/blob"
	"rampside/internal/clocking"
	"rampside/internal/handover"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/live"
	"rampside/internal/photo"
	"rampside/internal/post"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/handoverweb"
	"rampside/web/photoweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage that hands cars over.
type site struct {
	*cardtest.Garage
	hands  *handover.Service
	clocks *clocking.Service
	photos *photo.Service
	links  *link.Service
	kit    *ui.Kit
	server *httptest.Server
	t      *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"owner": g.Owner, "desk": g.Desk, "technician": g.Posy}, PublicURL: "http://localhost",
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
	store, err := blob.OpenFolder(t.TempDir())
	g.OK(err)
	s := &site{Garage: g, clocks: clocking.New(g.DB), photos: photo.New(g.DB, store), kit: kit, t: t}
	s.hands = handover.New(g.DB, g.Cards, func(path string) string { return "http://localhost" + path }, post.New(g.DB, "desk@saltmarsh.example"))
	s.links = link.New(g.DB, map[link.Purpose]link.Target{link.Handover: handover.Target})
	handoverweb.Mount(r, kit, s.services())
	photoweb.Mount(r, kit, s.photos)
	s.server = httptest.NewServer(r)
	t.Cleanup(s.server.Close)
	return s
}

func (s *site) services() handoverweb.Services {
	return handoverweb.Services{Hands: s.hands, Cards: s.Cards, Photos: s.photos, Links: s.links}
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	header   http.Header
	location string
	body     []byte
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
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(raw))
	s.OK(err)
	return answer{doc, res.StatusCode, res.Header, res.Header.Get("Location"), raw}
}

func (s *site) get(role, path string) answer { return s.do(role, http.MethodGet, path, nil) }

func (s *site) post(role, path string, kv ...string) answer {
	form := url.Values{"key": {uuid.NewString()}}
	for i := 0; i+1 < len(kv); i += 2 {
		form.Add(kv[i], kv[i+1])
	}
	return s.do(role, http.MethodPost, path, form)
}

func num[T ~int64](n T) string { return strconv.FormatInt(int64(n), 10) }

// squeals is a card with brakes done and checked, a hose that is dangerous and
// was declined, and a photo of it.
func (s *site) squeals() *jobcard.Sheet {
	s.t.Helper()
	ctx := s.t.Context()
	c := s.Book(cardtest.Op(s.Brakes), cardtest.Op(s.Service))
	miles := 48_210
	_, err := s.Cards.EditVisit(ctx, s.Desk, jobcard.EditVisitInput{CardID: c.ID, Version: c.Version, Visit: jobcard.Visit{
		BookedFor: c.BookedFor, PromisedAt: s.Clock.Add(8 * time.Hour), Mileage: &miles, MileageUnit: "miles", CustomerWords: "It squeals when I brake.", KeysNote: "hook 4",
	}})
	s.OK(err)
	part, err := s.Cards.AddPart(ctx, s.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: jobcard.PartTerms{LineID: c.Lines[0].ID, Name: "Pad set", Number: "EM-1234", Qty: 1000}})
	s.OK(err)
	_, err = s.Cards.SetSupply(ctx, s.Posy, jobcard.SupplyInput{PartID: part.PartID, Version: 1, Supply: jobcard.Arrived})
	s.OK(err)
	s.Fits(c.ID)
	s.Agree(c.ID)
	found, err := s.clocks.Snag(ctx, s.Posy, jobcard.SnagInput{LineID: c.Lines[0].ID, Kind: jobcard.FoundFault, Found: &jobcard.Found{
		Title: "Brake hose, front left", Severity: jobcard.Dangerous, Measured: "2.5 mm swelling", Limit: "none", Estimate: hours.One(time.Hour),
	}})
	s.OK(err)
	_, err = s.photos.Add(ctx, s.Posy, photo.AddInput{LineID: c.Lines[0].ID, Caption: "The hose under pressure"}, bytes.NewReader(picture(s.t)))
	s.OK(err)
	for _, l := range c.Lines {
		_, err = s.clocks.Tick(ctx, s.Posy, clocking.LineInput{LineID: l.ID})
		s.OK(err)
	}
	_, err = s.Cards.Answer(ctx, s.Desk, jobcard.ConsentInput{CardID: c.ID, Lines: []jobcard.LineID{found.LedTo}, Answer: jobcard.Declined, SaidBy: "Odette Marlowe", How: "by phone"})
	s.OK(err)
	_, err = s.hands.SetInterval(ctx, s.Owner, handover.IntervalInput{OperationID: s.Service, Months: 12, Distance: 10_000})
	s.OK(err)
	return s.Sheet(c.ID)
}

func (s *site) check(id jobcard.LineID) {
	s.t.Helper()
	_, err := s.Cards.SecondCheck(s.t.Context(), s.Bram, jobcard.CheckInput{LineID: id, TorqueNm: 110})
	s.OK(err)
}

func picture(t *testing.T) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 480, 360))
	for x := range 480 {
		for y := range 360 {
			m.Set(x, y, color.RGBA{uint8(x / 2), uint8(y / 2), 90, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
