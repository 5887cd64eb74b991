package quoteweb

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type cardView struct {
	Form     *ui.Form
	Making   bool
	Card     string
	Path     string // of the card
	Quotes   string // of this page
	Mark     string
	Car      string
	Customer string
	Stage    string
	Now      string // what the card comes to
	Differs  string
	Trouble  string
	Versions []briefView
	Lines    []makeLine
	LastDay  string
	Last     bool // there is a version already
	Live     bool
	With     string
}

type briefView struct {
	ID       string
	Path     string
	Title    string
	Mark     string
	Notes    []string
	Gross    string
	Net      string
	Compare  string // with the version before it; empty for the first
	Current  bool
	May      bool // it can be answered and sent
	Name     string
	SendPath string
}

type makeLine struct {
	Field string
	Title string
	Price string
	Waits string
	Said  string
}

func (p pages) card(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	return p.cardSheet(w, r, http.StatusOK, id, r.URL.Query().Get("do") == "make", nil)
}

func (p pages) cardSheet(w http.ResponseWriter, r *http.Request, status int, id jobcard.CardID, making bool, f *ui.Form) error {
	o, err := p.quotes.Overview(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	v := newCardView(o, p.kit.Now(), making, f)
	return p.kit.Render(w, r, status, cardPage(p.frame(r, "Quotes of card "+v.Card, id), v))
}

func newCardView(o *quote.Overview, now time.Time, making bool, f *ui.Form) *cardView {
	pen := penOfSettings(o.Settings)
	v := &cardView{
		Form: f, Making: making || len(o.Versions) == 0, Card: ui.Itoa(o.CardID), Path: cardPath(o.CardID), Quotes: CardPath(o.CardID),
		Mark: o.Mark, Car: o.Car, Customer: o.Customer.Name, Stage: string(o.Stage), Last: len(o.Versions) > 0, Live: o.Stage.Live(),
		Now: pen.money(o.Totals.Gross), Trouble: o.Trouble, With: pen.with,
		LastDay: o.Settings.Today(now).AddDays(quote.UsualDays).String(),
	}
	if o.Differs && v.Live {
		v.Differs = "The card comes to " + pen.money(o.Totals.Gross) + pen.with + " by now, and its lines or prices are not those of version " +
			strconv.Itoa(o.Versions[0].No) + ": make a new version before it is answered."
	}
	for _, l := range o.Lines {
		m := makeLine{Field: "if_waits." + ui.Itoa(l.LineID), Title: l.Title, Price: pen.money(l.Gross), Waits: l.IfWaits, Said: string(l.Consent)}
		if !l.MustDo {
			m.Title += ", if there is time"
		}
		if f != nil {
			f.Call(m.Field, "if it waits, "+l.Title)
		}
		v.Lines = append(v.Lines, m)
	}
	for i, b := range o.Versions {
		v.Versions = append(v.Versions, pen.brief(b, i, len(o.Versions), o.CardID))
	}
	return v
}

func (p pen) brief(b quote.Brief, i, all int, card jobcard.CardID) briefView {
	out := briefView{
		ID: ui.Itoa(b.ID), Path: versionPath(b.ID), Name: b.Name(), Mark: string(b.State),
		Title: b.Kind.Title() + " " + b.Name(), Gross: p.money(b.Gross), Net: p.money(b.Net),
		Current: i == 0, May: b.State == quote.Waiting || b.State == quote.Answered,
	}
	last := workday.Of(b.ValidUntil.Add(-time.Second), p.loc)
	out.Notes = append(out.Notes, "issued "+p.when(b.IssuedAt)+", to be agreed to until "+last.Long(), stateWords(b.State, b.Open, b.Agreed, b.Declined))
	switch {
	case b.Sent == 0:
		out.Notes = append(out.Notes, "not sent yet")
	default:
		s := "sent " + p.when(b.LastSent)
		if b.Sent > 1 {
			s = fmt.Sprintf("sent %d times, last %s", b.Sent, p.when(b.LastSent))
		}
		out.Notes = append(out.Notes, s)
	}
	if b.Opened > 0 {
		out.Notes = append(out.Notes, "opened, last "+p.when(b.LastOpened))
	}
	if i+1 < all {
		out.Compare = fmt.Sprintf("%s/compare?a=%d&b=%d", CardPath(card), b.No-1, b.No)
	}
	return out
}

func (p pages) make(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := quote.MakeInput{CardID: id, Kind: quote.Kind(f.OneOf("kind", string(quote.Estimate), string(quote.Fixed))), Note: f.Text("note", quote.MaxNote)}
	if f.Get("kind") == "" {
		f.Fail("kind", "say whether this is an estimate or a fixed quotation")
	}
	if day := f.Day("last_day", time.UTC); !day.IsZero() {
		in.LastDay = workday.FromDate(day)
	}
	in.IfWaits = map[jobcard.LineID]string{}
	for name := range f.Values {
		if line, ok := strings.CutPrefix(name, "if_waits."); ok {
			n, err := strconv.ParseInt(line, 10, 64)
			if err != nil || n < 1 || len(in.IfWaits) > jobcard.MaxLines {
				continue
			}
			if words := f.Str(name, quote.MaxWait); words != "" {
				in.IfWaits[jobcard.LineID(n)] = words
			}
		}
	}
	var made quote.Made
	if err = f.Err(); err == nil {
		made, err = p.quotes.Make(r.Context(), who, in)
	}
	return p.reply(w, r, f, versionPath(made.VersionID), fmt.Sprintf("Version %d is issued, and stays as it is", made.No), err, func(status int) error {
		return p.cardSheet(w, r, status, id, true, f)
	})
}
