package quoteweb

import (
	"net/http"

	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/quote"
	"rampside/web/ui"
)

type sendView struct {
	Form    *ui.Form
	Title   string
	Path    string
	Quotes  string
	Why     string
	May     bool
	Name    string
	Email   string
	Words   string
	Ways    []ui.Option
	Way     string
	NoMail  string
	Latest  string
	Total   string
	Already []sendingView
}

func (p pages) sendForm(w http.ResponseWriter, r *http.Request) error {
	v, err := p.read(r)
	if err != nil {
		return err
	}
	return p.sendSheet(w, r, http.StatusOK, v, nil)
}

func (p pages) sendSheet(w http.ResponseWriter, r *http.Request, status int, v *quote.Version, f *ui.Form) error {
	pen := penOf(v)
	view := &sendView{
		Form: f, Title: "Send " + v.Title(), Path: versionPath(v.ID), Quotes: CardPath(v.CardID), Name: v.Customer.Name, Email: v.Customer.Email,
		Total: pen.money(v.Totals.Gross) + pen.with, NoMail: p.mail.WhyNot(),
	}
	view.Why, view.May = v.Answerable(p.kit.Now())
	if v.Latest != v.ID {
		view.Latest = versionPath(v.Latest)
	}
	if p.mail.Sends() {
		view.Ways = append(view.Ways, ui.Option{Value: string(quote.ByMail), Label: "By e-mail", Hint: "a letter with the quote as PDF, and a link to answer it"})
	}
	view.Ways = append(view.Ways,
		ui.Option{Value: string(quote.ByLink), Label: "As a link", Hint: "to be sent from your own telephone or mail program"},
		ui.Option{Value: string(quote.OnPaper), Label: "On paper", Hint: "printed, and handed over or posted"})
	view.Way = view.Ways[0].Value
	for _, s := range v.Sendings {
		one := sendingView{}
		one.Head, one.Notes = pen.sendingWords(s)
		view.Already = append(view.Already, one)
	}
	return p.kit.Render(w, r, status, sendPage(p.frame(r, view.Title, v.CardID), view))
}

func (p pages) send(w http.ResponseWriter, r *http.Request) error {
	v, err := p.read(r)
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := quote.SendInput{
		VersionID: v.ID, Way: quote.Way(f.OneOf("way", string(quote.ByMail), string(quote.ByLink), string(quote.OnPaper))),
		ToName: f.Str("to_name", jobcard.MaxShort), Address: f.Str("address", 254), Words: f.Text("words", quote.MaxLetter),
	}
	f.Required("way", "to_name")
	var sent quote.Sent
	if err = f.Err(); err == nil {
		sent, err = p.quotes.Send(r.Context(), who, in)
	}
	return p.reply(w, r, f, afterSending(v, in.Way, sent.LinkID), sentWords(in.Way), err, func(status int) error {
		return p.sendSheet(w, r, status, v, f)
	})
}

// afterSending is where the desk goes on: to the link that it passes on, or to
// the version.
func afterSending(v *quote.Version, way quote.Way, id link.ID) string {
	if way == quote.ByLink {
		return versionPath(v.ID) + "?link=" + ui.Itoa(id)
	}
	return versionPath(v.ID)
}

func sentWords(way quote.Way) string {
	switch way {
	case quote.ByMail:
		return "The letter is on its way"
	case quote.ByLink:
		return "Here is the link: pass it on"
	}
	return "Noted that it went out on paper"
}
