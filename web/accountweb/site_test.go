package accountweb_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/pg/pgtest"
	"rampside/static"
	"rampside/web/accountweb"
	"rampside/web/edge"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

const (
	password = "heron on a tin roof"
	another  = "nine pickled walnuts"
	pin      = "4917"
)

// quick keeps secrets without the cost that slows guessing, which is tested
// where it is made.
type quick struct{}

func (quick) Hash(_ context.Context, secret string) (string, error) { return "quick:" + secret, nil }
func (quick) Matches(_ context.Context, stored, secret string) (bool, error) {
	return stored == "quick:"+secret, nil
}

// silent is a line on which nothing is ever heard.
type silent struct{}

func (silent) Subscribe(string) (<-chan int, func()) { return make(chan int), func() {} }

// site is a server with these pages and a front page that says who it is.
type site struct {
	*httptest.Server
	t        *testing.T
	kit      *ui.Kit
	accounts *account.Service
	db       *change.DB
	ahead    atomic.Int64 // how far the clock is moved, in nanoseconds

	owner, desk, tech actor.StaffID
}

func open(t *testing.T) *site {
	t.Helper()
	s := &site{t: t}
	s.db = &change.DB{Pool: pgtest.New(t), Now: func() time.Time { return time.Now().Add(time.Duration(s.ahead.Load())) }}
	log := slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelError}))
	s.accounts = account.New(s.db, account.Options{Log: log, Hasher: quick{}, Found: garage.Found})
	s.kit = ui.New(ui.Options{
		Log: log, Now: s.db.Now, Sessions: accountweb.Sessions{Accounts: s.accounts},
		GarageName: func(context.Context) string { return "Saltmarsh Lane Garage" },
		SignOut:    accountweb.SignOutPath,
		Nav: []ui.NavItem{
			{Label: "Staff", Path: accountweb.StaffPath, Need: actor.ManageStaff},
			{Label: "Tablets", Path: accountweb.TabletsPath, Need: actor.KeepTablets},
		},
	})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: s.db.Now, PublicURL: "http://localhost", PerMinute: 1_000_000, Refuse: s.kit.Fail}); err != nil {
		t.Fatal(err)
	}
	r.Use(s.kit.Session)
	r.NotFound(s.kit.NotFound)
	r.MethodNotAllowed(s.kit.NotAllowed)
	r.Handle(static.Prefix+"*", static.Handler())
	s.kit.Routes(r)
	accountweb.Mount(r, s.kit, s.accounts)
	ui.Stream(s.kit, r, silent{})
	front := func(w http.ResponseWriter, r *http.Request) error {
		return s.kit.Render(w, r, http.StatusOK, ui.Page(s.kit.Page(r, "front of "+ui.Who(r.Context()).Name, "")))
	}
	s.kit.Get(r, "/", actor.OwnSignIn, front)
	s.kit.Get(r, "/diary", actor.OwnSignIn, front)
	s.Server = httptest.NewServer(r)
	t.Cleanup(s.Close)
	return s
}

func staffed(t *testing.T) *site {
	t.Helper()
	s := open(t)
	add := func(in account.NewStaff) actor.StaffID {
		id, err := s.accounts.CreateUser(t.Context(), actor.Command("user"), in)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	s.owner = add(account.NewStaff{Name: "Orla Penhale", Role: actor.Owner, SignIn: "orla", Password: password, PIN: pin, CostRate: 2500})
	s.desk = add(account.NewStaff{Name: "Dov Larkin", Role: actor.Desk, SignIn: "dov", Password: password})
	s.tech = add(account.NewStaff{Name: "Tamsin Roe", Role: actor.Technician, SignIn: "tamsin", Password: password, PIN: pin})
	return s
}

// browser is somebody's browser without scripts: cookies, links and forms.
type browser struct {
	*http.Client
	t    *testing.T
	base string
}

func (s *site) browser() *browser {
	jar, err := cookiejar.New(nil)
	if err != nil {
		s.t.Fatal(err)
	}
	return &browser{t: s.t, base: s.URL, Client: &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error {
		return http.ErrUseLastResponse
	}}}
}

