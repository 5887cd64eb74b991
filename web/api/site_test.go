package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/danielgtaylor/huma/v2"
	"github.com/go-chi/chi/v5"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/blob"
	"rampside/internal/books"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/dayend"
	"rampside/internal/diary"
	"rampside/internal/fitment"
	"rampside/internal/floor"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/outlook"
	"rampside/internal/photo"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/internal/roster"
	"rampside/internal/stores"
	"rampside/web/edge"
)

// site is a garage with its interface served as the server does, and a token
// for everybody.
type site struct {
	*cardtest.Garage
	api    *API
	router *chi.Mux
	server *httptest.Server
	tokens map[string]string
	log    *lines
	// done are the operations that succeeded, by their names.
	done sync.Map
	t    *testing.T
}

// lines is a log that tests read.
type lines struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buf.Write(p)
}

func (l *lines) count(s string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Count(l.buf.String(), s)
}

func newSite(t *testing.T) *site {
	t.Helper()
	g := cardtest.Open(t)
	s := &site{Garage: g, t: t, log: &lines{}, tokens: map[string]string{}}
	log := slog.New(slog.NewTextHandler(s.log, nil))
	photos, err := blob.OpenFolder(t.TempDir())
	g.OK(err)
	t.Cleanup(func() { g.OK(photos.Close()) })
	s.router = chi.NewRouter()
	refuse := func(w http.ResponseWriter, r *http.Request, err error) { s.api.Fail(w, r, err) }
	g.OK(edge.Use(s.router, edge.Options{Log: slog.New(slog.DiscardHandler), Now: g.DB.Now, PublicURL: "http://localhost", PerMinute: 1_000_000, Refuse: refuse}))
	s.api, err = Mount(s.router, s.options(g.DB, log, photos))
	g.OK(err)
	s.server = httptest.NewServer(s.router)
	t.Cleanup(s.server.Close)
	for name, who := range map[string]actor.Actor{"owner": g.Owner, "desk": g.Desk, "posy": g.Posy, "bram": g.Bram} {
		made, err := g.Accounts.CreateToken(t.Context(), g.Owner, account.NewToken{Name: name + "'s program", StaffID: who.StaffID})
		g.OK(err)
		s.tokens[name] = made.Secret
	}
	return s
}

func (s *site) options(db *change.DB, log *slog.Logger, photos blob.Store) Options {
	return Options{
		Log: log, DB: db, Accounts: s.Accounts, Garage: s.Settings, Roster: roster.New(db), Customers: customer.New(db), Vehicles: s.Vehicles,
		Cards: s.Cards, Clocks: clocking.New(db), Floor: floor.New(db), Photos: photo.New(db, photos), Diary: diary.New(db),
		DayEnd: dayend.New(db), Fitment: fitment.New(db), Outlook: outlook.New(db), Stores: stores.New(db), Hands: handover.New(db, jobcard.New(db), func(path string) string { return path }, post.New(db, "")), Quotes: quote.New(db, func(path string) string { return "https://jobs.garage.test" + path }, post.New(db, "jobs@garage.test")), Books: books.New(db), Bills: bill.New(db),
		Links: link.New(db, map[link.Purpose]link.Target{link.Quote: quote.Target}), Post: post.New(db, "jobs@garage.test"),
	}
}

// reply is an answer of the interface.
type reply struct {
	Status int
	Header http.Header
	Raw    []byte
	t      *testing.T
}

// as reads the answer, which must have the status.
func as[T any](a reply, status int) T {
	a.t.Helper()
	var v T
	if a.Status != status {
		a.t.Fatalf("status %d, want %d: %s", a.Status, status, a.Raw)
	}
	if err := json.Unmarshal(a.Raw, &v); err != nil {
		a.t.Fatalf("%v: %s", err, a.Raw)
	}
	return v
}

func (a reply) problem(status int, kind string) Problem {
	a.t.Helper()
	p := as[Problem](a, status)
	if ct := a.Header.Get("Content-Type"); ct != "application/problem+json" {
		a.t.Errorf("a problem of type %q", ct)
	}
	if p.Type != typePrefix+kind || p.Status != status || p.Title == "" || p.Detail == "" || !strings.HasPrefix(p.Instance, requestPrefix) {
		a.t.Errorf("%s: want %s, complete", a.Raw, kind)
	}
	return p
}

