package storesweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/stores"
	"rampside/web/ui"
)

type shelfView struct {
	Tabs    []tab
	Form    *ui.Form
	Do      doing
	Rows    []shelfRow
	Worth   string
	Costs   bool
	May     bool
	Options []ui.Option
	Printed string
}

type shelfRow struct {
	Path, Name, Number, Place, Supplier string
	Have, Least, Coming, Worth          string
	Mark                                string
}

func (p pages) shelf(w http.ResponseWriter, r *http.Request) error {
	return p.showShelf(w, r, http.StatusOK, readDoing(r), nil)
}

func (p pages) showShelf(w http.ResponseWriter, r *http.Request, status int, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	all, err := p.stores.Shelf(r.Context(), who)
	if err != nil {
		return err
	}
	set, err := p.garage(r)
	if err != nil {
		return err
	}
	suppliers, err := p.stores.Suppliers(r.Context(), who)
	if err != nil {
		return err
	}
	pen := newPen(set, p.kit.Now())
	v := &shelfView{
		Tabs: tabs(shelfPath), Form: f, Do: d, Costs: who.May(actor.SeeMargins), May: who.May(actor.EditCard), Options: supplierOptions(suppliers, 0),
		Printed: pen.now.In(pen.loc).Format("2 January 2006, 15:04"),
	}
	var worth money.Minor
	for _, i := range all {
		v.Rows = append(v.Rows, pen.shelfRow(i))
		worth += i.Worth
	}
	if v.Costs {
		v.Worth = pen.money(worth)
	}
	return p.kit.Render(w, r, status, shelfPage(p.frame(r, "Shelf"), v))
}

func (p pen) shelfRow(i stores.Item) shelfRow {
	row := shelfRow{
		Path: shelfPath + "/" + ui.Itoa(i.ID), Name: i.Name, Number: i.Number, Place: i.Place, Supplier: i.SupplierName,
		Have: units(i.Have, i.Unit), Worth: p.money(i.Worth),
	}
	if i.Least > 0 {
		row.Least = qty(i.Least)
	}
	if i.Coming > 0 {
		row.Coming = qty(i.Coming)
	}
	switch {
	case !i.Active:
		row.Mark = "not kept any more"
	case i.Short():
		row.Mark = "needed"
	}
	return row
}

type itemView struct {
	Tabs    []tab
	Form    *ui.Form
	Do      doing
	Title   string
	Path    string
	Mark    string
	Facts   [][2]string
	Have    string // as a field has it
	Item    stores.Item
	Cost    string
	Lots    []lotRow
	Moves   []moveRow
	Counts  []countRow
	For     []ui.Option
	Options []ui.Option
	Costs   bool
	May     bool
	Work    bool
	Printed string
}

type lotRow struct{ When, From, Qty, Left, Cost, Worth string }

type moveRow struct {
	When, What, Qty, Cost, By string
	Path, For                 string
	PutBack                   string // the part that can go back on the shelf
}

type countRow struct{ When, Was, Counted, Reason, By string }

func (p pages) item(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[stores.ItemID](r, "item")
	if err != nil {
		return err
	}
	return p.showItem(w, r, http.StatusOK, id, readDoing(r), nil)
}

func (p pages) showItem(w http.ResponseWriter, r *http.Request, status int, id stores.ItemID, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	s, err := p.stores.Item(r.Context(), who, id)
	if err != nil {
		return err
	}
	v := newItemView(s, who, d, f)
	return p.kit.Render(w, r, status, itemPage(p.frame(r, v.Title), v))
}

