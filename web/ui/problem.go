package ui

import (
	"context"
	"errors"
	"log/slog"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"rampside/internal/apperr"
)

// signInPath is where somebody goes who must say first who they are.
const signInPath = "/sign-in"

// Fail answers a request with what went wrong, as a whole page. It is the one
// place where an error becomes a status, and where a fault of ours is logged.
func (k *Kit) Fail(w http.ResponseWriter, r *http.Request, err error) {
	kind := apperr.KindOf(err)
	switch {
	case kind == apperr.Internal && r.Context().Err() != nil && errors.Is(err, context.Canceled):
		return // the browser went away; nobody is left to tell
	case kind == apperr.Internal:
		k.log.LogAttrs(r.Context(), slog.LevelError, "request failed", append(attrs(r), slog.String("error", err.Error()))...)
	case kind == apperr.Forbidden || kind == apperr.Unsigned && r.Method != http.MethodGet:
		k.log.LogAttrs(r.Context(), slog.LevelWarn, "request refused", append(attrs(r), slog.String("reason", messageOf(err)))...)
	}
	if kind == apperr.Unsigned && r.Method == http.MethodGet && wantsPage(r) {
		_ = SeeOther(w, r, signInPath+"?next="+url.QueryEscape(LocalPath(r.URL.RequestURI())))
		return
	}
	p := problem{
		Title:   titles[kind],
		Message: messageOf(err),
		Request: middleware.GetReqID(r.Context()),
		Fault:   kind == apperr.Internal,
		Back:    backPath(r),
		SignIn:  kind == apperr.Unsigned,
		Fields:  fieldLines(err),
		Typed:   typed(r),
	}
	if kind == apperr.TooMany {
		if w.Header().Get("Retry-After") == "" {
			w.Header().Set("Retry-After", "60")
		}
	}
	page := k.Page(r, p.Title, "")
	if rerr := k.Render(w, r, kind.Status(), problemPage(page, p)); rerr != nil {
		k.log.LogAttrs(r.Context(), slog.LevelError, "error page failed", append(attrs(r), slog.String("error", rerr.Error()))...)
		http.Error(w, p.Title, kind.Status())
	}
}

// NotFound answers an address that no route has.
func (k *Kit) NotFound(w http.ResponseWriter, r *http.Request) {
	k.Fail(w, r, apperr.New(apperr.NotFound, "there is no page at this address"))
}

// NotAllowed answers a method that the address does not take.
func (k *Kit) NotAllowed(w http.ResponseWriter, r *http.Request) {
	page := k.Page(r, "Not that way", "")
	p := problem{Title: page.Title, Message: "this address does not take that kind of request", Back: backPath(r), Request: middleware.GetReqID(r.Context())}
	if err := k.Render(w, r, http.StatusMethodNotAllowed, problemPage(page, p)); err != nil {
		http.Error(w, p.Title, http.StatusMethodNotAllowed)
	}
}

type problem struct {
	Title, Message, Request, Back string
	Fault, SignIn                 bool
	Fields                        []string
	Typed                         []pair
}

type pair struct{ Label, Value string }

var titles = map[apperr.Kind]string{
	apperr.Internal:  "Something went wrong here",
	apperr.Invalid:   "That could not be taken",
	apperr.NotFound:  "Not here",
	apperr.Conflict:  "Changed meanwhile",
	apperr.Forbidden: "Not yours to do",
	apperr.Unsigned:  "Please sign in",
	apperr.TooMany:   "A little slower, please",
	apperr.TooLarge:  "Too much at once",
}

// messageOf gives the words for a person; a fault of ours has only general
// ones.
func messageOf(err error) string {
	var e *apperr.Error
	if errors.As(err, &e) && e.Kind != apperr.Internal {
		return e.Message
	}
	if apperr.KindOf(err) == apperr.Internal {
		return "it is our fault, not yours, and it has been written down; please try once more"
	}
	return err.Error()
}

func fieldLines(err error) []string {
	var e *apperr.Error
	if !errors.As(err, &e) {
		return nil
	}
	var out []string
	for _, name := range slices.Sorted(maps.Keys(e.Fields)) {
		if msg := e.Fields[name]; msg != e.Message {
			out = append(out, fieldLabel(name)+": "+msg)
		}
	}
	return out
}

// typed gives back what was sent, so that an error page loses nothing. Secrets
// and our own hidden fields are left out.
func typed(r *http.Request) []pair {
	if r.Method != http.MethodPost || r.PostForm == nil {
		return nil
	}
	f := NewForm(r.PostForm)
	var out []pair
	for _, name := range slices.Sorted(maps.Keys(r.PostForm)) {
		if secret(name) || len(out) == 100 {
			continue
		}
		if v := strings.TrimSpace(f.Get(name)); v != "" {
			out = append(out, pair{fieldLabel(name), v})
		}
	}
	return out
}

func secret(name string) bool {
	words := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return c == '.' || c == '_' || c == '-' })
	return slices.ContainsFunc(words, func(word string) bool {
		return strings.HasPrefix(word, "pass") || slices.Contains([]string{"pin", "secret", "token", "otp", keyField, "version", "next"}, word)
	})
}

// fieldLabel makes a field's name readable: parts.2.unit_price is "parts 3,
// unit price", since people count from one.
func fieldLabel(name string) string {
	parts := strings.Split(name, ".")
	if len(parts) == 3 {
		if n, err := strconv.Atoi(parts[1]); err == nil {
			name = parts[0] + " " + strconv.Itoa(n+1) + ", " + parts[2]
		}
	}
	return strings.ToValidUTF8(strings.NewReplacer("_", " ", "-", " ", ".", " ").Replace(name), "\uFFFD")
}

// backPath is the page of ours that the browser came from, else the front.
func backPath(r *http.Request) string {
	u, err := url.Parse(r.Referer())
	if err != nil || u.Host != r.Host {
		return "/"
	}
	return LocalPath(u.RequestURI())
}

// redrawHeader marks a request that our own script makes to draw an open page
// anew. Over plain http a browser sends no Sec-Fetch headers to tell it by.
const redrawHeader = "X-Redraw"

// wantsPage tells a page being opened from a script asking for one.
func wantsPage(r *http.Request) bool {
	if r.Header.Get(redrawHeader) != "" {
		return false
	}
	mode := r.Header.Get("Sec-Fetch-Mode")
	return mode == "" || mode == "navigate"
}

func attrs(r *http.Request) []slog.Attr {
	a := []slog.Attr{
		slog.String("request_id", middleware.GetReqID(r.Context())),
		slog.String("method", r.Method),
		slog.String("route", routePattern(r)),
		slog.String("address", middleware.GetClientIP(r.Context())),
	}
	if who := Who(r.Context()); who.Known() {
		a = append(a, slog.Int64("staff_id", int64(who.StaffID)))
	}
	return a
}

func routePattern(r *http.Request) string {
	if c := chi.RouteContext(r.Context()); c != nil {
		return c.RoutePattern()
	}
	return ""
}
