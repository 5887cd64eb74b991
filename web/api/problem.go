package api

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"maps"
	"net/http"
	"reflect"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
)

// Problem is what went wrong, as RFC 9457 has it.
type Problem struct {
	Type     string       `json:"type" format:"uri" doc:"The kind of problem. It does not change; programs may go by it."`
	Title    string       `json:"title" doc:"The kind of problem in words."`
	Status   int          `json:"status" doc:"The HTTP status."`
	Detail   string       `json:"detail" doc:"What went wrong this time, in words for a person."`
	Instance string       `json:"instance,omitempty" format:"uri" doc:"This very request, as it stands in the server's log."`
	Errors   []FieldError `json:"errors,omitempty" doc:"Each thing that is wrong with what was sent."`
	Current  any          `json:"current,omitempty" doc:"On a stale edit: the record as it stands now, in the shape in which it is read."`
	Line     *int64       `json:"line_id,omitempty" doc:"On unread cautions: the line they are of."`
	Cautions []Caution    `json:"cautions,omitempty" doc:"On unread cautions: those to be read first. Send their keys in cautions_read."`
}

// FieldError is one thing wrong with what was sent.
type FieldError struct {
	Detail    string `json:"detail" doc:"What is wrong, in words for a person."`
	Pointer   string `json:"pointer,omitempty" doc:"Where in the body: a JSON pointer as a URI fragment (RFC 6901 section 6)."`
	Parameter string `json:"parameter,omitempty" doc:"Which parameter of the address."`
	Header    string `json:"header,omitempty" doc:"Which header."`
}

func (p *Problem) Error() string { return p.Detail }

// GetStatus and ContentType are what huma asks of an error.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is that of RFC 9457.
func (p *Problem) ContentType(string) string { return problemType }

const (
	problemType   = "application/problem+json"
	typePrefix    = "urn:rampside:problem:"
	requestPrefix = "urn:rampside:request:"
	// errorsMax is how many wrong fields one answer names.
	errorsMax = 50
)

type kindName struct{ slug, title string }

var kinds = map[apperr.Kind]kindName{
	apperr.Internal:  {"fault", "Something went wrong here"},
	apperr.Invalid:   {"invalid", "That could not be taken"},
	apperr.NotFound:  {"not-found", "Not here"},
	apperr.Conflict:  {"conflict", "Not as things stand"},
	apperr.Forbidden: {"forbidden", "Not yours to do"},
	apperr.Unsigned:  {"unsigned", "No valid token"},
	apperr.TooMany:   {"too-many", "A little slower, please"},
	apperr.TooLarge:  {"too-large", "Too much at once"},
}

const seeErrors = "some of what was sent cannot be taken; see errors"

const fault = "it is our fault, not yours, and it has been written down; please try once more"

// statusError is a refusal of the interface itself, with a status that no
// service gives.
type statusError struct {
	status        int
	kind, message string
	fields        []FieldError
}

func (e *statusError) Error() string { return e.message }

func malformed(message string) error {
	return &statusError{status: http.StatusBadRequest, kind: "malformed", message: message}
}

func invalid(f FieldError) error {
	return &statusError{status: http.StatusUnprocessableEntity, kind: "invalid", message: f.Detail, fields: []FieldError{f}}
}

func fieldError(name, message string) error {
	return invalid(FieldError{Detail: message, Pointer: pointerTo(nil, name)})
}

func parameterError(name, message string) error {
	return invalid(FieldError{Detail: message, Parameter: shorten(name)})
}

func headerError(name, message string) error {
	return invalid(FieldError{Detail: message, Header: name})
}

var statusTitles = map[string]string{
	"malformed": "Not a request that can be read", "invalid": "That could not be taken", "unsupported-media-type": "Not JSON",
	"method-not-allowed": "Not that way",
}

