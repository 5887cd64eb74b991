package ui

import (
	"context"
	"log/slog"
	"strings"
	"time"

	"rampside/internal/actor"
)

// Options is what a Kit is made from. Log, Now and Sessions are required.
type Options struct {
	Log *slog.Logger
	Now func() time.Time
	// PublicURL is the address people type, such as https://jobs.garage.test.
	PublicURL string
	// Secure says that pages are served over https: cookies then get the
	// __Host- prefix and the Secure flag.
	Secure   bool
	Sessions Sessions
	// GarageName is shown at the head of every page; nil shows none.
	GarageName func(context.Context) string
	// Nav lists the pages offered at the head, in order. An item is shown only
	// to those with its right.
	Nav []NavItem
	// SignOut is where the button that ends a session posts to; empty shows
	// no button.
	SignOut string
	// Stop, when done, ends the live streams so that the server can.
	Stop context.Context
}

// NavItem is one entry at the head of a page.
type NavItem struct {
	Label string
	Path  string
	Need  actor.Right
}

// Kit holds what pages share. Make one at start and hand it to every feature.
type Kit struct {
	log      *slog.Logger
	now      func() time.Time
	public   string
	secure   bool
	sessions Sessions
	garage   func(context.Context) string
	nav      []NavItem
	signOut  string
	stop     context.Context
	declared []Declared
}

// New makes a Kit. It panics when a required option is missing, since that is
// a mistake in the wiring and not in the world.
func New(o Options) *Kit {
	if o.Log == nil || o.Now == nil || o.Sessions == nil {
		panic("ui.New: Log, Now and Sessions are required")
	}
	k := &Kit{
		log: o.Log, now: o.Now, public: strings.TrimRight(o.PublicURL, "/"), secure: o.Secure,
		sessions: o.Sessions, garage: o.GarageName, nav: o.Nav, signOut: o.SignOut, stop: o.Stop,
	}
	if k.garage == nil {
		k.garage = func(context.Context) string { return "" }
	}
	if k.stop == nil {
		k.stop = context.Background()
	}
	return k
}

// PublicURL gives the address of a path as people outside type it, for links
// in messages and codes on paper.
func (k *Kit) PublicURL(path string) string { return k.public + path }

// Now tells the time that pages are made at.
func (k *Kit) Now() time.Time { return k.now() }
