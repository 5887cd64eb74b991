package storesweb

import (
	"net/http"
	"net/url"
	"strconv"

	"rampside/internal/actor"
	"rampside/internal/money"
	"rampside/internal/stores"
	"rampside/web/ui"
)

type arrivalsView struct {
	Tabs    []tab
	Form    *ui.Form // what a form came back with
	Find    *ui.Form // the number looked for
	Number  string
	Found   []arrivalRow
	Orders  []comingView
	Recent  []recentRow
	Do      doing
	May     bool // book in
	Costs   bool
	Cut     bool
	Printed string
}

// comingView is one order with what is still to come of it.
type comingView struct {
	Head, Path, ID string
	Due            string
	Late           bool
	Rows           []arrivalRow
	All            []arrivalRow // for the form that books the whole of it in
}

type arrivalRow struct {
	orderRow
	Label    int
	Left     string
	Expected string
}

type recentRow struct {
	Words, Path, Order, When string
	Mark                     string
}

func (p pages) arrivals(w http.ResponseWriter, r *http.Request) error {
	find := ui.ReadQuery(r)
	number := find.Str("number", stores.MaxNumber)
	status := http.StatusOK
	if find.Err() != nil {
		status, number = http.StatusUnprocessableEntity, ""
	}
	return p.showArrivals(w, r, status, number, readDoing(r), find, nil)
}

func (p pages) showArrivals(w http.ResponseWriter, r *http.Request, status int, number string, d doing, find, f *ui.Form) error {
	who := ui.Who(r.Context())
	a, err := p.stores.Arrivals(r.Context(), who, number)
	if err != nil {
		return err
	}
	v := newArrivalsView(a, newPen(a.Garage, a.Now), who, d, find, f)
	return p.kit.Render(w, r, status, arrivalsPage(p.frame(r, "Arrivals"), v))
}

func newArrivalsView(a stores.Arrivals, pen pen, who actor.Actor, d doing, find, f *ui.Form) *arrivalsView {
	v := &arrivalsView{
		Tabs: tabs(arrivalsPath), Form: f, Find: find, Number: a.Number, Do: d, May: who.May(actor.Work), Costs: a.Costs, Cut: a.Cut,
		Printed: a.Now.In(pen.loc).Format("2 January 2006, 15:04"),
	}
	if v.Form == nil {
		v.Form = ui.NewForm(nil)
	}
	rows := newLabels(f, "line", "line")
	row := func(l stores.Line, label int) arrivalRow {
		out := arrivalRow{orderRow: pen.orderRow(l, false), Label: label, Left: qty(l.Left())}
		if a.Costs {
			out.Expected = money.FormatPlain(money.PartNet(l.Left(), l.Cost))
		}
		return out
	}
	for _, l := range a.Found {
		v.Found = append(v.Found, row(l, rows.of("line", ui.Itoa(l.ID))))
	}
	orders := a.Orders
	if len(a.Found) > 0 { // whoever has the box in hand wants its line alone
		orders = nil
	}
	for _, o := range orders {
		c := comingView{
			Head: "Order " + ui.Itoa(o.ID) + ", " + o.SupplierName, Path: orderPath(o.ID), ID: "order-" + ui.Itoa(o.ID), Due: pen.when(o.DueAt),
			Late: o.DueAt.Before(a.Now),
		}
		for _, l := range o.Lines {
			c.Rows = append(c.Rows, row(l, rows.of("line", ui.Itoa(l.ID))))
		}
		if len(c.Rows) > 1 {
			for _, l := range o.Lines {
				c.All = append(c.All, row(l, rows.next))
				rows.next++
			}
		}
		v.Orders = append(v.Orders, c)
	}
	for _, x := range a.Recent {
		r := recentRow{Words: qty(x.Qty) + " × " + x.Name, Path: orderPath(x.OrderID), Order: "order " + ui.Itoa(x.OrderID), When: pen.when(x.At), Mark: "arrived"}
		if x.Number != "" {
			r.Words += " " + x.Number
		}
		if x.Found != "right" {
			r.Mark = x.Found
			r.Words += ": " + x.Note
		}
		if x.By != "" {
			r.When += ", " + x.By
		}
		v.Recent = append(v.Recent, r)
	}
	return v
}

// arrive books in what one of the forms says: a line, or all of an order.
func (p pages) arrive(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	var in stores.ArriveInput
	var rows []int
	for _, row := range f.Rows("line", stores.MaxLines) {
		in.Lines = append(in.Lines, stores.CameLine{LineID: stores.LineID(row.ID("line")), Version: int(row.Version()), Qty: row.Quantity("qty")})
		rows = append(rows, rowLabel(row))
	}
	var done stores.Booked
	if err = f.Err(); err == nil {
		done, err = p.stores.Arrive(r.Context(), who, in)
	}
	return p.reply(w, r, f, arrivalsPath, bookedWords(done), atRows(err, "", rows), func(status int) error {
		number := f.Get("number")
		return p.showArrivals(w, r, status, ui.NewForm(url.Values{"n": {number}}).Str("n", stores.MaxNumber), doing{}, ui.NewForm(url.Values{"number": {number}}), f)
	})
}

// bookedWords says what became of what was booked in. It travels in a cookie,
// so it names parts and cards and nobody.
func bookedWords(b stores.Booked) string {
	if len(b.Lines) != 1 {
		return "Booked in: " + things(len(b.Lines))
	}
	l := b.Lines[0]
	s := "Booked in: " + qty(l.Qty) + " × " + l.Name
	switch {
	case l.Aside != "":
		s += ". Put it aside: " + l.Aside
	case l.On != "":
		s += ", for card " + ui.Itoa(l.CardID) + ", " + l.On
	case !l.Whole:
		s += ", the rest is still to come"
	}
	if len(s) > 200 {
		s = "Booked in: " + things(1)
	}
	return s
}

// wrong books in what is not what was ordered, or is faulty.
func (p pages) wrong(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := lineTarget(r)
	if err != nil {
		return err
	}
	set, err := p.garage(r)
	if err != nil {
		return err
	}
	if _, err := p.stores.OrderOf(r.Context(), who, id); err != nil {
		return err
	}
	in := stores.WrongInput{
		LineID: id, Version: int(f.Version()), Qty: f.Quantity("qty"), Kind: ui.OneOf(f, "kind", stores.WrongPart, stores.Faulty),
		Number: f.Str("number", stores.MaxNumber), Why: f.Str("why", stores.MaxShort), DueAt: f.When("due_at", set.Location()),
	}
	if f.Get("expected") != "" {
		m := f.Money("expected")
		in.Expected = &m
	}
	f.Required("kind", "why", "qty")
	if err = f.Err(); err == nil {
		_, err = p.stores.Wrong(r.Context(), who, in)
	}
	return p.reply(w, r, f, returnsPath, "Written up: it goes back, and the right one is still to come", err, func(status int) error {
		return p.showArrivals(w, r, status, "", doing{"wrong", int64(id)}, ui.NewForm(nil), f)
	})
}

func fieldName(list string, n int, name string) string {
	return list + "." + strconv.Itoa(n) + "." + name
}
