package ui

import (
	"context"
	"fmt"
	"net/http"
	"regexp"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

// Hub is where changes are heard of. E says what changed; a page only needs to
// know that something did, so E is not looked at.
type Hub[E any] interface {
	// Subscribe gives the changes of one topic, such as card:12, until cancel
	// is called. The channel may be closed to end the stream.
	Subscribe(topic string) (changes <-chan E, cancel func())
}

const (
	// ping is how often a silent stream says that it is still there, so that
	// proxies keep it and a dead peer is noticed.
	ping = 20 * time.Second
	// streamLife ends every stream after a while; the browser connects again
	// at once, and whoever was signed out meanwhile is found out.
	streamLife = 10 * time.Minute
	topicsMax  = 5
)

var topicShape = regexp.MustCompile(`^[a-z]{1,20}(:[a-z0-9-]{1,40})?$`)

// Stream registers /live, the stream of server-sent events that live pages
// listen to: /live?topic=card:12&topic=floor. An event carries the name of its
// topic and nothing else, so that hearing it needs no further right.
func Stream[E any](k *Kit, r chi.Router, hub Hub[E]) {
	k.Get(r, "/live", actor.ReadCards, func(w http.ResponseWriter, r *http.Request) error {
		return stream(k, w, r, hub, ping, streamLife)
	})
}

func stream[E any](k *Kit, w http.ResponseWriter, r *http.Request, hub Hub[E], ping, life time.Duration) error {
	if r.Method != http.MethodGet {
		return apperr.New(apperr.Invalid, "a live page is listened to, not asked about")
	}
	topics := r.URL.Query()["topic"]
	if len(topics) == 0 || len(topics) > topicsMax {
		return apperr.New(apperr.Invalid, "a live page follows between 1 and %d topics", topicsMax)
	}
	for _, t := range topics {
		if !topicShape.MatchString(t) {
			return apperr.New(apperr.Invalid, "there is no such topic")
		}
	}
	rc := http.NewResponseController(w)
	// The server's write deadline is for pages; a stream has none. A writer
	// that cannot be asked is one without a deadline.
	_ = rc.SetWriteDeadline(time.Time{})

	ctx, cancel := context.WithTimeout(r.Context(), life)
	defer cancel()
	defer context.AfterFunc(k.stop, cancel)()
	changed := make(chan string, 1)
	for _, t := range topics {
		changes, unsubscribe := hub.Subscribe(t)
		defer unsubscribe()
		go forward(ctx, cancel, t, changes, changed)
	}

	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // nginx would gather the events
	w.WriteHeader(http.StatusOK)
	if err := say(w, rc, "retry: 2000\n\n"); err != nil {
		return nil
	}
	tick := time.NewTicker(ping)
	defer tick.Stop()
	for {
		var err error
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
			err = say(w, rc, ": still here\n\n")
		case topic := <-changed:
			err = say(w, rc, "data: "+topic+"\n\n")
		}
		if err != nil {
			return nil // the browser went away
		}
	}
}

func say(w http.ResponseWriter, rc *http.ResponseController, text string) error {
	if _, err := fmt.Fprint(w, text); err != nil {
		return err
	}
	return rc.Flush()
}

// forward passes on that a topic changed. Changes that come faster than the
// browser takes them become one.
func forward[E any](ctx context.Context, end func(), topic string, from <-chan E, to chan<- string) {
	for {
		select {
		case <-ctx.Done():
			return
		case _, open := <-from:
			if !open {
				end()
				return
			}
		}
		select {
		case to <- topic:
		default: // one is waiting to be said, and the page will look at everything then
		}
	}
}
