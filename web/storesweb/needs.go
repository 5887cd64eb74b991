package storesweb

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/stores"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type needsView struct {
	Tabs     []tab
	Form     *ui.Form
	Lead     string
	Horizons []tab
	Groups   []groupView
	Later    string
	Own      []needRow
	Cover    string
	Rule     string
	May      bool // order
	Printed  string
}

// groupView is what is to be ordered from one supplier, as one form.
type groupView struct {
	Head      string
	Label     int
	ID        string // of its heading
	Form      *ui.Form
	Supplier  string
	Suppliers []ui.Option
	Late      lateView
	Rows      []needRow
}

type needRow struct {
	Label    int
	PartID   string
	ItemID   string
	Name     string
	Number   string
	Qty      string
	Plain    string // the quantity as it is typed
	For      string
	Path     string
	Plate    string
	Notes    []string
	Cost     string
	Ticked   bool
	TakeItem string // where it can be taken from the shelf
	TakeNote string
}

func (p pages) needs(w http.ResponseWriter, r *http.Request) error {
	return p.showNeeds(w, r, http.StatusOK, nil)
}

func (p pages) showNeeds(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	who := ui.Who(r.Context())
	h := stores.Horizon(r.URL.Query().Get("look"))
	if h != stores.Week && h != stores.All {
		h = stores.Tomorrow
	}
	n, err := p.stores.Needs(r.Context(), who, h)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, needsPage(p.frame(r, "What to order"), newNeedsView(n, who, f)))
}

func newNeedsView(n stores.Needs, who actor.Actor, f *ui.Form) *needsView {
	pen := newPen(n.Garage, n.Now)
	v := &needsView{
		Tabs: tabs(Path), Form: f, Cover: stores.CoverOfOwn, Rule: lateRule, May: who.May(actor.EditCard),
		Printed: n.Now.In(pen.loc).Format("2 January 2006, 15:04"),
	}
	switch {
	case n.Horizon == stores.All:
		v.Lead = "For every card that is booked"
	case n.Horizon == stores.Week:
		v.Lead = "For the cards in work, and those booked up to " + n.Until.Long()
	default:
		v.Lead = "For the cards in work, today's, and those of " + n.Until.Long()
	}
	v.Lead += ": " + things(n.Count()) + " to order."
	for _, h := range []struct {
		h     stores.Horizon
		label string
	}{{stores.Tomorrow, "Up to " + nextWords(n, pen)}, {stores.Week, "A week ahead"}, {stores.All, "All that is booked"}} {
		v.Horizons = append(v.Horizons, tab{h.label, Path + "?look=" + string(h.h), h.h == n.Horizon})
	}
	if n.Later > 0 {
		v.Later = things(n.Later) + " more for cards of later days."
	}
	if n.Cut {
		v.Later = "There is more than this page holds: order these first."
	}
	rows := newLabels(f, "line", "part", "item")
	for _, g := range n.Groups {
		v.Groups = append(v.Groups, pen.group(g, n, f, rows))
	}
	for _, x := range n.Own {
		row := pen.need(x, false)
		row.Notes = []string{"customer's own: " + ownWords(x)}
		v.Own = append(v.Own, row)
	}
	return v
}

func ownWords(n stores.Need) string {
	if n.Stage == jobcard.Booked {
		return "to be brought with the car"
	}
	return "not here yet"
}

// nextWords names the day that the nearest horizon ends with.
func nextWords(n stores.Needs, pen pen) string {
	if n.Horizon == stores.Tomorrow && n.Until != pen.today.AddDays(1) {
		return n.Until.Short()
	}
	return "tomorrow"
}

func things(n int) string {
	if n == 1 {
		return "1 thing"
	}
	return strconv.Itoa(n) + " things"
}

