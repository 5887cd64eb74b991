package ui

import (
	"net/http"
	"strings"

	"rampside/internal/actor"
	"rampside/static"
)

// PageData is what the frame of a page shows around its content.
type PageData struct {
	Title  string
	Garage string
	Who    actor.Actor
	Nav    []NavLink
	Flash  string
	// Light is day, night, or empty to follow the device.
	Light string
	// Here is the page's own address, for forms that come back to it.
	Here string
	// Live names what the page follows, such as card:12 or several separated
	// by spaces; empty for a page that stands still.
	Live string
	// Wide is for pages that are mostly a table; Floor gives the large targets
	// of the tablet. At most one of them.
	Wide, Floor bool
	// Bare leaves the navigation away: sign-in, and what a customer sees.
	Bare bool

	// OwnHead is for a page that writes its own h1.
	OwnHead bool

	// css, js and icon are the addresses of the bundle's files.
	css, js, icon string
	signOut       string
}

// NavLink is one entry at the head of a page as one person sees it.
type NavLink struct {
	Label  string
	Path   string
	Active bool
}

// Page makes the frame for a page: its title, and the path of the entry at the
// head that it belongs to.
func (k *Kit) Page(r *http.Request, title, active string) PageData {
	who := Who(r.Context())
	p := PageData{
		Title:  title,
		Garage: k.garage(r.Context()),
		Who:    who,
		Flash:  k.readFlash(r),
		Light:  k.light(r),
		Here:   "/",
		css:    static.Path("app.css"),
		js:     static.Path("app.js"),
		icon:   static.Path("icon.svg"),

		signOut: k.signOut,
	}
	if r.Method == http.MethodGet {
		p.Here = LocalPath(r.URL.RequestURI())
	}
	for _, n := range k.nav {
		if who.May(n.Need) {
			p.Nav = append(p.Nav, NavLink{Label: n.Label, Path: n.Path, Active: n.Path == active})
		}
	}
	return p
}

// Follow makes the page live: it draws itself anew when one of the topics
// changes. Only a page that was opened can be opened again, so the answer to a
// post stays as it is.
func (p PageData) Follow(r *http.Request, topics ...string) PageData {
	if r.Method == http.MethodGet {
		p.Live = strings.Join(topics, " ")
	}
	return p
}

func (p PageData) bodyClass() string {
	switch {
	case p.Floor:
		return "floor"
	case p.Wide:
		return "wide"
	}
	return "desk"
}

func (p PageData) fullTitle() string {
	if p.Garage == "" {
		return p.Title
	}
	return p.Title + " · " + p.Garage
}

func (p PageData) garageOr(name string) string {
	if p.Garage == "" {
		return name
	}
	return p.Garage
}

func (p PageData) lightIs(value string) bool {
	return p.Light == value || p.Light == "" && value == "device"
}
