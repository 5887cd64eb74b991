package ui_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/web/edge"
	"rampside/web/ui"
	"rampside/web/ui/specimen"
)

// promises stands for a feature's service: it checks again, and its errors are
// for people.
type promises struct{ at time.Time }

func (p *promises) promise(a actor.Actor, at time.Time) error {
	if err := a.Need(actor.EditCard); err != nil {
		return err
	}
	if at.Hour() >= 18 {
		return apperr.Field("at", "the garage closes at 18:00")
	}
	p.at = at
	return nil
}

// promisePages is a web feature: the kit, its services, and a method for each
// route.
type promisePages struct {
	kit      *ui.Kit
	promises *promises
}

func (p promisePages) routes(r chi.Router) {
	p.kit.Get(r, "/promise", actor.ReadCards, p.show)
	p.kit.Post(r, "/promise", actor.EditCard, p.save)
}

func (p promisePages) show(w http.ResponseWriter, r *http.Request) error {
	return p.page(w, r, http.StatusOK, ui.NewForm(url.Values{"at": {p.promises.at.Format("2/1/2006 15:04")}}))
}

func (p promisePages) save(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	at := f.When("at", time.UTC)
	f.Required("at")
	if f.Err() == nil {
		err := p.promises.promise(who, at)
		if err == nil {
			p.kit.Flash(w, "Promise noted")
			return ui.SeeOther(w, r, "/promise")
		}
		if !f.Take(err) {
			return err
		}
	}
	return p.page(w, r, http.StatusUnprocessableEntity, f)
}

func (p promisePages) page(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	page := p.kit.Page(r, "Promise a time", "/diary").Follow(r, "card:12")
	return p.kit.Render(w, r, status, specimen.Promise(page, f, p.promises.at.Format("15:04")))
}

// A feature's pages from the wiring to a form that is refused, and then taken.
func Example() {
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	kit := ui.New(ui.Options{Log: log, Now: time.Now, Sessions: people{}})
	r := chi.NewRouter()
	if err := edge.Use(r, edge.Options{Log: log, Now: time.Now, Refuse: kit.Fail}); err != nil {
		fmt.Println(err)
		return
	}
	r.Use(kit.Session)
	r.NotFound(kit.NotFound)
	kit.Routes(r)
	promisePages{kit, &promises{at: time.Date(2026, 10, 5, 16, 40, 0, 0, time.UTC)}}.routes(r)

	for _, at := range []string{"soon", "5/10/2026 19:00", "5/10/2026 17:15"} {
		body := url.Values{"key": {"3f1c8a52-6f0f-4f5e-9a43-0a4de3c6c001"}, "at": {at}}.Encode()
		req := httptest.NewRequestWithContext(context.Background(), http.MethodPost, "/promise", strings.NewReader(body))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.AddCookie(&http.Cookie{Name: "rampside", Value: "desk"})
		w := httptest.NewRecorder()
		r.ServeHTTP(w, req)
		doc, err := goquery.NewDocumentFromReader(w.Body)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%d %s%s\n", w.Code, strings.TrimSpace(doc.Find(".field-problem").Text()), w.Header().Get("Location"))
	}
	// Output:
	// 422 A date and a time, please, such as 5/10/2026 16:40
	// 422 The garage closes at 18:00
	// 303 /promise
}