func newItemView(s stores.Sheet, who actor.Actor, d doing, f *ui.Form) *itemView {
	pen := newPen(s.Garage, s.Now)
	row := pen.shelfRow(s.Item)
	v := &itemView{
		Tabs: tabs(""), Form: f, Do: d, Title: s.Name, Path: row.Path, Mark: row.Mark, Item: s.Item, Have: qty(s.Have), Cost: plain(s.Cost),
		Options: supplierOptions(s.Suppliers, s.SupplierID), Costs: s.Costs, May: who.May(actor.EditCard), Work: who.May(actor.Work),
		Printed: s.Now.In(pen.loc).Format("2 January 2006, 15:04"),
	}
	if v.Form == nil {
		v.Form = ui.NewForm(nil)
	}
	add := func(name, value string) {
		if value != "" {
			v.Facts = append(v.Facts, [2]string{name, value})
		}
	}
	add("There are", row.Have)
	add("Number", s.Number)
	add("Place", s.Place)
	add("The least", row.Least)
	add("Fill up to", orNone(qty(s.Fill), s.Fill > 0))
	add("On order", row.Coming)
	add("Supplier", s.SupplierName)
	if s.Costs {
		add("Cost each, thought", pen.money(s.Cost))
		add("Worth", row.Worth)
	}
	for _, l := range s.Lots {
		from := l.Note
		if l.OrderID != 0 {
			from = "order " + ui.Itoa(l.OrderID)
		}
		v.Lots = append(v.Lots, lotRow{pen.when(l.GotAt), from, qty(l.Qty), qty(l.Left), pen.money(l.Cost), pen.money(l.LeftWorth)})
	}
	back := map[jobcard.PartID]bool{}
	for _, m := range s.Moves {
		x := moveRow{When: pen.when(m.At), What: m.Kind, Qty: qty(m.Qty), Cost: pen.money(m.Cost), By: m.By}
		switch {
		case m.PartID != 0:
			x.Path, x.For = cardPath(m.CardID)+"#part-"+ui.Itoa(m.PartID), "card "+ui.Itoa(m.CardID)
			if !back[m.PartID] && m.Kind == "used" && m.Loose && v.Work {
				x.PutBack = ui.Itoa(m.PartID)
			}
			back[m.PartID] = true
		case m.Reason != "":
			x.What += ": " + m.Reason
		}
		v.Moves = append(v.Moves, x)
	}
	for _, c := range s.Counts {
		v.Counts = append(v.Counts, countRow{pen.when(c.At), qty(c.Was), qty(c.Counted), c.Reason, c.By})
	}
	for _, c := range s.For {
		label := "Card " + ui.Itoa(c.CardID) + ", " + c.Mark + ": " + qty(c.Qty) + " × " + c.Name
		if c.Number != "" {
			label += " " + c.Number
		}
		v.For = append(v.For, ui.Option{Value: ui.Itoa(c.PartID), Label: label})
	}
	return v
}

func orNone(s string, there bool) string {
	if !there {
		return ""
	}
	return s
}

// readItem reads what is written of an item.
func readItem(f *ui.Form) stores.ItemInput {
	in := stores.ItemInput{
		Version: int(f.Version()), Name: f.Str("name", stores.MaxName), Number: f.Str("number", stores.MaxNumber),
		SupplierID: garage.SupplierID(f.ID("supplier")), Place: f.Str("place", stores.MaxShort), Unit: f.OneOf("unit", stores.Units...),
		Least: f.Quantity("least"), Fill: f.Quantity("fill"), Cost: f.Money("cost"), Active: true,
	}
	f.Required("name")
	return in
}

func (p pages) addItem(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := readItem(f)
	to := ""
	if err = f.Err(); err == nil {
		var done stores.Changed
		done, err = p.stores.SaveItem(r.Context(), who, in)
		to = shelfPath + "/" + ui.Itoa(done.ItemID)
	}
	return p.reply(w, r, f, to, "On the shelf: "+in.Name, err, func(status int) error { return p.showShelf(w, r, status, doing{verb: "add"}, f) })
}

func itemTarget(r *http.Request) (stores.ItemID, actor.Actor, *ui.Form, error) {
	id, err := ui.PathID[stores.ItemID](r, "item")
	if err != nil {
		return 0, actor.Actor{}, nil, err
	}
	who, err := ui.Writer(r)
	return id, who, ui.ReadForm(r), err
}

