package handoverweb

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"strconv"

	"github.com/a-h/templ"

	"rampside/internal/blob"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/photo"
	"rampside/internal/signature"
	"rampside/web/ui"
)

// madeView is a handover as it was made.
type madeView struct {
	Title, Card, Mark, Car, PDF, Printed string
	Facts                                [][2]string
	Unsafe, Done, NotDone, Found         []itemView
	Returned                             []string
	Due                                  [][2]string
	Photos                               []tickView
	Note                                 string
	Unsettled                            []string
	Anyway                               string
	Told, Said                           string
	Signature                            signature.Drawn
	// What follows is the garage's business.
	Form         *ui.Form
	Copies       string
	Name, Email  string
	Mails        bool
	WhyNot       string
	Given        []copyView
	CustomerPage bool
}

type copyView struct{ ID, Words, Link string }

func newMadeView(h handover.Handover, customer bool) *madeView {
	v := &madeView{
		Title: "Handover of card " + ui.Itoa(h.CardID), Card: "/cards/" + ui.Itoa(h.CardID), Mark: h.Mark, Car: h.Car, PDF: madePath(h.ID) + "/pdf",
		Unsafe: items(h.Of(handover.Unsafe)), Done: items(h.Of(handover.Done)), NotDone: items(h.Of(handover.NotDone)), Found: items(h.Of(handover.Found)),
		Note: h.Note, Copies: madePath(h.ID) + "/copies", Name: h.Customer, CustomerPage: customer,
	}
	const moment = "Monday 2 January 2006, 15:04"
	add := func(name, value string) {
		if value != "" {
			v.Facts = append(v.Facts, [2]string{name, value})
		}
	}
	v.Printed = h.At.In(h.Zone()).Format("2 January 2006, 15:04")
	add("Handed over", h.At.In(h.Zone()).Format(moment))
	add("To", h.GivenTo)
	add("By", h.ByName)
	add("Mileage in", h.Miles(h.MileageIn))
	add("Mileage out", h.Miles(h.MileageOut))
	add("Keys", h.Keys)
	for _, i := range h.Of(handover.Returned) {
		v.Returned = append(v.Returned, i.What)
	}
	for _, i := range h.Of(handover.Due) {
		v.Due = append(v.Due, [2]string{i.What, h.DueWords(i)})
	}
	if !customer { // why it went all the same is the garage's own business
		v.Unsettled, v.Anyway = h.Unsettled, h.Anyway
		for _, i := range h.Of(handover.Photo) {
			v.Photos = append(v.Photos, tickView{Value: "/photos/" + ui.Itoa(i.PhotoID), Small: "/photos/" + ui.Itoa(i.PhotoID) + "/small", Label: first(i.What, "Photo")})
		}
	}
	if a := h.Acknowledged; a != nil {
		v.Told, v.Signature = a.Words, a.Signature
		v.Said = a.Name + ", " + a.At.In(h.Zone()).Format(moment) + ", " + a.How
	}
	return v
}

func (p pages) show(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[handover.ID](r, "handover")
	if err != nil {
		return err
	}
	return p.madePage(w, r, http.StatusOK, id, nil)
}

func (p pages) madePage(w http.ResponseWriter, r *http.Request, status int, id handover.ID, f *ui.Form) error {
	who := ui.Who(r.Context())
	h, err := p.Hands.Read(r.Context(), who, id)
	if err != nil {
		return err
	}
	copies, err := p.Hands.Copies(r.Context(), who, h)
	if err != nil {
		return err
	}
	v := newMadeView(h, false)
	v.Form, v.Mails, v.WhyNot = f, copies.Mails, copies.WhyNot
	if copies.Mails {
		v.Email = copies.Email
	}
	for _, l := range copies.Links {
		c := copyView{ID: "link-" + ui.Itoa(l.ID), Words: "For " + l.GivenTo + ", opened " + times(l.Opened)}
		if over := l.Over(p.kit.Now()); over != "" {
			c.Words += ", " + string(over)
		} else if m, err := p.Links.Token(r.Context(), who, l.ID); err == nil {
			c.Link = p.kit.PublicURL(m.Path())
		}
		v.Given = append(v.Given, c)
	}
	for _, l := range copies.Letters {
		v.Given = append(v.Given, copyView{Words: "Letter to " + l.To + ": " + string(l.State)})
	}
	page := p.kit.Page(r, v.Title, "/diary")
	page.OwnHead, page.Wide = true, true
	return p.kit.Render(w, r, status, madeTemplate(page, v))
}

