package garageweb

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rampside/internal/actor"
	"rampside/web/ui"
)

// save is the common course of a post. read reads the whole form; write saves
// it and says where to go on. What is wrong with the form brings it back
// through again, at 422; an edit that came too late is shown by stale.
type save struct {
	read  func(f *ui.Form)
	write func(who actor.Actor) (to, done string, err error)
	again func(f *ui.Form, status int) error
	stale func(f *ui.Form, err error) (ui.Stale, bool)
}

func (p pages) save(w http.ResponseWriter, r *http.Request, s save) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	s.read(f)
	if f.Err() == nil {
		to, done, err := s.write(who)
		if err == nil {
			p.kit.Flash(w, done)
			return ui.SeeOther(w, r, to)
		}
		if s.stale != nil {
			if st, ok := s.stale(f, err); ok {
				return p.kit.Stale(w, r, st)
			}
		}
		if !f.Take(err) {
			return err
		}
	}
	return s.again(f, http.StatusUnprocessableEntity)
}

// formOf starts a form with values to show: pairs of a name and a value.
func formOf(pairs ...string) *ui.Form {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			v.Add(pairs[i], pairs[i+1])
		}
	}
	return ui.NewForm(v)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func yesNoOptions() []ui.Option { return ui.OptionsOf("yes", "no") }

// several reads a field of several choices. They come as boxes that are
// ticked, or, from the page of both versions, as one text parted by commas.
func several(f *ui.Form, name string, count int) []string {
	var out []string
	for _, v := range f.Strs(name, count, 400) {
		for _, s := range strings.Split(v, ",") {
			if s = strings.TrimSpace(s); s != "" && len(out) < count {
				out = append(out, s)
			}
		}
	}
	return out
}

// tick is one box of several that belong together.
type tick struct {
	Value, Label, ID string
	Ticked           bool
}

// ticks makes the boxes of a field; those in its values are ticked.
func ticks(f *ui.Form, name string, options []ui.Option) []tick {
	ticked := several(f, name, len(options)*2)
	out := make([]tick, len(options))
	for i, o := range options {
		out[i] = tick{o.Value, o.Label, "f-" + name + "-" + o.Value, slices.Contains(ticked, o.Value)}
	}
	return out
}
