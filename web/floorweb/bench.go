package floorweb

import (
	"errors"
	"net/http"
	"slices"

	"github.com/a-h/templ"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/web/fitweb"
	"rampside/web/ui"
)

// benchView is a part on the bench, before the old one comes off: what is on
// its box, whether it fits, and the one thing to measure if that cannot be
// told.
type benchView struct {
	partView
	Proof    fitweb.Proof
	Words    int64 // version of what was put on it
	Rule     string
	Box      string
	BoxOther bool
	Waived   string
	CanWaive bool
	Hints    []string
	// Open says that the card can still be changed.
	Open bool
}

func (p pages) benchOf(r *http.Request, v *lineView, part jobcard.Part) (*benchView, error) {
	ctx, who := r.Context(), ui.Who(r.Context())
	card, err := p.Fitment.Card(ctx, who, v.sheet.ID)
	if err != nil {
		return nil, err
	}
	pf, _ := card.Part(part.ID)
	b := &benchView{
		partView: v.part(part), Proof: fitweb.Of(card, pf), Words: int64(pf.PutVersion()), Box: pf.Box, BoxOther: pf.BoxOther,
		CanWaive: who.May(actor.WaiveFit) && part.Held,
	}
	b.Open = b.CanJudge
	if pf.Put != nil {
		b.Rule = pf.Put.Rule
	}
	for _, w := range v.sheet.Waivers {
		if w.ID == part.Waiver {
			b.Waived = v.sheet.Staff[w.By] + " let it through: " + w.Reason
		}
	}
	var hints []fitment.Hint
	if fitment.NumberKey(part.Number) != "" {
		m, err := p.Fitment.Memory(ctx, who, fitment.MemoryQuery{Number: part.Number, VehicleID: card.VehicleID, But: card.CardID})
		if err != nil {
			return nil, err
		}
		hints = m.Hints
	} else if hints, err = p.Fitment.Suggest(ctx, who, part.ID); err != nil {
		return nil, err
	}
	for _, h := range slices.Clip(hints)[:min(len(hints), 3)] {
		b.Hints = append(b.Hints, h.Number+": "+h.Words())
	}
	return b, nil
}

func (p pages) bench(w http.ResponseWriter, r *http.Request) error {
	return p.showBench(w, r, http.StatusOK, nil)
}

func (p pages) showBench(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	v, part, err := p.partOf(r)
	if err != nil {
		return err
	}
	b, err := p.benchOf(r, v, part)
	if err != nil {
		return err
	}
	var photo templ.Component
	if p.PhotoForm != nil && b.Open {
		photo = p.PhotoForm(v.ID, v.Path)
	}
	return p.kit.Render(w, r, status, benchPage(p.page(r, "Does it fit?", "card:"+v.CardID), v, b, f, photo))
}

// after finishes a write on the bench: back to it, or the form again.
func (p pages) after(w http.ResponseWriter, r *http.Request, to string, f *ui.Form, flash string, err error) error {
	switch {
	case err == nil:
		if flash != "" {
			p.kit.Flash(w, flash)
		}
		return ui.SeeOther(w, r, to)
	case f.Take(err):
		return p.showBench(w, r, http.StatusUnprocessableEntity, f)
	case apperr.Is(err, apperr.Conflict):
		f.Summary = err.Error()
		return p.showBench(w, r, http.StatusConflict, f)
	}
	return err
}

// box notes the number that was read off the box.
func (p pages) box(w http.ResponseWriter, r *http.Request) error {
	who, line, id, f, err := p.writePart(r)
	if err != nil {
		return err
	}
	in := fitment.BoxInput{PartID: id, Number: f.Str("number", fitment.NumberMax), Take: f.Bool("take")}
	if err = f.Err(); err == nil {
		_, err = p.Fitment.ReadBox(r.Context(), who, in)
	}
	return p.after(w, r, partPath(line, id)+"#verdict", f, "", err)
}

// measure notes a fact as read off the car.
func (p pages) measure(w http.ResponseWriter, r *http.Request) error {
	who, line, id, f, err := p.writePart(r)
	if err != nil {
		return err
	}
	in := fitweb.ReadMeasure(f, id)
	if err = f.Err(); err == nil {
		_, err = p.Fitment.Measure(r.Context(), who, in)
	}
	if err != nil && fitweb.Measured(f, err) {
		return p.showBench(w, r, apperr.KindOf(err).Status(), f)
	}
	return p.after(w, r, partPath(line, id)+"#verdict", f, "Noted as read off the car", err)
}

