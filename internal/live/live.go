// Package live tells open screens that something changed. One connection per
// server listens to PostgreSQL, so a change made through one server is heard
// at every other; what changed is read anew by whoever shows it.
package live

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
)

const (
	// Channel is where the database says what changed.
	Channel = "rampside"
	// All is the topic of whoever wants to hear of everything.
	All = "garage"
	// Outlook is the topic of the day's forecast. Whoever hears of everything
	// does not hear of it: it is worked out from what they heard of.
	Outlook = "outlook"

	firstPause = 100 * time.Millisecond
	lastPause  = 5 * time.Second
)

// Change says that a topic changed. Topic is card:12, or garage for what
// belongs to no card.
type Change struct{ Topic string }

// Hub passes changes on to those who subscribed.
type Hub struct {
	log *slog.Logger

	mu     sync.Mutex
	subs   map[string]map[*subscriber]struct{}
	closed bool
}

type subscriber struct{ ch chan Change }

// NewHub makes a hub that hears nothing yet: Listen feeds it.
func NewHub(log *slog.Logger) *Hub {
	return &Hub{log: log, subs: map[string]map[*subscriber]struct{}{}}
}

// Subscribe gives the changes of a topic until cancel is called. Whoever is
// slow misses some, never the last: one change always waits. The channel is
// closed when the hub ends.
func (h *Hub) Subscribe(topic string) (changes <-chan Change, cancel func()) {
	s := &subscriber{ch: make(chan Change, 1)}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		close(s.ch)
		return s.ch, func() {}
	}
	if h.subs[topic] == nil {
		h.subs[topic] = map[*subscriber]struct{}{}
	}
	h.subs[topic][s] = struct{}{}
	return s.ch, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.subs[topic], s)
		if len(h.subs[topic]) == 0 {
			delete(h.subs, topic)
		}
	}
}

// Subscribers counts those who listen now.
func (h *Hub) Subscribers() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	n := 0
	for _, s := range h.subs {
		n += len(s)
	}
	return n
}

// publish tells the subscribers of a topic, and those of All but for the
// outlook.
func (h *Hub) publish(topic string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.tell(topic, topic)
	if topic != All && topic != Outlook {
		h.tell(All, topic)
	}
}

// everything tells everybody, after changes may have been missed.
func (h *Hub) everything() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for topic := range h.subs {
		h.tell(topic, topic)
	}
}

func (h *Hub) tell(to, topic string) {
	for s := range h.subs[to] {
		select {
		case s.ch <- Change{topic}:
		default: // one waits already, and that look will see this change too
		}
	}
}

// Listen feeds the hub from the database at url until ctx ends, and then
// closes every subscription. A line that breaks is connected again, and then
// everybody looks, since nobody knows what was missed.
func (h *Hub) Listen(ctx context.Context, url string) {
	defer h.close()
	pause := firstPause
	for ctx.Err() == nil {
		heard, err := h.listen(ctx, url)
		if ctx.Err() != nil {
			return
		}
		if heard {
			pause = firstPause
		}
		h.log.Warn("the live line to the database broke; connecting again", "error", err)
		select {
		case <-ctx.Done():
			return
		case <-time.After(pause):
		}
		pause = min(pause*2, lastPause)
	}
}

func (h *Hub) listen(ctx context.Context, url string) (connected bool, err error) {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return false, err
	}
	cfg.RuntimeParams["application_name"] = "rampside live"
	cfg.ConnectTimeout = 5 * time.Second
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return false, err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	if _, err := conn.Exec(ctx, "listen "+Channel); err != nil {
		return false, err
	}
	h.everything()
	for {
		// A line that is silent for long may be dead: ask now and then.
		wait, cancel := context.WithTimeout(ctx, 30*time.Second)
		n, err := conn.WaitForNotification(wait)
		cancel()
		switch {
		case err == nil:
			h.publish(strings.TrimSpace(n.Payload))
		case ctx.Err() != nil:
			return true, ctx.Err()
		case errors.Is(err, context.DeadlineExceeded):
			if err := conn.Ping(ctx); err != nil {
				return true, err
			}
		default:
			return true, err
		}
	}
}

func (h *Hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for _, subs := range h.subs {
		for s := range subs {
			close(s.ch)
		}
	}
	h.subs = map[string]map[*subscriber]struct{}{}
}
