package yourcarweb_test

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
	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"rampside/internal/actor"
	"rampside/internal/blob"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/internal/photo"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/ui"
	"rampside/web/webtest"
	"rampside/web/yourcarweb"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// people are the sessions of these tests: a token is the name of a role.
type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// site is a garage with a card on which faults were found, and a quote of it.
type site struct {
	*cardtest.Garage
	quotes *quote.Service
	links  *link.Service
	photos *photo.Service
	views  map[link.Purpose]yourcarweb.View
	card   *jobcard.Sheet
	photo  photo.ID
	server *httptest.Server
	log    *bytes.Buffer
	t      *testing.T
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	blobs, err := blob.OpenFolder(t.TempDir())
	g.OK(err)
	t.Cleanup(func() { _ = blobs.Close() })
	s := &site{Garage: g, t: t, log: &bytes.Buffer{}, links: link.New(g.DB, nil), photos: photo.New(g.DB, blobs), views: map[link.Purpose]yourcarweb.View{}}
	s.quotes = quote.New(g.DB, func(p string) string { return p }, post.New(g.DB, ""))
	log := slog.New(slog.NewTextHandler(io.MultiWriter(t.Output(), s.log), nil))
	kit := ui.New(ui.Options{
		Log: log, Now: g.DB.Now, Sessions: people{"desk": g.Desk}, GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		Nav: []ui.NavItem{{Label: "Diary", Path: "/diary", Need: actor.ReadCards}},
	})
	r := chi.NewRouter()
	g.OK(edge.Use(r, edge.Options{Log: log, Now: g.DB.Now, PublicURL: "http://localhost", Refuse: kit.Fail}))
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	r.Handle(static.Prefix+"*", static.Handler())
	kit.Routes(r)
	ui.Stream(kit, r, live.NewHub(log))
	yourcarweb.Mount(r, kit, yourcarweb.Services{
		Links: s.links, Quotes: s.quotes, Photos: s.photos, Views: s.views,
		Garage: func(ctx context.Context) (garage.Settings, error) { return garage.Load(ctx, g.DB.Pool) },
	})
	s.server = httptest.NewServer(r)
	t.Cleanup(s.server.Close)
	set, err := garage.Load(t.Context(), g.DB.Pool)
	g.OK(err)
	set.Phone, set.Email = "01632 960 100", "desk@saltmarsh.example"
	_, err = g.Settings.SaveSettings(t.Context(), g.Owner, set)
	g.OK(err)
	s.find()
	return s
}

// find books the car in, and has two faults found on it, one with a photo.
func (s *site) find() {
	s.t.Helper()
	booked := s.Book(cardtest.Op(s.Service))
	s.Agree(booked.ID)
	clocks := clocking.New(s.DB)
	line := booked.Lines[0].ID
	for _, x := range []jobcard.Found{
		{Title: "Front brake pads", Estimate: hours.One(90 * time.Minute), Severity: jobcard.Dangerous, Measured: "0.8 mm", Limit: "1.5 mm"},
		{Title: "Wiper blades", Estimate: hours.One(12 * time.Minute), Severity: jobcard.Advisory},
	} {
		_, err := clocks.Snag(s.t.Context(), s.Posy, jobcard.SnagInput{LineID: line, Kind: jobcard.FoundFault, Note: x.Title + ": worn", Found: &x})
		s.OK(err)
	}
	s.card = s.Sheet(booked.ID)
	added, err := s.photos.Add(s.t.Context(), s.Posy, photo.AddInput{LineID: s.card.Lines[1].ID, Caption: "Inner pad, nearside"}, bytes.NewReader(picture(s.t)))
	s.OK(err)
	s.photo = added.ID
}

