package yourcarweb

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/money"
	"rampside/internal/photo"
	"rampside/internal/quote"
	"rampside/web/ui"
)

// page shows what a link is for.
func (p pages) page(w http.ResponseWriter, r *http.Request) error {
	l, ok, err := p.find(w, r, true)
	if err != nil || !ok {
		return err
	}
	if l.Purpose != link.Quote {
		return p.view(w, r, http.StatusOK, l, nil)
	}
	v, newer, err := p.version(r.Context(), l)
	if err != nil {
		return err
	}
	view, err := p.show(r, l, v, newer, nil)
	if err != nil {
		return err
	}
	view.Asking = view.Answerable && (!view.Some || r.URL.Query().Get("do") == "answer")
	view.Done = r.URL.Query().Get("do") == "thanks"
	return p.kit.Render(w, r, http.StatusOK, quotePage(p.bare(r, view.Title), view))
}

// answer takes a customer's yes and no, or works the total out for a browser
// without the script.
func (p pages) answer(w http.ResponseWriter, r *http.Request) error {
	l, ok, err := p.find(w, r, false)
	if err != nil || !ok {
		return err
	}
	if staff(r) {
		return errStaff
	}
	who, err := p.customer(r, l)
	if err != nil {
		return err
	}
	if l.Purpose != link.Quote {
		return p.answerView(w, r, who, l)
	}
	f := ui.ReadForm(r)
	v, newer, err := p.version(r.Context(), l)
	if err != nil {
		return err
	}
	if f.OneOf("do", "", "total") == "total" {
		return p.again(w, r, http.StatusOK, l, v, newer, f)
	}
	in := read(f, v)
	if err = f.Err(); err == nil {
		_, err = p.Quotes.Answer(r.Context(), who, in)
		if err == nil {
			return ui.SeeOther(w, r, r.URL.Path+"?do=thanks#answer")
		}
	}
	switch {
	case f.Err() != nil || f.Take(err):
		return p.again(w, r, http.StatusUnprocessableEntity, l, v, newer, f)
	case apperr.Is(err, apperr.Conflict):
		// Something changed since the page was opened. The newest version is
		// shown, with what was chosen where it is still there.
		if v, newer, e := p.version(r.Context(), l); e == nil {
			f.Summary = err.(*apperr.Error).Message
			return p.again(w, r, http.StatusConflict, l, v, newer, f)
		}
	}
	return err
}

// again shows the form with what was typed.
func (p pages) again(w http.ResponseWriter, r *http.Request, status int, l link.Link, v *quote.Version, newer bool, f *ui.Form) error {
	view, err := p.show(r, l, v, newer, f)
	if err != nil {
		return err
	}
	view.Asking = view.Answerable
	return p.kit.Render(w, r, status, quotePage(p.bare(r, view.Title), view))
}

// read takes the answers off the form. What can be answered no more is not
// asked for, and what was left open stays open.
func read(f *ui.Form, v *quote.Version) quote.AnswerInput {
	in := quote.AnswerInput{
		VersionID: quote.VersionID(f.ID("version_id")), SaidBy: f.Str("said_by", jobcard.MaxShort),
		Signature: f.Signature("signature").String(), Note: f.Text("note", jobcard.MaxNote),
	}
	f.Required("said_by")
	f.Call("said_by", "your name")
	f.Call("up_to", "if it turns out dearer")
	f.Call("jobs", "yes or no")
	for _, j := range v.Jobs {
		id := strconv.FormatInt(int64(j.LineID), 10)
		f.Call("answer."+id, j.Title)
		f.Call("understood."+id, j.Title)
		a := jobcard.Consent(f.OneOf("answer."+id, string(jobcard.Agreed), string(jobcard.Declined)))
		understood := f.Bool("understood." + id)
		if a == "" {
			continue
		}
		if a == jobcard.Declined && j.Dangerous() && !understood {
			f.Fail("understood."+id, "please tick that you have read this, or say yes to it")
		}
		in.Jobs = append(in.Jobs, quote.JobAnswer{LineID: j.LineID, Answer: a, Understood: understood})
	}
	if len(in.Jobs) == 0 {
		f.Fail("jobs", "say yes or no to one of them at least")
	}
	if f.Get("up_to") != "" {
		limit := ui.Read(f, "up_to", v.Garage.Money().Parse)
		in.UpTo = ptr(limit)
	}
	return in
}