func times(n int) string {
	switch n {
	case 0:
		return "by nobody yet"
	case 1:
		return "once"
	}
	return strconv.Itoa(n) + " times"
}

func (p pages) send(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[handover.ID](r, "handover")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := handover.SendInput{ID: id, Name: f.Str("name", handover.MaxShort), Address: f.Str("address", handover.MaxShort)}
	f.Required("name")
	var sent handover.Sent
	if err = f.Err(); err == nil {
		var pictures map[int64][]byte
		if pictures, err = p.picturesOf(r.Context(), id); err == nil {
			sent, err = p.Hands.Send(r.Context(), who, in, pictures)
		}
	}
	flash := "A link was made"
	if sent.Mailed {
		flash = "A letter goes out to " + in.Address
	}
	return p.reply(w, r, f, madePath(id)+"#copies", flash, err, func(status int) error {
		return p.madePage(w, r, status, id, f)
	})
}

func (p pages) picturesOf(ctx context.Context, id handover.ID) (map[int64][]byte, error) {
	h, err := p.Hands.Read(ctx, ui.Who(ctx), id)
	if err != nil {
		return nil, err
	}
	return p.pictures(ctx, h), nil
}

// pictures reads the small version of each photo.
func (p pages) pictures(ctx context.Context, h handover.Handover) map[int64][]byte {
	return h.Pictures(func(file, small blob.Key) (io.ReadCloser, error) {
		body, _, err := p.Photos.Open(ctx, photo.Photo{Blob: file, Thumb: small}, true)
		return body, err
	})
}

func (p pages) showPDF(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[handover.ID](r, "handover")
	if err != nil {
		return err
	}
	h, err := p.Hands.Read(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	return p.pdf(w, r, h)
}

// latestPDF is the last handover of a card.
func (p pages) latestPDF(w http.ResponseWriter, r *http.Request) error {
	card, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	h, err := p.Hands.OfCard(r.Context(), ui.Who(r.Context()), card)
	if err != nil {
		return err
	}
	return p.pdf(w, r, h)
}

func (p pages) pdf(w http.ResponseWriter, r *http.Request, h handover.Handover) error {
	var b bytes.Buffer
	if err := h.Paper("", p.pictures(r.Context(), h)).Write(&b); err != nil {
		return err
	}
	return sendPDF(w, h.FileName(), b.Bytes())
}

func sendPDF(w http.ResponseWriter, name string, doc []byte) error {
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="`+name+`"`)
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Length", strconv.Itoa(len(doc)))
	_, _ = w.Write(doc) // a failure is a browser that went away
	return nil
}

// Customer is a handover behind a link.
type Customer struct{ pages }

// ForCustomer makes the customer's copy.
func ForCustomer(kit *ui.Kit, s Services) Customer { return Customer{pages{kit, s}} }

// Show is the page: its title, and what stands beneath it.
func (c Customer) Show(ctx context.Context, l link.Link) (title string, body templ.Component, err error) {
	h, err := c.Hands.ReadBehind(ctx, l)
	if err != nil {
		return "", nil, err
	}
	return "What was done to your car", handedOver(newMadeView(h, true)), nil
}

// Paper is the same as a PDF.
func (c Customer) Paper(ctx context.Context, l link.Link) (name string, pdf []byte, err error) {
	h, err := c.Hands.ReadBehind(ctx, l)
	if err != nil {
		return "", nil, err
	}
	var b bytes.Buffer
	err = h.Paper("", c.pictures(ctx, h)).Write(&b)
	return h.FileName(), b.Bytes(), err
}
