package post

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// look is how often the worker looks for letters when nobody wakes it.
const look = 5 * time.Second

// Worker sends what is waiting. Any number may run on one database.
type Worker struct {
	DB     *change.DB
	Server *Server
	Log    *slog.Logger
	// sent, when set, is called between the server's yes and our note of it: a
	// test ends the worker there.
	sent func()
}

// postman is who notes what became of a letter.
var postman = actor.Actor{Name: "outgoing mail", Role: actor.Owner, Via: actor.ViaCommand, Device: "server"}

// Run sends letters until ctx ends. It goes on through every failure: the
// database may be away for a while.
func (w *Worker) Run(ctx context.Context) {
	tick := time.NewTicker(look)
	defer tick.Stop()
	for {
		for {
			done, err := w.One(ctx)
			if err != nil && ctx.Err() == nil {
				w.Log.LogAttrs(ctx, slog.LevelError, "outgoing mail", slog.String("error", err.Error()))
			}
			if err != nil || !done {
				break
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// One takes one letter in hand, tries it and notes what became of it. It
// reports whether there was one.
//
// A server that dies between the other side's yes and the note leaves the
// letter in hand; it is then sent again with the same Message-ID.
func (w *Worker) One(ctx context.Context) (bool, error) {
	c, err := change.Do(ctx, w.DB, postman, "take a letter in hand", nil, func(ctx context.Context, tx *change.Tx) (claimed, error) {
		return claim(ctx, tx, holdTime)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	failure := w.Server.send(ctx, c)
	if failure != nil && ctx.Err() != nil {
		// We are being stopped; the next server tries it when it is let go.
		return false, ctx.Err()
	}
	if failure == nil && w.sent != nil {
		w.sent()
	}
	_, err = change.Do(context.WithoutCancel(ctx), w.DB, postman, "note what became of a letter", nil, func(ctx context.Context, tx *change.Tx) (bool, error) {
		state, next := after(c, failure, tx.At)
		return true, settle(ctx, tx, c, state, next, plain(failure))
	})
	return true, err
}

// after decides what becomes of a letter after a try.
func after(c claimed, failure error, now time.Time) (State, time.Time) {
	if failure == nil {
		return Sent, now
	}
	next := now.Add(Retry(c.tries))
	if _, never := failure.(refused); never || next.After(c.firstTry.Add(GiveUp)) {
		return Failed, now
	}
	return Waiting, next
}

// plain makes what a mail server said fit for a page: one line, bounded.
func plain(err error) string {
	if err == nil {
		return ""
	}
	f := apperr.Fields{}
	s := strings.Join(strings.Fields(strings.ToValidUTF8(err.Error(), "?")), " ")
	if r := []rune(s); len(r) > 300 {
		s = string(r[:300])
	}
	if s = f.Line("trouble", s, 300); s == "" {
		return "the mail server's answer cannot be read"
	}
	return s
}
