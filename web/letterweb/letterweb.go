// Package letterweb shows what became of the letters that the garage sent:
// which wait and why, which were given up, and what can be done about it.
package letterweb

import (
	"context"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/post"
	"rampside/web/ui"
)

// Path is where the page is.
const Path = "/letters"

type pages struct {
	kit     *ui.Kit
	letters *post.Service
	garage  func(context.Context) (garage.Settings, error)
}

// Mount registers the page of letters. set reads the garage's settings, for its
// zone.
func Mount(r chi.Router, kit *ui.Kit, letters *post.Service, set func(context.Context) (garage.Settings, error)) {
	p := pages{kit, letters, set}
	kit.Get(r, Path, actor.SendQuote, p.list)
	kit.Post(r, "/letters/{letter}/again", actor.SendQuote, p.act(letters.Again, "It is tried again"))
	kit.Post(r, "/letters/{letter}/withdraw", actor.SendQuote, p.act(letters.Withdraw, "Letter withdrawn"))
}

// view is the page.
type view struct {
	WhyNot string
	Look   string
	Looks  []look
	Rows   []row
	Nobody string
}

type look struct{ Path, Label, Value string }

type row struct {
	ID, State, To, Subject, When, Trouble, Next string
	Card                                        string
	Again, Withdraw                             bool
}

func (p pages) list(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadQuery(r)
	state := post.State(f.OneOf("state", "", string(post.Waiting), string(post.Sent), string(post.Failed), string(post.Withdrawn)))
	if err := f.Err(); err != nil {
		return err
	}
	all, err := p.letters.List(r.Context(), ui.Who(r.Context()), state)
	if err != nil {
		return err
	}
	set, err := p.garage(r.Context())
	if err != nil {
		return err
	}
	v := &view{WhyNot: p.letters.WhyNot(), Look: string(state), Nobody: "No letter was written yet. Quotes, bills and statements that go out by e-mail are listed here."}
	if state != "" {
		v.Nobody = "No letter is " + string(state) + "."
	}
	v.Looks = []look{{Path, "All", ""}}
	for _, s := range []post.State{post.Waiting, post.Failed, post.Sent, post.Withdrawn} {
		v.Looks = append(v.Looks, look{Path + "?state=" + string(s), ui.Sentence(string(s)), string(s)})
	}
	for _, s := range all {
		v.Rows = append(v.Rows, rowOf(s, set.Location(), p.letters.Sends()))
	}
	page := p.kit.Page(r, "Letters", "").Follow(r, "garage")
	page.Wide = true
	return p.kit.Render(w, r, http.StatusOK, listPage(page, v))
}

func rowOf(s post.Status, zone *time.Location, sends bool) row {
	say := func(t time.Time) string { return t.In(zone).Format("Mon 2 January 15:04") }
	out := row{ID: ui.Itoa(s.ID), State: string(s.State), To: s.To, Subject: s.Subject, Trouble: s.Trouble}
	if s.ToName != "" {
		out.To = s.ToName + ", " + s.To
	}
	if s.CardID != 0 {
		out.Card = ui.Itoa(s.CardID)
	}
	switch s.State {
	case post.Waiting:
		out.When, out.Again, out.Withdraw = "written "+say(s.At), sends, true
		switch {
		case !sends:
			out.Next = "It waits until this server can send mail."
		case s.Tries > 0:
			out.Next = "Tried " + times(s.Tries) + "; the next try is at " + say(s.NextTry) + "."
		}
	case post.Failed:
		out.When, out.Again = "given up "+say(s.DoneAt), sends
	default:
		out.When = string(s.State) + " " + say(s.DoneAt)
	}
	return out
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return ui.Itoa(int64(n)) + " times"
}

func (p pages) act(do func(context.Context, actor.Actor, post.ID) (post.ID, error), done string) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := ui.PathID[post.ID](r, "letter")
		if err != nil {
			return err
		}
		who, err := ui.Writer(r)
		if err != nil {
			return err
		}
		if _, err := do(r.Context(), who, id); err != nil {
			return err
		}
		p.kit.Flash(w, done)
		return ui.SeeOther(w, r, Path)
	}
}