func (p pen) group(g stores.NeedGroup, n stores.Needs, f *ui.Form, rows *labels) groupView {
	v := groupView{
		Head: g.Supplier.Name, Label: int(g.Supplier.ID), ID: "from-" + ui.Itoa(g.Supplier.ID), Supplier: idOr(g.Supplier.ID),
		Suppliers: supplierOptions(n.Suppliers, g.Supplier.ID), Late: p.late(g.Supplier.Name, g.Late),
	}
	if v.Head == "" {
		v.Head = "No supplier chosen yet"
	}
	v.Form = ui.NewForm(nil)
	sent := f != nil && f.Get("group") == strconv.Itoa(v.Label)
	if sent {
		v.Form = f
	}
	for _, x := range g.Needs {
		row := p.need(x, n.Costs)
		by, id := "part", row.PartID
		if x.ItemID != 0 {
			by, id = "item", row.ItemID
		}
		row.Label = rows.of(by, id)
		if sent {
			row.Ticked = v.Form.Get("line."+strconv.Itoa(row.Label)+".take") != ""
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

func (p pen) need(n stores.Need, costs bool) needRow {
	row := needRow{Name: n.Name, Number: n.Number, Qty: units(n.Qty, n.Unit), Plain: qty(n.Qty), Ticked: n.Agreed}
	if costs {
		row.Cost = plain(n.Cost)
	}
	if n.ItemID != 0 {
		row.ItemID, row.Path, row.For = ui.Itoa(n.ItemID), shelfPath+"/"+ui.Itoa(n.ItemID), "the shelf"
		row.Notes = append(row.Notes, "there are "+qty(n.Have)+", the least is "+qty(n.Least))
		return row
	}
	row.PartID, row.Path, row.Plate = ui.Itoa(n.PartID), linePath(n.CardID, n.LineID), n.Mark
	row.For = "Card " + ui.Itoa(n.CardID)
	if n.Title != "" {
		row.For += ", " + n.Title
	}
	if n.Stage == jobcard.Booked {
		comes := "booked for " + p.day(n.BookedFor)
		if !n.ArrivesAt.IsZero() {
			comes += " " + workday.FormatClock(workday.ClockOf(n.ArrivesAt, p.loc))
		}
		row.Notes = append(row.Notes, comes)
	} else {
		row.Notes = append(row.Notes, "the car is "+string(n.Stage))
	}
	if !n.PromisedAt.IsZero() {
		row.Notes = append(row.Notes, "promised "+p.when(n.PromisedAt))
	}
	if !n.Agreed {
		row.Notes = append(row.Notes, "not agreed yet")
	}
	if n.Unchecked {
		row.Notes = append(row.Notes, "not found to fit yet")
	}
	if n.OnShelf != 0 && n.ShelfQty > 0 {
		row.TakeNote = qty(n.ShelfQty) + " on the shelf"
		if n.ShelfQty >= n.Qty {
			row.TakeItem, row.Ticked = ui.Itoa(n.OnShelf), false // it is here already
		}
	}
	return row
}

// order makes an order of what was ticked.
func (p pages) order(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in, rows, g, err := p.readOrder(r, f)
	if err != nil {
		return err
	}
	to := ""
	if err = f.Err(); err == nil {
		var done stores.Ordered
		done, err = p.stores.Order(r.Context(), who, in)
		to = ordersPath + "/" + ui.Itoa(done.OrderID)
	}
	return p.reply(w, r, f, to, "Ordered: "+things(len(in.Lines)), atRows(err, "group."+strconv.Itoa(g)+".", rows),
		func(status int) error { return p.showNeeds(w, r, status, f) })
}

// readOrder reads one supplier's form: its fields, and the rows ticked, with
// the labels they have on the page.
func (p pages) readOrder(r *http.Request, f *ui.Form) (in stores.OrderInput, rows []int, g int, err error) {
	set, err := p.stores.Garage(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return in, nil, 0, err
	}
	loc := set.Location()
	g = f.Int("group", 0, 1<<31-1)
	head := f.Row("group", g)
	in = stores.OrderInput{
		SupplierID: garage.SupplierID(head.ID("supplier")), DueAt: head.When("due_at", loc), How: head.OneOf("how", stores.Ways...),
		Ref: head.Str("ref", stores.MaxShort), Note: head.Text("note", stores.MaxNote),
	}
	if in.SupplierID == 0 {
		head.Fail("supplier", "choose whom to order from")
	}
	for _, row := range f.Rows("line", 500) {
		if !row.Bool("take") {
			continue
		}
		l := stores.OrderedLine{
			PartID: jobcard.PartID(row.ID("part")), ItemID: stores.ItemID(row.ID("item")), Qty: row.Quantity("qty"), DueAt: row.When("due_at", loc),
			Surcharge: row.Money("surcharge"), BackBy: workday.FromDate(row.Day("back_by", loc)),
		}
		if row.Get("back_by") == "" || row.Problem("back_by") != "" {
			l.BackBy = workday.Day{}
		}
		if row.Get("cost") != "" {
			cost := row.Money("cost")
			l.Cost = &cost
		}
		in.Lines = append(in.Lines, l)
		rows = append(rows, rowLabel(row))
	}
	if len(in.Lines) == 0 {
		f.Summary = "tick what is to be ordered"
	}
	return in, rows, g, nil
}

// rowLabel is the number that a row's fields carry.
func rowLabel(row *ui.Form) int {
	parts := strings.Split(row.Field("", "").Name, ".")
	n, err := strconv.Atoi(parts[1])
	if err != nil {
		return 0
	}
	return n
}

// atRows moves what a service found wrong to where it stands on the page:
// lines.2.cost to the row that was sent third, all else behind a prefix.
func atRows(err error, prefix string, rows []int) error {
	var e *apperr.Error
	if !errors.As(err, &e) || len(e.Fields) == 0 {
		return err
	}
	out := *e
	out.Fields = map[string]string{}
	for name, message := range e.Fields {
		parts := strings.SplitN(name, ".", 3)
		if n, err := strconv.Atoi(parts[min(1, len(parts)-1)]); len(parts) == 3 && parts[0] == "lines" && err == nil && n < len(rows) {
			out.Fields["line."+strconv.Itoa(rows[n])+"."+parts[2]] = message
			continue
		}
		if name == "lines" { // of no row, but of the form as a whole
			out.Message = message
			continue
		}
		out.Fields[prefix+name] = message
	}
	return &out
}

// exchangeOpen tells whether something was typed into a row's exchange fields.
func exchangeOpen(f *ui.Form, label int) bool {
	row := f.Row("line", label)
	return row.Get("surcharge") != "" || row.Get("back_by") != "" || row.Problem("surcharge") != "" || row.Problem("back_by") != ""
}
