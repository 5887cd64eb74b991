package billweb

import (
	"net/http"

	"rampside/internal/bill"
	"rampside/web/ui"
)

func (p pages) pdf(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[bill.ID](r, "bill")
	if err != nil {
		return err
	}
	whole, err := p.bills.Whole(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	doc, err := whole.PDF()
	if err != nil {
		return err
	}
	serve(w, "application/pdf", "inline", whole.FileName()+".pdf", doc)
	return nil
}

func (p pages) xml(w http.ResponseWriter, r *http.Request) error { return p.electronic(w, r, false) }

func (p pages) outsideXML(w http.ResponseWriter, r *http.Request) error {
	return p.electronic(w, r, true)
}

// electronic serves the bill as an electronic invoice, or its page with what is
// still missing for one.
func (p pages) electronic(w http.ResponseWriter, r *http.Request, outside bool) error {
	id, err := ui.PathID[bill.ID](r, "bill")
	if err != nil {
		return err
	}
	e, err := p.bills.Electronic(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	if len(e.Lacks) > 0 {
		return p.billSheet(w, r, http.StatusConflict, id, doing{verb: "electronic"}, nil)
	}
	doc, err := e.File(outside)
	if err != nil {
		return err
	}
	at := 0
	if outside {
		at = 1
	}
	serve(w, "application/xml", "attachment", bill.SafeName(e.Docs[at].Number)+".xml", doc)
	return nil
}

func serve(w http.ResponseWriter, kind, how, name string, doc []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", how+`; filename="`+name+`"`)
	h.Set("Cache-Control", "no-store")
	_, _ = w.Write(doc) // a failure is a browser that went away
}
