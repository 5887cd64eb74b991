package app_test

import (
	"context"
	"strings"
	"testing"

	"rampside/internal/change"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/link"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/web/ui"
)

// linked is a version of a quote that was sent to the customer as a link.
func (w *world) linked() {
	w.t.Helper()
	ctx := w.t.Context()
	c := w.Book(cardtest.Op(w.Service))
	w.at["card"], w.at["line"] = ui.Itoa(c.ID), ui.Itoa(c.Lines[0].ID)
	m, err := w.Services.Quotes.Make(ctx, w.Desk, quote.MakeInput{CardID: c.ID, Kind: quote.Estimate})
	w.OK(err)
	sent, err := w.Services.Quotes.Send(ctx, w.Desk, quote.SendInput{VersionID: m.VersionID, Way: quote.ByLink, ToName: "Odette Marlowe"})
	w.OK(err)
	made, err := w.Services.Links.Token(ctx, w.Desk, sent.LinkID)
	w.OK(err)
	w.at["version"], w.at["link"], w.at["secret"] = ui.Itoa(m.VersionID), ui.Itoa(sent.LinkID), made.Token
}

// letter is one that waits to be sent.
func (w *world) letter() {
	w.t.Helper()
	id, err := change.Do(w.t.Context(), w.DB, w.Desk, "write", nil, func(ctx context.Context, tx *change.Tx) (post.ID, error) {
		return post.Put(ctx, tx, post.Letter{About: "test", AboutID: 1, To: "odette@example.org", Subject: "About your car", Text: "It is ready."})
	})
	w.OK(err)
	w.at["letter"] = ui.Itoa(id)
}

// Nobody who has no sign-in gets anything by a link but the one thing that it
// is for, and what they were given is on no page of the garage's log.
func TestALinkOpensOneThingToSomebodyWithoutASignIn(t *testing.T) {
	w := openWorld(t)
	w.linked()
	c := w.Nobody()
	at := link.Path + w.at["secret"]
	if a := c.Get(at); a.Status != 200 || !strings.Contains(a.Page().Text(), "Your car") || !strings.Contains(a.Page().Text(), "Annual service") {
		t.Errorf("the customer's page: %d %s", a.Status, a.Says())
	}
	for _, path := range []string{"/cards/{card}", "/cards/{card}/quotes", "/quotes/{version}", "/photos/{photo}", "/customers/{customer}"} {
		if a := c.Get(w.path(path)); a.Status != 303 || !strings.HasPrefix(a.Location, "/sign-in") {
			t.Errorf("%s after it: %d", path, a.Status)
		}
	}
	if a := c.Get(at + "/photo/" + w.at["photo"]); a.Status != 404 {
		t.Errorf("a photo of another card: %d", a.Status)
	}
}
