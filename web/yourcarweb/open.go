package yourcarweb

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/go-chi/httprate"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/link"
	"rampside/web/ui"
)

// private keeps the pages behind a link out of search engines and caches. What
// is on them refers to nothing outside, and the Referrer-Policy of every page
// of ours, same-origin, gives the address of this one to nobody else. The
// stricter no-referrer would make browsers send "Origin: null" with the form,
// which cannot be told from another site's on plain http or in browsers of
// before 2023.
func private(w http.ResponseWriter) {
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("X-Robots-Tag", "noindex, nofollow, noarchive")
}

// find gives the link behind the address, or answers for it and gives false.
// Only a page that a customer opens is counted.
func (p pages) find(w http.ResponseWriter, r *http.Request, count bool) (link.Link, bool, error) {
	private(w)
	token := chi.URLParam(r, "secret")
	look := p.Links.Look
	if count && r.Method == http.MethodGet && !staff(r) {
		look = p.Links.Open
	}
	l, over, err := look(r.Context(), token)
	if errors.Is(err, link.ErrUnknown) {
		return l, false, p.unknown(w, r)
	}
	if err != nil {
		return l, false, err
	}
	switch over {
	case link.Expired:
		return l, false, p.sorry(w, r, http.StatusGone, "This link has expired",
			"It could be opened until "+p.day(r.Context(), l.Until)+". Ask us for a new one.")
	case link.Withdrawn:
		return l, false, p.sorry(w, r, http.StatusGone, "This link was withdrawn",
			"We have taken it back, most often because there is a newer one. Look for a later message from us, or ask.")
	}
	return l, true, nil
}

// unknown answers for a token that is none of ours, whatever is wrong with it.
func (p pages) unknown(w http.ResponseWriter, r *http.Request) error {
	address := httprate.CanonicalizeIP(middleware.GetClientIP(r.Context()))
	if p.wrong.OnLimit(w, r, address) {
		w.Header().Set("Retry-After", strconv.Itoa(int(wrongWhile/time.Second)))
		return p.sorry(w, r, http.StatusTooManyRequests, "Too many links that lead nowhere",
			"Many wrong addresses were tried from where you are. Please wait a quarter of an hour; a link that we sent you works all the same.")
	}
	return p.sorry(w, r, http.StatusNotFound, "This link leads nowhere",
		"It may have been cut off on its way. Open it from the message that we sent you, or copy all of it.")
}

// sorry is a page that says what is wrong, and how to reach the garage.
func (p pages) sorry(w http.ResponseWriter, r *http.Request, status int, title, what string) error {
	page := p.bare(r, title)
	return p.kit.Render(w, r, status, sorryPage(page, what, p.reach(r.Context())))
}

// reach is how to reach the garage. Without an answer from the database the
// page is shown without.
func (p pages) reach(ctx context.Context) reach {
	set, err := p.Garage(ctx)
	if err != nil {
		return reach{}
	}
	return reach{Name: set.Name, Phone: set.Phone, Email: set.Email}
}

func (p pages) day(ctx context.Context, t time.Time) string {
	set, err := p.Garage(ctx)
	if err != nil {
		set = garage.Settings{}
	}
	return set.Today(t.Add(-time.Second)).Long()
}

// bare is the frame of every page here: no navigation, and nobody's name.
func (p pages) bare(r *http.Request, title string) ui.PageData {
	page := p.kit.Page(r, title, "")
	page.Bare, page.OwnHead, page.Nav = true, true, nil
	return page
}

// customer is the actor behind a link. The key is the link's own, so that two
// customers' forms cannot meet.
func (p pages) customer(r *http.Request, l link.Link) (actor.Actor, error) {
	sent, err := ui.Writer(r)
	if err != nil {
		return actor.Actor{}, err
	}
	who := l.Customer(middleware.GetClientIP(r.Context()))
	who.RequestID = sent.RequestID
	return who.WithKey("link-" + ui.Itoa(l.ID) + "-" + sent.Key), nil
}

// staff tells whether somebody of the garage is looking: they see the page,
// are not counted as the customer, and cannot answer for them.
func staff(r *http.Request) bool { return ui.Who(r.Context()).Role.Valid() }

var errStaff = apperr.New(apperr.Forbidden, "you are signed in to the garage: what the customer says to you is noted on the quote's own page, with your name beside it")

// reach is how to reach the garage.
type reach struct{ Name, Phone, Email string }

// Tel is the number as a phone dials it.
func (r reach) Tel() string {
	out := []rune("tel:")
	for i, c := range r.Phone {
		if c >= '0' && c <= '9' || c == '+' && i == 0 {
			out = append(out, c)
		}
	}
	return string(out)
}
