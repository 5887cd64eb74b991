package floorweb

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/web/ui"
)

func (p pages) on(w http.ResponseWriter, r *http.Request) error {
	who, id, f, err := write(r)
	if err != nil {
		return err
	}
	in := clocking.OnInput{LineID: id}
	for _, k := range f.Strs("caution", 40, 40) {
		in.Read = append(in.Read, caution.Key(k))
	}
	if err := f.Err(); err != nil {
		return err
	}
	on, err := p.Clock.ClockOn(r.Context(), who, in)
	if u, ok := clocking.UnreadOf(err); ok {
		page := p.page(r, "Read this first")
		return p.kit.Render(w, r, apperr.Conflict.Status(), unreadPage(page, u.Title, linePath(id), back(f), caution.Of(u.Cautions)))
	}
	if err != nil {
		return p.refused(w, r, err)
	}
	if on.UpToStripDown {
		p.kit.Flash(w, "Clocked on, up to strip-down only")
	} else {
		p.kit.Flash(w, "Clocked on")
	}
	return ui.SeeOther(w, r, back(f))
}

func (p pages) tick(w http.ResponseWriter, r *http.Request) error {
	who, id, f, err := write(r)
	if err != nil {
		return err
	}
	if _, err := p.Clock.Tick(r.Context(), who, clocking.LineInput{LineID: id}); err != nil {
		return p.refused(w, r, err)
	}
	p.kit.Flash(w, "Ticked")
	return ui.SeeOther(w, r, back(f))
}

// act is something done with a line for which words are needed: a page with
// one form.
type act struct {
	path, title, button, flash string
	do                         func(pages, context.Context, actor.Actor, jobcard.LineID, *ui.Form) error
}

// The acts. Their fields are in act.templ.
var acts = []act{
	{"defer", "Put it off", "Put it off", "Put off", pages.deferLine},
	{"wait", "Wait for parts", "Set it waiting", "Waiting on parts", pages.wait},
	{"reopen", "Open it again", "Open it again", "Open again", pages.reopen},
	{"check", "A second person’s check", "I have checked it", "Checked", pages.check},
}

func (p pages) deferLine(ctx context.Context, who actor.Actor, id jobcard.LineID, f *ui.Form) error {
	in := clocking.DeferInput{LineID: id, Reason: f.Str("reason", jobcard.MaxShort), DecidedBy: f.Str("decided_by", jobcard.MaxShort)}
	if err := f.Err(); err != nil {
		return err
	}
	_, err := p.Clock.Defer(ctx, who, in)
	return err
}

func (p pages) wait(ctx context.Context, who actor.Actor, id jobcard.LineID, f *ui.Form) error {
	in := clocking.ReasonInput{LineID: id, Reason: f.Str("reason", jobcard.MaxShort)}
	if err := f.Err(); err != nil {
		return err
	}
	_, err := p.Clock.Wait(ctx, who, in)
	return err
}

func (p pages) reopen(ctx context.Context, who actor.Actor, id jobcard.LineID, f *ui.Form) error {
	in := clocking.ReasonInput{LineID: id, Reason: f.Str("reason", jobcard.MaxShort)}
	if err := f.Err(); err != nil {
		return err
	}
	_, err := p.Clock.Reopen(ctx, who, in)
	return err
}

func (p pages) check(ctx context.Context, who actor.Actor, id jobcard.LineID, f *ui.Form) error {
	in := jobcard.CheckInput{LineID: id, TorqueNm: ui.Read(f, "torque_nm", readTorque), Note: f.Text("note", jobcard.MaxNote)}
	if err := f.Err(); err != nil {
		return err
	}
	_, err := p.Cards.SecondCheck(ctx, who, in)
	return err
}

func (p pages) actPage(a act) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := ui.PathID[jobcard.LineID](r, "line")
		if err != nil {
			return err
		}
		return p.showAct(w, r, http.StatusOK, a, id, nil)
	}
}

func (p pages) act(a act) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		who, id, f, err := write(r)
		if err != nil {
			return err
		}
		err = a.do(p, r.Context(), who, id, f)
		switch {
		case err == nil:
			p.kit.Flash(w, a.flash)
			return ui.SeeOther(w, r, linePath(id))
		case f.Take(err):
			return p.showAct(w, r, http.StatusUnprocessableEntity, a, id, f)
		}
		return err
	}
}

func (p pages) showAct(w http.ResponseWriter, r *http.Request, status int, a act, id jobcard.LineID, f *ui.Form) error {
	v, err := p.view(r, id)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, actPage(p.page(r, a.title), v, a, f))
}
