package quoteweb

import (
	"fmt"
	"net/http"
	"time"

	"rampside/internal/live"
	"rampside/internal/quote"
	"rampside/web/ui"
)

// OutPath is the page of all quotes that are out.
const OutPath = "/quotes"

type outView struct{ Waiting, Over []outRow }

type outRow struct {
	Mark, Title, Path, Answers string
	Plate, Car, Who, Phone     string
	Card, CardPath             string
	Gross, With                string
	Notes                      []string
}

func (p pages) out(w http.ResponseWriter, r *http.Request) error {
	waiting, over, set, err := p.quotes.AllOut(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	pen, now, v := penOfSettings(set), p.kit.Now(), &outView{}
	for _, o := range waiting {
		v.Waiting = append(v.Waiting, pen.out(o, now))
	}
	for _, o := range over {
		v.Over = append(v.Over, pen.out(o, now))
	}
	page := p.kit.Page(r, "Quotes", "/diary").Follow(r, live.All)
	page.Wide = true
	return p.kit.Render(w, r, http.StatusOK, outPage(page, v))
}

func (p pen) out(o quote.Out, now time.Time) outRow {
	row := outRow{
		Mark: string(o.State), Title: o.Kind.Title() + " " + o.Name(), Path: versionPath(o.ID), Plate: o.Mark, Car: o.Car, Who: o.Customer, Phone: o.Phone,
		Card: ui.Itoa(o.CardID), CardPath: cardPath(o.CardID), Gross: p.money(o.Gross), With: p.with,
	}
	if o.Open > 0 && !now.After(o.ValidUntil) && o.Stage.Live() {
		row.Answers = row.Path + "/answers"
	}
	add := func(format string, args ...any) { row.Notes = append(row.Notes, fmt.Sprintf(format, args...)) }
	switch {
	case o.SaidBy != "":
		add("%s answered %s: %d yes, %d no, %d open", o.SaidBy, p.when(o.SaidAt), o.Agreed, o.Declined, o.Open)
	case o.Open == 0:
		add("answered on the card: %d yes, %d no", o.Agreed, o.Declined)
	default:
		add("no answer yet")
	}
	switch {
	case o.Sent == 0:
		add("issued %s, not sent", p.when(o.IssuedAt))
	case o.Opened > 0:
		add("sent %s, opened, last %s", p.when(o.LastSent), p.when(o.LastOpened))
	default:
		add("sent %s, not opened", p.when(o.LastSent))
	}
	if !o.Stage.Live() {
		add("the card is %s", o.Stage)
	}
	return row
}
