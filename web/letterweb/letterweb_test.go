package letterweb_test

import (
	"context"
	"log/slog"
	"net/http/httptest"
	"testing"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/live"
	"rampside/internal/post"
	"rampside/static"
	"rampside/web/edge"
	"rampside/web/letterweb"
	"rampside/web/ui"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

type people map[string]actor.Actor

func (p people) Actor(_ context.Context, shown ui.Presented) (actor.Actor, error) {
	return p[shown.Token], nil
}

// serve has the page of letters on a server that sends mail from an address, or
// none.
func serve(t *testing.T, from string) (*cardtest.Garage, *webtest.Browser) {
	t.Helper()
	g := cardtest.Open(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	kit := ui.New(ui.Options{Log: log, Now: g.DB.Now, Sessions: people{"desk": g.Desk, "technician": g.Posy}})
	r := chi.NewRouter()
	g.OK(edge.Use(r, edge.Options{Log: log, Now: g.DB.Now, PublicURL: "http://localhost", Refuse: kit.Fail}))
	r.Use(kit.Session)
	r.Handle(static.Prefix+"*", static.Handler())
	kit.Routes(r)
	ui.Stream(kit, r, live.NewHub(log))
	letterweb.Mount(r, kit, post.New(g.DB, from), func(ctx context.Context) (garage.Settings, error) { return garage.Load(ctx, g.DB.Pool) })
	server := httptest.NewServer(r)
	t.Cleanup(server.Close)

	b := webtest.Open(t, server.URL)
	b.SetCookie("rampside", "desk")
	return g, b
}

func write(ctx context.Context, g *cardtest.Garage, subjects ...string) {
	for _, subject := range subjects {
		_, err := change.Do(ctx, g.DB, g.Desk, "write", subject, func(ctx context.Context, tx *change.Tx) (post.ID, error) {
			return post.Put(ctx, tx, post.Letter{About: "test", AboutID: 1, ToName: "Maud Ferris", To: "maud@ferris.example", Subject: subject, Text: "Dear Maud"})
		})
		g.OK(err)
	}
}

func TestWhileNoMailIsSetUpLettersAreSaidToWait(t *testing.T) {
	g, b := serve(t, "")
	write(t.Context(), g, "Your estimate")
	b.Go("/letters")
	b.See("This server is not set up to send mail")
	b.See("is tried for four days from then on")
	b.See("It waits until this server can send mail.")
	b.SeeNot("Try it now")
	b.Audit(24)
	b.Click("Do not send it (letter 1, Your estimate)")
	b.See("Letter withdrawn")
}

func TestStaffSeeWhatBecameOfALetterAndActOnIt(t *testing.T) {
	g, b := serve(t, "desk@saltmarsh.example")
	b.Go("/letters")
	b.See("No letter was written yet.")
	b.SeeNot("not set up to send mail")
	write(t.Context(), g, "Your estimate", "Your <b>bill</b>")
	// As a mail server that said no leaves it.
	_, err := g.DB.Pool.Exec(t.Context(), `update letter set state = 'failed', tries = 1, trouble = '550 5.1.1 no such user here', done_at = $1 where subject = 'Your estimate'`, g.Clock)
	g.OK(err)
	b.Go("/letters")
	b.See("Your <b>bill</b>")
	b.See("The mail server said: 550 5.1.1 no such user here")
	b.See("To Maud Ferris, maud@ferris.example, given up Mon 5 October 09:00")
	b.Audit(24)
	b.Dump("letters")
	b.Size(1280, 800)
	b.Click("Try it now (letter 1, Your estimate)")
	b.See("It is tried again")
	b.Click("Do not send it (letter 1, Your estimate)")
	b.See("Letter withdrawn")
	b.Click("Withdrawn")
	b.See("Your estimate")
	b.SeeNot("bill")

	b.SetCookie("rampside", "technician")
	b.Allow("403")
	b.Go("/letters")
	b.SeeNot("maud@ferris.example")
}