func (p pages) editItem(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := itemTarget(r)
	if err != nil {
		return err
	}
	in := readItem(f)
	in.ID, in.Active = id, f.Bool("active")
	path := shelfPath + "/" + ui.Itoa(id)
	if err = f.Err(); err == nil {
		_, err = p.stores.SaveItem(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[stores.Item](err); ok {
		return p.kit.Stale(w, r, staleItem(now, path, f))
	}
	return p.reply(w, r, f, path, "Saved", err, func(status int) error { return p.showItem(w, r, status, id, doing{verb: "edit"}, f) })
}

func staleItem(now stores.Item, path string, f *ui.Form) ui.Stale {
	yes := func(b bool) string {
		if b {
			return "yes"
		}
		return "no"
	}
	return ui.Stale{Thing: "item", Action: path, Back: path, Version: int64(now.Version), Rows: []ui.StaleRow{
		{Name: "name", Label: "Name", Theirs: now.Name, Yours: f.Get("name")},
		{Name: "number", Label: "Number", Theirs: now.Number, Yours: f.Get("number")},
		{Name: "place", Label: "Place", Theirs: now.Place, Yours: f.Get("place")},
		{Name: "unit", Label: "Counted in", Theirs: now.Unit, Yours: f.Get("unit"), Options: ui.OptionsOf(stores.Units...)},
		{Name: "least", Label: "The least", Theirs: qty(now.Least), Yours: f.Get("least")},
		{Name: "fill", Label: "Fill up to", Theirs: qty(now.Fill), Yours: f.Get("fill")},
		{Name: "cost", Label: "Cost each", Theirs: money.FormatPlain(now.Cost), Yours: f.Get("cost")},
		{Name: "active", Label: "Kept", Theirs: yes(now.Active), Yours: yes(f.Bool("active")), Options: ui.OptionsOf("yes", "no")},
	}, Keep: []ui.Carried{{Name: "supplier", Value: f.Get("supplier")}}}
}

func (p pages) putIn(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := itemTarget(r)
	if err != nil {
		return err
	}
	in := stores.LotInput{ItemID: id, Qty: f.Quantity("qty"), Cost: f.Money("cost"), Note: f.Str("note", stores.MaxShort)}
	f.Required("qty", "cost", "note")
	if err = f.Err(); err == nil {
		_, err = p.stores.Put(r.Context(), who, in)
	}
	return p.onItem(w, r, id, f, doing{verb: "in"}, "On the shelf", err)
}

func (p pages) countItem(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := itemTarget(r)
	if err != nil {
		return err
	}
	in := stores.CountInput{ItemID: id, Was: f.Quantity("was"), Counted: f.Quantity("counted"), Reason: f.Str("reason", stores.MaxShort)}
	f.Required("counted")
	if err = f.Err(); err == nil {
		_, err = p.stores.Count(r.Context(), who, in)
	}
	return p.onItem(w, r, id, f, doing{verb: "count"}, "Counted", err)
}

func (p pages) use(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := itemTarget(r)
	if err != nil {
		return err
	}
	in := stores.UseInput{ItemID: id, PartID: jobcard.PartID(f.ID("part"))}
	f.Required("part")
	if err = f.Err(); err == nil {
		_, err = p.stores.Use(r.Context(), who, in)
	}
	return p.onItem(w, r, id, f, doing{verb: "use"}, "Taken from the shelf: it is on the card", err)
}

func (p pages) putBack(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := itemTarget(r)
	if err != nil {
		return err
	}
	in := stores.PutBackInput{ItemID: id, PartID: jobcard.PartID(f.ID("part"))}
	f.Required("part")
	if err = f.Err(); err == nil {
		_, err = p.stores.PutBack(r.Context(), who, in)
	}
	return p.onItem(w, r, id, f, doing{}, "Back on the shelf", err)
}

// onItem finishes a write to an item.
func (p pages) onItem(w http.ResponseWriter, r *http.Request, id stores.ItemID, f *ui.Form, d doing, flash string, err error) error {
	return p.reply(w, r, f, shelfPath+"/"+ui.Itoa(id), flash, err, func(status int) error { return p.showItem(w, r, status, id, d, f) })
}

func some(n int64) string { return orNone(qty(n), n != 0) }

func yesIf(b bool) string { return orNone("yes", b) }

func shelfCols(costs bool) []ui.Col {
	out := []ui.Col{{Label: "What"}, {Label: "Number"}, {Label: "Place"}, {Label: "Supplier"}, {Label: "There are", Num: true}, {Label: "The least", Num: true}, {Label: "On order", Num: true}}
	if costs {
		out = append(out, ui.Col{Label: "Worth", Num: true})
	}
	return out
}

func lotCols(costs bool) []ui.Col {
	out := []ui.Col{{Label: "Since"}, {Label: "From"}, {Label: "Came", Num: true}, {Label: "Left", Num: true}}
	if costs {
		out = append(out, ui.Col{Label: "Cost altogether", Num: true}, ui.Col{Label: "Left of that", Num: true})
	}
	return out
}

func moveCols(costs bool) []ui.Col {
	out := []ui.Col{{Label: "When"}, {Label: "What"}, {Label: "How many", Num: true}}
	if costs {
		out = append(out, ui.Col{Label: "Cost", Num: true})
	}
	return append(out, ui.Col{Label: "By"})
}
