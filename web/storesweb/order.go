package storesweb

import (
	"net/http"
	"net/url"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/stores"
	"rampside/web/ui"
)

type orderView struct {
	Tabs     []tab
	Form     *ui.Form
	Do       doing
	Title    string
	Path     string
	Facts    [][2]string
	Text     string
	MailTo   string
	PDF      string
	Rows     []orderRow
	Net      string
	Charges  string
	Costs    bool
	May      bool
	Printed  string
	TextRows int
}

type orderRow struct {
	ID      int64
	Anchor  string
	Mark    string
	Name    string
	Number  string
	Qty     string
	For     string
	Path    string
	Plate   string
	Notes   []string
	Cost    string
	Net     string
	Open    bool
	Version int64
	Due     string // as a field has it
}

func (p pages) showOrder(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[stores.OrderID](r, "order")
	if err != nil {
		return err
	}
	return p.orderSheet(w, r, http.StatusOK, id, readDoing(r), nil)
}

// orderSheet renders an order with one of its forms open.
func (p pages) orderSheet(w http.ResponseWriter, r *http.Request, status int, id stores.OrderID, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	o, set, err := p.stores.OrderBy(r.Context(), who, id)
	if err != nil {
		return err
	}
	v := newOrderView(o, newPen(set, p.kit.Now()), who, d, f)
	return p.kit.Render(w, r, status, orderPage(p.frame(r, v.Title), v))
}

func orderPath(id stores.OrderID) string { return ordersPath + "/" + ui.Itoa(id) }

func newOrderView(o stores.Order, pen pen, who actor.Actor, d doing, f *ui.Form) *orderView {
	v := &orderView{
		Tabs: tabs(""), Form: f, Do: d, Title: "Order " + ui.Itoa(o.ID) + ", " + o.SupplierName, Path: orderPath(o.ID), PDF: orderPath(o.ID) + "/pdf",
		Text: o.Text(pen.set), Costs: o.Costs, May: who.May(actor.EditCard), Printed: pen.now.In(pen.loc).Format("2 January 2006, 15:04"),
	}
	v.TextRows = strings.Count(v.Text, "\n") + 1
	v.MailTo = mailTo(o.Email, "Order "+ui.Itoa(o.ID)+" from "+pen.set.Name, v.Text)
	add := func(name, value string) {
		if value != "" {
			v.Facts = append(v.Facts, [2]string{name, value})
		}
	}
	add("Ordered", pen.when(o.OrderedAt)+", "+o.How)
	add("By", o.OrderedName)
	add("To be here", pen.when(o.DueAt))
	add("Their reference", o.Ref)
	add("Telephone", o.Phone)
	add("E-mail", o.Email)
	add("Note", o.Note)
	for _, l := range o.Lines {
		v.Rows = append(v.Rows, pen.orderRow(l, o.Costs))
	}
	if o.Costs {
		v.Net = pen.money(o.Net())
		if o.Surcharges() > 0 {
			v.Charges = pen.money(o.Surcharges())
		}
	}
	return v
}

func (p pen) orderRow(l stores.Line, costs bool) orderRow {
	row := orderRow{
		ID: int64(l.ID), Anchor: "line-" + ui.Itoa(l.ID), Name: l.Name, Number: l.Number, Qty: qty(l.Qty), Open: l.Open(), Version: int64(l.Version),
		Plate: l.Mark, Mark: p.lineMark(l), Due: p.wall(l.Due()),
	}
	switch {
	case l.ItemID != 0:
		row.For, row.Path = "the shelf", shelfPath+"/"+ui.Itoa(l.ItemID)
	default:
		row.For, row.Path = "Card "+ui.Itoa(l.CardID), cardPath(l.CardID)
		if l.Title != "" {
			row.For += ", " + l.Title
		}
	}
	if costs {
		row.Cost, row.Net = p.money(l.Cost), p.money(l.Net())
	}
	row.Notes = p.lineNotes(l)
	if costs && l.Surcharge > 0 {
		row.Notes = append(row.Notes, "exchange, "+p.money(l.Surcharge)+" each until the old unit is back")
	}
	return row
}

// lineMark is the word for where a line of an order is.
func (p pen) lineMark(l stores.Line) string {
	switch {
	case l.Closed != "":
		return l.Closed
	case !l.Open():
		return "arrived"
	case l.Late(p.now):
		return "late"
	}
	return "ordered"
}