func ptr(m money.Minor) *money.Minor { return &m }

// view shows the page of another purpose.
func (p pages) view(w http.ResponseWriter, r *http.Request, status int, l link.Link, f *ui.Form) error {
	v, ok := p.Views[l.Purpose]
	if !ok {
		return p.sorry(w, r, http.StatusNotFound, "There is nothing here yet", "Please ask us for what this link was to show.")
	}
	shown, err := v.Show(r.Context(), l)
	if err != nil {
		return err
	}
	page := p.bare(r, shown.Title)
	return p.kit.Render(w, r, status, viewPage(page, shown.Body(f), v.Paper != nil, r.URL.Path, p.reach(r.Context())))
}

func (p pages) answerView(w http.ResponseWriter, r *http.Request, who actor.Actor, l link.Link) error {
	v, ok := p.Views[l.Purpose]
	if !ok || v.Answer == nil {
		return apperr.New(apperr.NotFound, "there is nothing to answer here")
	}
	f := ui.ReadForm(r)
	done, err := v.Answer(r.Context(), who, l, f)
	switch {
	case err == nil && f.Err() == nil:
		p.kit.Flash(w, done)
		return ui.SeeOther(w, r, r.URL.Path)
	case f.Err() != nil || f.Take(err):
		return p.view(w, r, http.StatusUnprocessableEntity, l, f)
	}
	return err
}

// paper gives what a link is for as a PDF.
func (p pages) paper(w http.ResponseWriter, r *http.Request) error {
	l, ok, err := p.find(w, r, false)
	if err != nil || !ok {
		return err
	}
	set := p.Views[l.Purpose].Paper
	if l.Purpose == link.Quote {
		set = p.quotePaper
	}
	if set == nil {
		return p.sorry(w, r, http.StatusNotFound, "There is no paper of this", "The page itself can be printed.")
	}
	name, pdf, err := set(r.Context(), l)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="`+name+`"`)
	h.Set("Content-Length", strconv.Itoa(len(pdf)))
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(pdf) // a failure is a browser that went away
	return nil
}

// quotePaper is the version that a link leads to as a PDF. The link itself is
// not printed on it: paper is left lying about.
func (p pages) quotePaper(ctx context.Context, l link.Link) (string, []byte, error) {
	v, _, err := p.version(ctx, l)
	if err != nil {
		return "", nil, err
	}
	var b bytes.Buffer
	if err := v.Paper("").Write(&b); err != nil {
		return "", nil, fmt.Errorf("set the quote as PDF: %w", err)
	}
	return v.FileName(), b.Bytes(), nil
}

// photo shows a photo that belongs to the version behind the link, and no
// other.
func (p pages) photo(w http.ResponseWriter, r *http.Request) error {
	l, ok, err := p.find(w, r, false)
	if err != nil || !ok {
		return err
	}
	id, err := ui.PathID[photo.ID](r, "photo")
	if err != nil || l.Purpose != link.Quote {
		return p.sorry(w, r, http.StatusNotFound, "There is no such photo", "Go back to the page that you came from.")
	}
	v, _, err := p.version(r.Context(), l)
	if err != nil {
		return err
	}
	mine := false
	for _, x := range v.Photos {
		mine = mine || x.ID == int64(id)
	}
	if !mine {
		return p.sorry(w, r, http.StatusNotFound, "There is no such photo", "Go back to the page that you came from.")
	}
	ph, err := p.Photos.Of(r.Context(), l.Customer(""), id)
	if err != nil {
		return err
	}
	return p.send(r.Context(), w, ph, r.URL.Query().Get("small") != "")
}

func (p pages) send(ctx context.Context, w http.ResponseWriter, ph photo.Photo, small bool) error {
	body, size, err := p.Photos.Open(ctx, ph, small)
	if err != nil {
		return err
	}
	defer func() { _ = body.Close() }()
	h := w.Header()
	// The browser of whoever holds the link may keep it a while; nobody between.
	h.Set("Cache-Control", "private, max-age=3600")
	h.Set("Content-Type", "image/jpeg")
	h.Set("Content-Disposition", `inline; filename="photo-`+ui.Itoa(ph.ID)+`.jpg"`)
	h.Set("Content-Length", strconv.FormatInt(size, 10))
	w.WriteHeader(http.StatusOK)
	_, _ = io.Copy(w, body) // a failure is a browser that went away
	return nil
}
