// Package yourcarweb is what a customer sees on their own phone, behind a link
// that was sent to them: a quote to say yes or no to, a bill, what was done.
// There is no sign-in: whoever has the link is believed to be who it was sent
// to, and sees that one thing only.
package yourcarweb

import (
	"context"
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/go-chi/httprate"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/link"
	"rampside/internal/photo"
	"rampside/internal/quote"
	"rampside/web/ui"
)

// A token that is not ours costs no query, and 128 bits are not guessed. The
// limit is against the noise: so many wrong ones from one address in a while,
// and after that nothing but a short answer. Right ones go on working, since
// many customers share one address of a telephone company.
const (
	wrongTokens = 20
	wrongWhile  = 15 * time.Minute
)

const why = "whoever holds the link that a customer was sent may see what it is for"

// Services is what the pages stand on.
type Services struct {
	Links  *link.Service
	Quotes *quote.Service
	Photos *photo.Service
	// Garage reads the garage's name and telephone, for pages that have
	// nothing else to say.
	Garage func(context.Context) (garage.Settings, error)
	// Views are the pages of the other purposes. A purpose without one has no
	// page yet, and its links say so.
	Views map[link.Purpose]View
}

// View is the page behind links of one purpose.
type View struct {
	// Show reads the thing and makes its page.
	Show func(ctx context.Context, l link.Link) (Shown, error)
	// Paper gives it as a PDF with the file's name; nil when there is none.
	Paper func(ctx context.Context, l link.Link) (name string, pdf []byte, err error)
	// Answer takes what the customer posts, as the actor with the key of their
	// form; what it finds wrong with the input goes back into the form. nil
	// when there is nothing to answer. done is shown once after it.
	Answer func(ctx context.Context, who actor.Actor, l link.Link, f *ui.Form) (done string, err error)
}

// Shown is a page of a View.
type Shown struct {
	Title string
	// Body is everything beneath the title; f is the form that came back, nil
	// at first. Its forms post to the page's own address.
	Body func(f *ui.Form) templ.Component
}

type pages struct {
	kit *ui.Kit
	Services
	wrong *httprate.RateLimiter
}

// Mount registers the customer's pages.
func Mount(r chi.Router, kit *ui.Kit, s Services) {
	p := pages{kit, s, httprate.NewRateLimiter(wrongTokens, wrongWhile, httprate.WithResponseHeaders(httprate.ResponseHeaders{}))}
	kit.Public(r, http.MethodGet, "/your-car/{secret}", why, p.page)
	kit.Public(r, http.MethodPost, "/your-car/{secret}", why, p.answer)
	kit.Public(r, http.MethodGet, "/your-car/{secret}/total", why, p.total)
	kit.Public(r, http.MethodGet, "/your-car/{secret}/paper", why, p.paper)
	kit.Public(r, http.MethodGet, "/your-car/{secret}/photo/{photo}", why, p.photo)
}
