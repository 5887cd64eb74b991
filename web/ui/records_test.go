package ui_test

import (
	"net/http"
	"net/url"
	"sync"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/web/ui"
	"rampside/web/ui/specimen"
)

// records is one record with a version, as a service would keep it.
type records struct {
	mu      sync.Mutex
	version int64
	note    string
	keys    map[string]bool
	writes  int
	posts   int
	slow    time.Duration
}

// record is what a stale edit gets to see.
type record struct {
	Version int64
	Note    string
}

func (c *records) read() record {
	c.mu.Lock()
	defer c.mu.Unlock()
	return record{c.version, c.note}
}

func (c *records) writeCount() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.writes
}

// arrived counts a post and takes as long as a bad line does.
func (c *records) arrived() {
	c.mu.Lock()
	c.posts++
	slow := c.slow
	c.mu.Unlock()
	time.Sleep(slow)
}

func (c *records) postCount() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.posts
}

func (c *records) write(a actor.Actor, version int64, note string) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.keys[a.Key] {
		return nil
	}
	if note == "never" {
		return apperr.Field("at", "that is no time to promise")
	}
	if version != c.version {
		return apperr.Stale("note", record{c.version, c.note})
	}
	c.keys[a.Key] = true
	c.version++
	c.note = note
	c.writes++
	return nil
}

func (s *site) specimenRoutes() {
	k, r := s.kit, s.router
	wrong := func() *ui.Form {
		f := ui.NewForm(url.Values{
			"mark": {"RS65 CAR"}, "miles": {"sixty"}, "price": {"12,34"}, "at": {"half past"}, "sure": {"likely"}, "tell": {"text"},
			"lines.0.title": {"Front discs and pads, renew"}, "lines.0.hours": {"1.6"}, "lines.1.title": {"Wipers"}, "lines.1.hours": {"half"},
		})
		f.Int("miles", 0, 2_000_000)
		f.Money("price")
		f.When("at", time.UTC)
		f.Required("keeper")
		f.Row("lines", 1).Fail("hours", "hours, please, such as 1.6")
		return f
	}
	card := func(status int, form func() *ui.Form) ui.Handler {
		return func(w http.ResponseWriter, r *http.Request) error {
			p := k.Page(r, "Card 41", "/diary")
			p.OwnHead = true
			return k.Render(w, r, status, specimen.Card(p, form()))
		}
	}
	k.Get(r, "/card", actor.ReadCards, card(http.StatusOK, func() *ui.Form { return nil }))
	k.Get(r, "/card-wrong", actor.ReadCards, card(http.StatusUnprocessableEntity, wrong))
	k.Get(r, "/floor", actor.ReadCards, func(w http.ResponseWriter, r *http.Request) error {
		p := k.Page(r, "Floor", "/floor")
		p.Floor = true
		return k.Render(w, r, http.StatusOK, specimen.Floor(p))
	})
	k.Get(r, "/book-in", actor.ReadCards, func(w http.ResponseWriter, r *http.Request) error {
		found := "No car of that mark has been here. Book it in below and it will be known."
		if q := ui.ReadQuery(r).Str("q", 40); q != "" {
			found = "Nothing is called " + q
		}
		return k.Render(w, r, http.StatusOK, specimen.Book(k.Page(r, "Book in", "/book-in"), wrong(), found))
	})
	k.Get(r, "/marks", actor.ReadCards, s.show("Marks"))
	k.Get(r, "/stale", actor.ReadCards, func(w http.ResponseWriter, r *http.Request) error {
		return k.Stale(w, r, ui.Stale{Thing: "line", Action: "/record", Back: "/record", Version: 8, Rows: []ui.StaleRow{
			{Name: "title", Label: "What is to be done", Theirs: "Thermostat housing, renew", Yours: "Thermostat housing and hose, renew"},
			{Name: "hours", Label: "Hours", Theirs: "0.9 h", Yours: "0.9 h"},
			{Name: "said", Label: "Note", Theirs: "", Yours: "Hose is perished", Long: true},
		}})
	})
	k.Post(r, "/specimen", actor.Work, func(w http.ResponseWriter, r *http.Request) error {
		return ui.SeeOther(w, r, "/card")
	})
}

// recordRoutes are a page with one edit, as a feature would write it.
func (s *site) recordRoutes() {
	k, r := s.kit, s.router
	k.Get(r, "/record", actor.ReadCards, func(w http.ResponseWriter, r *http.Request) error {
		now := s.record.read()
		f := ui.NewForm(url.Values{"version": {ui.Itoa(now.Version)}, "at": {now.Note}})
		return k.Render(w, r, http.StatusOK, specimen.Promise(k.Page(r, "A promise", "").Follow(r, "card:1"), f, now.Note))
	})
	k.Post(r, "/record", actor.EditCard, func(w http.ResponseWriter, r *http.Request) error {
		s.record.arrived()
		who, err := ui.Writer(r)
		if err != nil {
			return err
		}
		f := ui.ReadForm(r)
		note := f.Str("at", 40)
		f.Required("at")
		if f.Err() == nil {
			err := s.record.write(who, f.Version(), note)
			if now, ok := ui.IsStale[record](err); ok {
				return k.Stale(w, r, ui.Stale{Thing: "note", Action: "/record", Back: "/record", Version: now.Version,
					Rows: []ui.StaleRow{{Name: "at", Label: "Ready by", Theirs: now.Note, Yours: note}}})
			}
			if err == nil {
				s.hub.say("card:1")
				k.Flash(w, "Promise noted")
				return ui.SeeOther(w, r, "/record")
			}
			if !f.Take(err) {
				return err
			}
		}
		return k.Render(w, r, http.StatusUnprocessableEntity, specimen.Promise(k.Page(r, "A promise", ""), f, s.record.read().Note))
	})
}

// noKey writes from outside any page.
var noKey = actor.Actor{StaffID: 1, Role: actor.Owner, Key: "outside-of-any-page"}
