package floorweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/web/ui"
)

// partOf finds a part of the line in the address.
func (p pages) partOf(r *http.Request) (*lineView, jobcard.Part, error) {
	line, err := ui.PathID[jobcard.LineID](r, "line")
	if err != nil {
		return nil, jobcard.Part{}, err
	}
	id, err := ui.PathID[jobcard.PartID](r, "part")
	if err != nil {
		return nil, jobcard.Part{}, err
	}
	v, err := p.view(r, line)
	if err != nil {
		return nil, jobcard.Part{}, err
	}
	part, ok := v.sheet.Part(id)
	if !ok || part.LineID != line {
		return nil, jobcard.Part{}, apperr.NoSuch("part on this line")
	}
	return v, part, nil
}

// writePart is what every write to a part of a line begins with.
func (p pages) writePart(r *http.Request) (actor.Actor, jobcard.LineID, jobcard.PartID, *ui.Form, error) {
	who, line, f, err := write(r)
	if err != nil {
		return who, 0, 0, nil, err
	}
	id, err := ui.PathID[jobcard.PartID](r, "part")
	if err != nil {
		return who, 0, 0, nil, err
	}
	return who, line, id, f, p.Cards.PartOfLine(r.Context(), who, line, id)
}

// fit records by hand whether a part fits this car.
func (p pages) fit(w http.ResponseWriter, r *http.Request) error {
	who, line, id, f, err := p.writePart(r)
	if err != nil {
		return err
	}
	in := jobcard.VerdictInput{
		PartID: id, Version: int(f.Version()), Verdict: ui.OneOf(f, "verdict", jobcard.Verdicts...), Note: f.Text("note", jobcard.MaxNote),
	}
	if in.Verdict == "" {
		f.Fail("verdict", "please choose one")
	}
	if err = f.Err(); err == nil {
		_, err = p.Cards.SetVerdict(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[jobcard.Part](err); ok {
		return p.stalePart(w, r, line, now, f)
	}
	switch {
	case err == nil:
		p.kit.Flash(w, "Noted: "+string(in.Verdict))
		return ui.SeeOther(w, r, linePath(line))
	case f.Take(err):
		return p.showBench(w, r, http.StatusUnprocessableEntity, f)
	}
	return err
}

func (p pages) stalePart(w http.ResponseWriter, r *http.Request, line jobcard.LineID, now jobcard.Part, f *ui.Form) error {
	return p.kit.Stale(w, r, ui.Stale{
		Thing: "part", Action: partPath(line, now.ID) + "/fit", Back: linePath(line), Version: int64(now.Version),
		Rows: []ui.StaleRow{
			{Name: "verdict", Label: "Does it fit", Theirs: string(now.Verdict), Yours: f.Get("verdict"), Options: ui.OptionsOf(jobcard.Verdicts...)},
			{Name: "note", Label: "Note", Theirs: now.VerdictNote, Yours: f.Get("note"), Long: true},
		},
	})
}

// arrived records that a part is here.
func (p pages) arrived(w http.ResponseWriter, r *http.Request) error {
	who, line, id, f, err := p.writePart(r)
	if err != nil {
		return err
	}
	in := jobcard.SupplyInput{PartID: id, Version: int(f.Version()), Supply: jobcard.Arrived}
	if _, err := p.Cards.SetSupply(r.Context(), who, in); err != nil {
		return err
	}
	p.kit.Flash(w, "Noted: it is here")
	return ui.SeeOther(w, r, linePath(line))
}