// in is a browser at which somebody is signed in.
func (s *site) in(signIn string) *browser {
	s.t.Helper()
	b := s.browser()
	b.send("/sign-in", "", "sign_in", signIn, "password", password).goes(s.t, "/")
	return b
}

// page is an answer, read.
type page struct {
	*goquery.Document
	status int
	to     string // where a redirect leads
	header http.Header
	body   string
}

func (b *browser) do(req *http.Request) page {
	b.t.Helper()
	res, err := b.Do(req)
	if err != nil {
		b.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(string(body)))
	if err != nil {
		b.t.Fatal(err)
	}
	return page{doc, res.StatusCode, res.Header.Get("Location"), res.Header, string(body)}
}

func (b *browser) get(path string) page {
	b.t.Helper()
	req, err := http.NewRequestWithContext(b.t.Context(), http.MethodGet, b.base+path, nil)
	if err != nil {
		b.t.Fatal(err)
	}
	return b.do(req)
}

func (b *browser) post(path string, v url.Values) page {
	b.t.Helper()
	req, err := http.NewRequestWithContext(b.t.Context(), http.MethodPost, b.base+path, strings.NewReader(v.Encode()))
	if err != nil {
		b.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(req)
}

// send opens a page and sends its form that posts to action (empty: to the
// page itself), with the fields given filled in over what stands there.
func (b *browser) send(path, action string, fields ...string) page {
	b.t.Helper()
	return b.sendFrom(b.get(path), path, action, fields...)
}

func (b *browser) sendFrom(p page, path, action string, fields ...string) page {
	b.t.Helper()
	if action == "" {
		action = path
	}
	var form *goquery.Selection
	p.Find("main form").EachWithBreak(func(_ int, f *goquery.Selection) bool {
		if f.AttrOr("action", path) == action {
			form = f
		}
		return form == nil
	})
	if form == nil {
		b.t.Fatalf("no form to %s on %s (%d):\n%s", action, path, p.status, p.Find("main").Text())
	}
	v := url.Values{}
	form.Find("input, select").Each(func(_ int, in *goquery.Selection) {
		name := in.AttrOr("name", "")
		switch typ := in.AttrOr("type", ""); {
		case goquery.NodeName(in) == "select":
			v.Set(name, in.Find("option[selected]").AttrOr("value", ""))
		case typ == "radio" || typ == "checkbox":
			if _, on := in.Attr("checked"); on {
				v.Set(name, in.AttrOr("value", ""))
			}
		default:
			v.Set(name, in.AttrOr("value", ""))
		}
	})
	for i := 0; i < len(fields); i += 2 {
		if form.Find(`[name="`+fields[i]+`"]`).Length() == 0 {
			b.t.Fatalf("the form to %s has no field %s", action, fields[i])
		}
		v.Set(fields[i], fields[i+1])
	}
	return b.post(action, v)
}

// goes expects a redirect after a write.
func (p page) goes(t *testing.T, path string) {
	t.Helper()
	if p.status != http.StatusSeeOther || p.to != path {
		t.Fatalf("got %d to %q, want a way to %s\n%s", p.status, p.to, path, strings.TrimSpace(p.Find("main").Text()))
	}
}

// says expects a status and words on the page.
func (p page) says(t *testing.T, status int, words ...string) {
	t.Helper()
	text := strings.Join(strings.Fields(p.Find("body").Text()), " ")
	for _, w := range words {
		if !strings.Contains(text, w) {
			t.Errorf("%d does not say %q:\n%s", p.status, w, text)
		}
	}
	if p.status != status {
		t.Errorf("status %d, want %d:\n%s", p.status, status, text)
	}
}

// problem expects a message at a field.
func (p page) problem(t *testing.T, what, field string) {
	t.Helper()
	if p.status != http.StatusUnprocessableEntity || p.Find("#f-"+field+"-problem").Length() != 1 {
		t.Errorf("%s: %d, no message at %s:\n%s", what, p.status, field, strings.Join(strings.Fields(p.Find("main").Text()), " "))
	}
}

func (p page) value(field string) string { return p.Find(`[name="`+field+`"]`).AttrOr("value", "") }
