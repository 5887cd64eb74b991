package billweb

import (
	"bytes"
	"net/http"
	"strings"

	"rampside/internal/bill"
	"rampside/internal/paper"
	"rampside/web/ui"
)

// paper sets a document as PDF.
func (p pages) paper(v docView, d bill.Document) ([]byte, error) {
	out := paper.Bill{Kind: v.Kind, Number: v.Number, Corrects: v.Corrects, Pay: v.Pay, Notes: v.Notes}
	out.Top = paper.Top{
		At:   d.IssuedAt,
		From: paper.Party{Name: v.From.Name, Address: strings.Join(v.From.Address, "\n"), Phone: v.From.Phone, Email: v.From.Email, VATNumber: v.From.VAT},
		To:   paper.Party{Name: v.To.Name, Address: strings.Join(v.To.Address, "\n"), VATNumber: v.To.VAT},
	}
	for _, f := range v.Facts {
		out.Facts = append(out.Facts, paper.Fact{Label: f[0], Value: f[1]})
	}
	for _, r := range v.Rows {
		out.Rows = append(out.Rows, paper.Row{What: r.Text, Details: r.Details, Qty: r.Qty, Each: r.Each, Tax: r.VAT, Net: r.Net})
	}
	amounts := func(all []figure) (out []paper.Amount) {
		for _, f := range all {
			out = append(out, paper.Amount{Label: f.Label, Value: f.Value, Strong: f.Strong})
		}
		return out
	}
	out.Totals, out.Paid = amounts(v.Totals), amounts(v.Paid)
	for _, t := range v.Taxes {
		out.Taxes = append(out.Taxes, paper.Tax{Label: t.Label, Net: t.Net, VAT: t.VAT})
	}
	var b bytes.Buffer
	err := out.Write(&b)
	return b.Bytes(), err
}

func (p pages) pdf(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[bill.ID](r, "bill")
	if err != nil {
		return err
	}
	who := ui.Who(r.Context())
	whole, err := p.bills.Whole(r.Context(), who, id)
	if err != nil {
		return err
	}
	doc, err := p.paper(newBillView(whole, who, doing{}, nil).Doc, whole.Document)
	if err != nil {
		return err
	}
	serve(w, "application/pdf", "inline", fileName(whole.Document)+".pdf", doc)
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
	serve(w, "application/xml", "attachment", safeName(e.Docs[at].Number)+".xml", doc)
	return nil
}

func serve(w http.ResponseWriter, kind, how, name string, doc []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", how+`; filename="`+name+`"`)
	h.Set("Cache-Control", "no-store")
	_, _ = w.Write(doc) // a failure is a browser that went away
}

func fileName(d bill.Document) string { return safeName(string(d.Kind) + " " + d.Number) }

// safeName is a name for a file that every system takes.
func safeName(s string) string {
	return strings.Map(func(c rune) rune {
		switch {
		case c >= '0' && c <= '9', c >= 'A' && c <= 'Z', c >= 'a' && c <= 'z', c == '-':
			return c
		}
		return '-'
	}, s)
}