// conditions puts what the box says on the part.
func (p pages) conditions(w http.ResponseWriter, r *http.Request) error {
	who, line, id, f, err := p.writePart(r)
	if err != nil {
		return err
	}
	s, err := p.partPut(r, line, id)
	if err != nil {
		return err
	}
	s.PartID, s.Version, s.Rule = id, int(f.Version()), f.Text("rule", fit.MaxText)
	if err = f.Err(); err == nil {
		_, err = p.Fitment.Put(r.Context(), who, s)
	}
	if now, ok := ui.IsStale[fitment.Put](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "part's conditions", Action: partPath(line, id) + "/conditions", Back: partPath(line, id), Version: int64(now.Version),
			Rows: []ui.StaleRow{{Name: "rule", Label: "Conditions", Theirs: now.Rule, Yours: f.Get("rule"), Long: true}},
		})
	}
	return p.after(w, r, partPath(line, id)+"#verdict", f, "", err)
}

// partPut is what was put on a part, as the start of a change to it.
func (p pages) partPut(r *http.Request, line jobcard.LineID, id jobcard.PartID) (fitment.PutInput, error) {
	v, err := p.view(r, line)
	if err != nil {
		return fitment.PutInput{}, err
	}
	card, err := p.Fitment.Card(r.Context(), ui.Who(r.Context()), v.sheet.ID)
	if err != nil {
		return fitment.PutInput{}, err
	}
	pf, _ := card.Part(id)
	if pf.Put == nil {
		return fitment.PutInput{}, nil
	}
	return fitment.PutInput{Kind: pf.Put.Kind, Props: pf.Put.Props, BoxWords: pf.Put.BoxWords}, nil
}

// waive lets the part through the gate.
func (p pages) waive(w http.ResponseWriter, r *http.Request) error {
	who, line, id, f, err := p.writePart(r)
	if err != nil {
		return err
	}
	in := fitment.WaiveInput{PartID: id, Verdict: ui.OneOf(f, "verdict", jobcard.Verdicts...), Reason: f.Str("reason", jobcard.MaxShort)}
	if err = f.Err(); err == nil {
		_, err = p.Fitment.Waive(r.Context(), who, in)
	}
	return p.after(w, r, linePath(line), f, "Let through; the reason is on the card", err)
}

// strip records that the old parts of a line come off, or are on again.
func (p pages) strip(w http.ResponseWriter, r *http.Request) error {
	who, id, f, err := write(r)
	if err != nil {
		return err
	}
	back := f.Bool("back_on")
	if err := f.Err(); err != nil {
		return err
	}
	if _, err := p.Cards.Strip(r.Context(), who, jobcard.StripInput{LineID: id, Back: back}); err != nil {
		return p.refused(w, r, err)
	}
	if back {
		p.kit.Flash(w, "Noted: the old parts are on again")
	} else {
		p.kit.Flash(w, "Noted: the old parts are off")
	}
	return ui.SeeOther(w, r, linePath(id))
}

// refused shows what a closed gate stopped, with the way to each part that
// keeps it closed; any other error is the adapter's.
func (p pages) refused(w http.ResponseWriter, r *http.Request, err error) error {
	if n, ok := jobcard.NotAgreedOf(err); ok {
		return p.kit.Render(w, r, apperr.Conflict.Status(), notAgreedPage(p.page(r, "Not agreed yet", "card:"+ui.Itoa(n.CardID)), err.Error(), "/cards/"+ui.Itoa(n.CardID)+"#answer", linePath(n.LineID)))
	}
	c, ok := jobcard.ClosedOf(err)
	if !ok {
		return err
	}
	var e *apperr.Error
	errors.As(err, &e)
	g := gateView{Title: c.Title, Refused: c.Refused, Line: linePath(c.LineID), Card: "/cards/" + ui.Itoa(c.CardID)}
	for _, h := range c.Holds {
		g.Parts = append(g.Parts, heldView{
			Name: h.Name, Words: h.Words(), Next: h.Next(), Path: partPath(c.LineID, h.PartID), Verdict: string(h.Verdict),
		})
	}
	return p.kit.Render(w, r, e.Kind.Status(), gatePage(p.page(r, "Not past strip-down yet", "card:"+ui.Itoa(c.CardID)), g))
}

var fits = ui.OptionsOf(jobcard.Fits, jobcard.DoesNotFit, jobcard.CannotTell)

// gateView is what a closed gate says.
type gateView struct {
	Title, Refused, Line, Card string
	Parts                      []heldView
}

type heldView struct{ Name, Words, Next, Path, Verdict string }

func heldOf(line jobcard.LineID, holds []jobcard.Hold) []heldView {
	var out []heldView
	for _, h := range holds {
		out = append(out, heldView{Name: h.Name, Words: h.Words(), Next: h.Next(), Path: partPath(line, h.PartID), Verdict: string(h.Verdict)})
	}
	return out
}