// lineNotes says what there is to say of a line that is not as it was planned.
func (p pen) lineNotes(l stores.Line) []string {
	var out []string
	switch {
	case l.Closed != "":
		out = append(out, l.ClosedWhy)
	case !l.ArrivedAt.IsZero():
		out = append(out, "here since "+p.when(l.ArrivedAt))
	case !l.Open():
		out = append(out, "noted on the card as "+string(l.Supply))
	case l.Late(p.now):
		out = append(out, "was due "+p.when(l.Due())+", "+p.since(l.Due())+" ago")
	default:
		out = append(out, "due "+p.when(l.Due()))
	}
	if !l.NowDueAt.IsZero() && !l.NowDueAt.Equal(l.DueAt) {
		out = append(out, "first said for "+p.when(l.DueAt))
	}
	if l.Open() && l.Came > 0 {
		out = append(out, qty(l.Came)+" of "+qty(l.Qty)+" are here")
	}
	if l.Unwanted != "" && l.Open() {
		out = append(out, "nobody needs it any more: "+l.Unwanted)
	}
	return out
}

// mailTo is an address that opens a letter with the order in it (RFC 6068:
// line breaks are CRLF, and every character that is not plain is encoded).
func mailTo(to, subject, text string) string {
	enc := func(s string) string {
		return strings.ReplaceAll(url.QueryEscape(strings.ReplaceAll(s, "\n", "\r\n")), "+", "%20")
	}
	return "mailto:" + strings.ReplaceAll(enc(to), "%40", "@") + "?subject=" + enc(subject) + "&body=" + enc(text)
}

// orderPDF is the order on paper.
func (p pages) orderPDF(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[stores.OrderID](r, "order")
	if err != nil {
		return err
	}
	o, set, err := p.stores.OrderBy(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	doc, err := o.PDF(set)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="order-`+ui.Itoa(id)+`.pdf"`)
	h.Set("Cache-Control", "no-store")
	_, _ = w.Write(doc) // a failure is a browser that went away
	return nil
}

// lineTarget reads the line of an order that a form is for.
func lineTarget(r *http.Request) (stores.LineID, actor.Actor, *ui.Form, error) {
	id, err := ui.PathID[stores.LineID](r, "orderline")
	if err != nil {
		return 0, actor.Actor{}, nil, err
	}
	who, err := ui.Writer(r)
	return id, who, ui.ReadForm(r), err
}

// garage reads the settings that times are read by.
func (p pages) garage(r *http.Request) (garage.Settings, error) {
	return p.stores.Garage(r.Context(), ui.Who(r.Context()))
}

func (p pages) setDue(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := lineTarget(r)
	if err != nil {
		return err
	}
	set, err := p.garage(r)
	if err != nil {
		return err
	}
	order, err := p.stores.OrderOf(r.Context(), who, id)
	if err != nil {
		return err
	}
	in := stores.DueInput{LineID: id, Version: int(f.Version()), DueAt: f.When("due_at", set.Location())}
	f.Required("due_at")
	if err = f.Err(); err == nil {
		_, err = p.stores.SetDue(r.Context(), who, in)
	}
	return p.reply(w, r, f, orderPath(order)+"#line-"+ui.Itoa(id), "Noted when it comes", err, func(status int) error {
		return p.orderSheet(w, r, status, order, doing{"due", int64(id)}, f)
	})
}

func (p pages) closeLine(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := lineTarget(r)
	if err != nil {
		return err
	}
	order, err := p.stores.OrderOf(r.Context(), who, id)
	if err != nil {
		return err
	}
	in := stores.CloseInput{
		LineID: id, Version: int(f.Version()), Never: f.OneOf("closed", "cancelled", "never came") == "never came", Note: f.Str("note", stores.MaxShort),
		Drop: f.OneOf("then", "needed", "not coming") == "not coming",
	}
	f.Required("closed", "note")
	if err = f.Err(); err == nil {
		_, err = p.stores.Close(r.Context(), who, in)
	}
	return p.reply(w, r, f, orderPath(order)+"#line-"+ui.Itoa(id), "Taken off the order", err, func(status int) error {
		return p.orderSheet(w, r, status, order, doing{"close", int64(id)}, f)
	})
}