func picture(t *testing.T) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for y := range 480 {
		for x := range 640 {
			img.Set(x, y, color.RGBA{uint8(60 + x/8), uint8(60 + y/6), 70, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// issue makes a version and sends it as a link.
func (s *site) issue() (*quote.Version, string) {
	s.t.Helper()
	waits := map[jobcard.LineID]string{s.card.Lines[1].ID: "The discs wear with the pads, and the car may not stop."}
	m, err := s.quotes.Make(s.t.Context(), s.Desk, quote.MakeInput{CardID: s.card.ID, Kind: quote.Estimate, IfWaits: waits, Note: "We found two things while the car was up."})
	s.OK(err)
	return s.send(m.VersionID)
}

func (s *site) send(id quote.VersionID) (*quote.Version, string) {
	s.t.Helper()
	sent, err := s.quotes.Send(s.t.Context(), s.Desk, quote.SendInput{VersionID: id, Way: quote.ByLink, ToName: "Odette Marlowe"})
	s.OK(err)
	token, err := s.links.Token(s.t.Context(), s.Desk, sent.LinkID)
	s.OK(err)
	v, err := s.quotes.Read(s.t.Context(), s.Desk, id)
	s.OK(err)
	return v, token.Path()
}

// chosen is what some jobs of a version come to together, with VAT.
func (s *site) chosen(v *quote.Version, jobs ...int) money.Minor {
	s.t.Helper()
	var ids []jobcard.LineID
	for _, i := range jobs {
		ids = append(ids, v.Jobs[i].LineID)
	}
	c, err := v.Chosen(ids)
	s.OK(err)
	return c.Totals.Gross
}

func (s *site) mint(p link.Purpose, target int64, until time.Duration) (link.ID, string) {
	s.t.Helper()
	links := link.New(s.DB, map[link.Purpose]link.Target{p: target1(s.card.ID)})
	id, err := links.Make(s.t.Context(), s.Desk, link.NewLink{Purpose: p, Target: target, Until: s.Clock.Add(until)})
	s.OK(err)
	token, err := links.Token(s.t.Context(), s.Desk, id)
	s.OK(err)
	return id, token.Path()
}

// answer is a page as it came.
type answer struct {
	*goquery.Document
	status   int
	header   http.Header
	location string
	body     string
}

func (s *site) do(role, method, path string, form url.Values, change ...func(*http.Request)) answer {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.server.URL+path, strings.NewReader(form.Encode()))
	s.OK(err)
	if method == http.MethodPost {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if role != "" {
		req.AddCookie(&http.Cookie{Name: "rampside", Value: role})
	}
	for _, f := range change {
		f(req)
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := c.Do(req)
	s.OK(err)
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	s.OK(err)
	doc, err := goquery.NewDocumentFromReader(bytes.NewReader(raw))
	s.OK(err)
	return answer{doc, res.StatusCode, res.Header, res.Header.Get("Location"), string(raw)}
}

func (s *site) get(path string) answer { return s.do("", http.MethodGet, path, nil) }

func (s *site) post(path string, kv ...string) answer {
	form := url.Values{"key": {uuid.NewString()}}
	for i := 0; i+1 < len(kv); i += 2 {
		form.Set(kv[i], kv[i+1])
	}
	return s.do("", http.MethodPost, path, form)
}

// says fills a form for a version: the answers to its jobs in order, "y", "n"
// or "-", with a name.
func says(v *quote.Version, answers string, more ...string) []string {
	out := append([]string{"version_id", strconv.FormatInt(int64(v.ID), 10), "said_by", "Odette Marlowe"}, more...)
	for i, c := range answers {
		id := strconv.FormatInt(int64(v.Jobs[i].LineID), 10)
		switch c {
		case 'y':
			out = append(out, "answer."+id, "agreed")
		case 'n':
			out = append(out, "answer."+id, "declined")
		}
	}
	return out
}

func (s *site) consents() (n int) {
	s.t.Helper()
	s.OK(s.DB.Pool.QueryRow(s.t.Context(), `select count(*) from quote_answer`).Scan(&n))
	return n
}

func text(a answer) string { return strings.Join(strings.Fields(a.Find("main").Text()), " ") }

// note is a View that says what it was given.
func note(title, words string) func(context.Context, link.Link) (yourcarweb.Shown, error) {
	return func(context.Context, link.Link) (yourcarweb.Shown, error) {
		return yourcarweb.Shown{Title: title, Body: func(*ui.Form) templ.Component { return templ.Raw("<p>" + words + "</p>") }}, nil
	}
}