// problemOf makes the problem of an error. body is the type of what was sent,
// for naming its fields; who decides what may be shown of a current record.
func problemOf(ctx context.Context, err error, body reflect.Type, who actor.Actor) *Problem {
	p := &Problem{}
	if id := middleware.GetReqID(ctx); id != "" {
		p.Instance = requestPrefix + id
	}
	var s *statusError
	if errors.As(err, &s) {
		p.Type, p.Title, p.Status, p.Detail, p.Errors = typePrefix+s.kind, statusTitles[s.kind], s.status, s.message, s.fields
		return p
	}
	kind := apperr.KindOf(err)
	p.Type, p.Title, p.Status, p.Detail = typePrefix+kinds[kind].slug, kinds[kind].title, kind.Status(), fault
	var e *apperr.Error
	if kind == apperr.Internal || !errors.As(err, &e) {
		return p
	}
	p.Detail = e.Message
	for _, name := range slices.Sorted(maps.Keys(e.Fields)) {
		p.Detail = e.Fields[name]
		p.Errors = append(p.Errors, FieldError{Detail: e.Fields[name], Pointer: pointerTo(body, name)})
	}
	if len(p.Errors) > 1 {
		p.Detail, p.Errors = seeErrors, p.Errors[:min(len(p.Errors), errorsMax)]
	}
	if unread, ok := clocking.UnreadOf(err); ok {
		p.Type, p.Title = typePrefix+"unread-cautions", "Cautions to be read first"
		p.Line, p.Cautions = ptr(int64(unread.LineID)), cautionsOf(caution.Of(unread.Cautions))
		return p
	}
	if gate, ok := jobcard.ClosedOf(err); ok {
		p.Type, p.Title = typePrefix+"not-found-to-fit", "A part was not found to fit"
		p.Line = ptr(int64(gate.LineID))
		return p
	}
	if n, ok := jobcard.NotAgreedOf(err); ok {
		p.Type, p.Title = typePrefix+"not-agreed", "The customer has not agreed"
		p.Line = ptr(int64(n.LineID))
		return p
	}
	if e.Current != nil {
		p.Type, p.Title = typePrefix+"stale", "Changed meanwhile"
		p.Current = currentOf(e.Current, who)
	}
	return p
}

// refuse is the problem of what a service said, as huma takes it.
func (a *API) refuse(ctx context.Context, err error, body reflect.Type) error {
	p := problemOf(ctx, err, body, whoAsks(ctx))
	a.note(ctx, err, p, whoAsks(ctx))
	if h := p.headers(); h != nil {
		return huma.ErrorWithHeaders(p, h)
	}
	return p
}

// Fail answers a request with a problem. It also answers for what was refused
// before it reached the API: too many requests, a panic.
func (a *API) Fail(w http.ResponseWriter, r *http.Request, err error) {
	p := problemOf(r.Context(), err, nil, actor.Actor{})
	a.note(r.Context(), err, p, whoAsks(r.Context()))
	h := w.Header()
	for name, values := range p.headers() {
		if name != "Retry-After" || h.Get(name) == "" {
			h[name] = values
		}
	}
	noStore(w)
	h.Set("Content-Type", p.ContentType(""))
	w.WriteHeader(p.Status)
	_ = json.NewEncoder(w).Encode(p) // a failure is a client that went away
}

func (p *Problem) headers() http.Header {
	switch p.Status {
	case http.StatusUnauthorized:
		return http.Header{"Www-Authenticate": {`Bearer realm="rampside"`}}
	case http.StatusTooManyRequests:
		return http.Header{"Retry-After": {"60"}}
	}
	return nil
}

// note writes faults and refusals of rights to the log, once.
func (a *API) note(ctx context.Context, err error, p *Problem, who actor.Actor) {
	level, message := slog.LevelWarn, "request refused"
	switch {
	case p.Status >= 500 && ctx.Err() != nil && errors.Is(err, context.Canceled):
		return // the client went away; nobody is left to tell
	case p.Status >= 500:
		level, message = slog.LevelError, "request failed"
	case p.Status != http.StatusUnauthorized && p.Status != http.StatusForbidden:
		return
	}
	route := ""
	if c := chi.RouteContext(ctx); c != nil {
		route = c.RoutePattern()
	}
	a.Log.LogAttrs(ctx, level, message,
		slog.String("request_id", middleware.GetReqID(ctx)), slog.String("route", route),
		slog.String("address", middleware.GetClientIP(ctx)), slog.Int64("staff_id", int64(who.StaffID)), slog.String("error", err.Error()))
}

// NotFound answers an address that nothing is at.
func (a *API) NotFound(w http.ResponseWriter, r *http.Request) {
	a.Fail(w, r, apperr.New(apperr.NotFound, "there is nothing at this address"))
}

func (a *API) notAllowed(w http.ResponseWriter, r *http.Request) {
	path := chi.RouteContext(r.Context()).RoutePath
	var may []string
	for _, m := range []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodDelete} {
		if a.router.Match(chi.NewRouteContext(), m, path) {
			may = append(may, m)
		}
	}
	w.Header().Set("Allow", strings.Join(may, ", "))
	a.Fail(w, r, &statusError{
		status: http.StatusMethodNotAllowed, kind: "method-not-allowed", message: "this address takes " + strings.Join(may, " and ") + " only",
	})
}
