package billweb

import (
	"context"
	"net/http"

	"github.com/a-h/templ"

	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/link"
	"rampside/web/ui"
)

// linkView is a link that was made to a document; Address is empty when it
// opens nothing any more.
type linkView struct{ ID, Words, Address string }

// link makes a link to a document, to be passed on to the customer by hand.
func (p pages) link(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := billTarget(r)
	if err != nil {
		return err
	}
	_, err = p.bills.Linked(r.Context(), who, id)
	return p.reply(w, r, f, billPath(id)+"#links", "A link was made", err, func(status int) error {
		return p.billSheet(w, r, status, id, doing{}, f)
	})
}

// linksOf are the links to a document, for whoever may pass them on.
func (p pages) linksOf(ctx context.Context, who actor.Actor, id bill.ID) ([]linkView, error) {
	all, err := p.bills.Links(ctx, who, id)
	if err != nil {
		return nil, err
	}
	var out []linkView
	for _, l := range all {
		v := linkView{ID: "link-" + ui.Itoa(l.ID), Words: "For " + l.GivenTo + ", opened " + times(l.Opened)}
		if over := l.Over(p.kit.Now()); over != "" {
			v.Words += ", " + string(over)
		} else if m, err := p.links.Token(ctx, who, l.ID); err == nil {
			v.Address = p.kit.PublicURL(m.Path())
		}
		out = append(out, v)
	}
	return out, nil
}

func times(n int) string {
	switch n {
	case 0:
		return "by nobody yet"
	case 1:
		return "once"
	}
	return ui.Itoa(int64(n)) + " times"
}

// Customer is a document behind a link.
type Customer struct{ bills *bill.Service }

// ForCustomer makes the customer's copy.
func ForCustomer(bills *bill.Service) Customer { return Customer{bills} }

// Show is the page: its title, and what stands beneath it.
func (c Customer) Show(ctx context.Context, l link.Link) (title string, body templ.Component, err error) {
	d, err := c.bills.ReadBehind(ctx, l)
	if err != nil {
		return "", nil, err
	}
	return d.Title() + " " + d.Number, document(d.Printed()), nil
}

// Paper is the same as a PDF.
func (c Customer) Paper(ctx context.Context, l link.Link) (name string, pdf []byte, err error) {
	d, err := c.bills.ReadBehind(ctx, l)
	if err != nil {
		return "", nil, err
	}
	pdf, err = d.PDF()
	return d.FileName() + ".pdf", pdf, err
}