// at gives what a problem says at a field, "" when nothing.
func (p Problem) at(pointer string) string {
	for _, e := range p.Errors {
		if e.Pointer == pointer || e.Parameter == pointer {
			return e.Detail
		}
	}
	return ""
}

// call asks as somebody; body is sent as it is when it is a string, as JSON
// otherwise. Whatever comes back must be as the document has it.
func (s *site) call(who, method, path string, body any, headers ...string) reply {
	s.t.Helper()
	var r io.Reader
	switch b := body.(type) {
	case nil:
	case string:
		r = strings.NewReader(b)
	default:
		raw, err := json.Marshal(b)
		s.OK(err)
		r = bytes.NewReader(raw)
	}
	req, err := http.NewRequestWithContext(s.t.Context(), method, s.server.URL+Prefix+path, r)
	if err != nil {
		s.t.Fatal(err)
	}
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	if token := s.tokens[who]; token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	return s.send(req)
}

func (s *site) send(req *http.Request) reply {
	s.t.Helper()
	res, err := s.server.Client().Do(req)
	if err != nil {
		s.t.Fatalf("%s %s: %v", req.Method, req.URL.Path, err)
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	s.OK(err)
	a := reply{res.StatusCode, res.Header, raw, s.t}
	s.asDescribed(req, a)
	return a
}

func (s *site) get(who, path string) reply {
	s.t.Helper()
	return s.call(who, http.MethodGet, path, nil)
}

func (s *site) post(who, path string, body any, headers ...string) reply {
	s.t.Helper()
	return s.call(who, http.MethodPost, path, body, headers...)
}

func (s *site) put(who, path string, body any, headers ...string) reply {
	s.t.Helper()
	return s.call(who, http.MethodPut, path, body, headers...)
}

func (s *site) delete(who, path string, headers ...string) reply {
	s.t.Helper()
	return s.call(who, http.MethodDelete, path, nil, headers...)
}

// operationAt finds the operation that a request met, nil for none.
func (s *site) operationAt(req *http.Request) *huma.Operation {
	c := chi.NewRouteContext()
	if !s.api.router.Match(c, req.Method, strings.TrimPrefix(req.URL.EscapedPath(), Prefix)) {
		return nil
	}
	item := s.api.huma.OpenAPI().Paths[c.RoutePattern()]
	if item == nil {
		return nil
	}
	return map[string]*huma.Operation{"GET": item.Get, "POST": item.Post, "PUT": item.Put, "DELETE": item.Delete}[req.Method]
}

// asDescribed holds an answer to the document.
func (s *site) asDescribed(req *http.Request, a reply) {
	s.t.Helper()
	op := s.operationAt(req)
	if op == nil {
		return
	}
	res := op.Responses[fmt.Sprint(a.Status)]
	if res == nil {
		s.t.Errorf("%s answers %d, which the document does not know: %s", op.OperationID, a.Status, a.Raw)
		return
	}
	if a.Status < 300 {
		s.done.Store(op.OperationID, true)
	}
	if name, ok := strings.CutPrefix(res.Ref, "#/components/responses/"); ok {
		res = s.api.huma.OpenAPI().Components.Responses[name]
	}
	kind, _, _ := strings.Cut(a.Header.Get("Content-Type"), ";")
	media := res.Content[kind]
	switch {
	case len(res.Content) == 0 && len(a.Raw) == 0:
		return
	case media == nil:
		s.t.Errorf("%s answers %d with %q, which the document does not know", op.OperationID, a.Status, kind)
		return
	case kind == "image/jpeg" || kind == "application/pdf" || kind == "application/xml":
		return
	}
	var v any
	if err := json.Unmarshal(a.Raw, &v); err != nil {
		s.t.Errorf("%s: %v: %s", op.OperationID, err, a.Raw)
		return
	}
	var found huma.ValidateResult
	huma.Validate(s.api.huma.OpenAPI().Components.Schemas, media.Schema, huma.NewPathBuffer(nil, 0), huma.ModeReadFromServer, v, &found)
	for _, err := range found.Errors {
		s.t.Errorf("%s answers %d not as described: %v", op.OperationID, a.Status, err)
	}
}

type obj = map[string]any
