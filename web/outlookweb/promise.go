package outlookweb

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"rampside/internal/garage"
	"rampside/internal/outlook"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type promiseView struct {
	Form    *ui.Form
	Options []ui.Option
	Chosen  string
	Day     string
	Off     string
	Safe    string
	BookIn  string
	Rows    []offerRow
	Level   string
}

type offerRow struct{ Day, Promise, Fits, Booked, Note string }

// promise looks for a promise that can be kept to a car that is not booked yet:
// ?operation=3&operation=7&day=2026-11-30.
func (p pages) promise(w http.ResponseWriter, r *http.Request) error {
	who := ui.Who(r.Context())
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	lists, err := p.garage.Lists(r.Context(), who)
	if err != nil {
		return err
	}
	v := &promiseView{Form: f}
	for _, o := range lists.Operations {
		v.Options = append(v.Options, ui.Option{Value: ui.Itoa(o.ID), Label: o.Name})
	}
	status := http.StatusOK
	ids := f.IDs("operations", 30)
	if f.Get("day") != "" {
		v.Day = f.Get("day")
	}
	day := workday.Day{}
	if v.Day != "" {
		day = ui.Read(f, "day", workday.Parse)
	}
	if len(ids) > 0 && f.Err() == nil {
		in := outlook.OfferInput{From: day}
		for _, id := range ids {
			in.Operations = append(in.Operations, garage.OperationID(id))
		}
		o, err := p.looks.Offers(r.Context(), who, in)
		if err != nil && !f.Take(err) {
			return err
		}
		if err == nil {
			fillOffers(v, o, ids)
		}
	}
	if f.Err() != nil {
		status = http.StatusUnprocessableEntity
	}
	page := p.kit.Page(r, "When could another car be promised?", Path)
	return p.kit.Render(w, r, status, promisePage(page, v))
}

func fillOffers(v *promiseView, o outlook.Offers, ids []int64) {
	v.Off = o.Off
	loc := o.Garage.Location()
	v.Level = fmt.Sprintf("Kept %s, when the car is taken last on its day.", percent(o.Level))
	clock := func(t time.Time) string { return workday.FormatClock(workday.ClockOf(roundUp(t), loc)) }
	for _, d := range o.Days {
		row := offerRow{Day: d.Day.Short(), Fits: outlook.InTwenty(outlook.Twentieths(d.Fits)), Booked: cars(d.Booked), Promise: "not that day"}
		if !d.Promise.Beyond && workday.Of(d.Promise.At, loc) == d.Day {
			row.Promise = clock(d.Promise.At)
		}
		switch {
		case d.Lost > 0:
			row.Note = fmt.Sprintf("would cost the others %s promises", tenth(d.Lost))
		case d.Safe:
			row.Note = "safe"
		}
		v.Rows = append(v.Rows, row)
	}
	s, ok := o.SafePromise()
	if !ok {
		if v.Off == "" {
			v.Safe = "None of these days can promise it without taking from the others. Look at later days, or leave something off."
		}
		return
	}
	v.Safe = fmt.Sprintf("%s, %s.", s.Day.Long(), clock(s.Promise.At))
	q := url.Values{"day": {s.Day.String()}}
	v.BookIn = "/book-in?" + q.Encode()
}

func cars(n int) string {
	if n == 1 {
		return "1 car"
	}
	return ui.Itoa(int64(n)) + " cars"
}

// roundUp is a promise as one gives it: to the next ten minutes.
func roundUp(t time.Time) time.Time {
	if r := t.Truncate(10 * time.Minute); !r.Equal(t) {
		return r.Add(10 * time.Minute)
	}
	return t
}

func (v *promiseView) chosen(id string) bool { return slices.Contains(v.Form.Values["operations"], id) }
