package storesweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/stores"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type returnsView struct {
	Tabs    []tab
	Form    *ui.Form
	Do      doing
	ToWrite []writeRow
	Send    []returnRow
	Wait    []returnRow
	Settled []returnRow
	Options []ui.Option
	Owed    string
	Costs   bool
	May     bool // write up, credits
	Send1   bool // note that something left
	Printed string
	Today   string
}

type writeRow struct {
	ID                                int64
	Anchor, Words, Number, Why        string
	Plate, Path, Card                 string
	Notes                             []string
	Supplier, SupplierName, Kind, Due string
	Expected                          string
}

type returnRow struct {
	ID      int64
	Anchor  string
	Path    string
	Mark    string
	Words   string
	Number  string
	To      string
	Notes   []string
	Version int64
	// Of the money.
	Expected, Received, Owed, Short string
	Steps                           []ui.Step
	Rest                            string // as a field has it
	Sent                            bool
	Money                           bool // some is to come
}

func (p pages) returns(w http.ResponseWriter, r *http.Request) error {
	return p.showReturns(w, r, http.StatusOK, readDoing(r), nil)
}

func (p pages) showReturns(w http.ResponseWriter, r *http.Request, status int, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	x, err := p.stores.Returns(r.Context(), who)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, returnsPage(p.frame(r, "Going back"), newReturnsView(x, who, d, f)))
}

func newReturnsView(x stores.Returns, who actor.Actor, d doing, f *ui.Form) *returnsView {
	pen := newPen(x.Garage, x.Now)
	v := &returnsView{
		Tabs: tabs(returnsPath), Form: f, Do: d, Options: supplierOptions(x.Suppliers, 0), Costs: x.Costs, May: who.May(actor.EditCard),
		Send1: who.May(actor.Work), Printed: x.Now.In(pen.loc).Format("2 January 2006, 15:04"), Today: pen.today.String(),
	}
	for _, g := range x.ToWrite {
		v.ToWrite = append(v.ToWrite, pen.writeRow(g, x.Costs))
	}
	var owed money.Minor
	for _, r := range x.Open {
		row := pen.returnRow(r, x.Costs)
		owed += r.Owed()
		if r.Sent() {
			v.Wait = append(v.Wait, row)
		} else {
			v.Send = append(v.Send, row)
		}
	}
	for _, r := range x.Settled {
		v.Settled = append(v.Settled, pen.returnRow(r, x.Costs))
	}
	if x.Costs {
		v.Owed = pen.money(owed)
	}
	return v
}

func (p pen) writeRow(g stores.GoingBack, costs bool) writeRow {
	row := writeRow{
		ID: int64(g.PartID), Anchor: "part-" + ui.Itoa(g.PartID), Words: qty(g.Qty) + " × " + g.Name, Number: g.Number, Why: g.Why, Plate: g.Mark,
		Path: cardPath(g.CardID) + "#part-" + ui.Itoa(g.PartID), Card: "Card " + ui.Itoa(g.CardID), Supplier: idOr(g.SupplierID),
		SupplierName: g.Supplier, Kind: string(stores.Faulty),
	}
	switch {
	case g.Aside != "":
		row.Kind, row.Why = string(stores.NotNeeded), g.Aside
	case g.Verdict == jobcard.DoesNotFit:
		row.Kind = string(stores.WrongPart)
	}
	for _, n := range []string{row.SupplierName, row.Why} {
		if n != "" {
			row.Notes = append(row.Notes, n)
		}
	}
	if costs {
		row.Expected = money.FormatPlain(money.PartNet(g.Qty, g.Cost))
	}
	return row
}

func (p pen) returnRow(r stores.Return, costs bool) returnRow {
	row := returnRow{
		ID: int64(r.ID), Anchor: "return-" + ui.Itoa(r.ID), Path: returnsPath + "/" + ui.Itoa(r.ID), Words: qty(r.Qty) + " × " + r.Name,
		Number: r.Number, To: "to " + r.SupplierName, Version: int64(r.Version), Sent: r.Sent(), Money: r.Expected > r.Received,
	}
	row.Notes = append(row.Notes, string(r.Kind)+": "+r.Why)
	if r.CardID != 0 {
		row.Notes = append(row.Notes, "card "+ui.Itoa(r.CardID))
	}
	switch {
	case r.Settled() && r.Received > 0:
		row.Mark = "credited"
	case r.Settled():
		row.Mark = "settled"
	case r.Overdue(p.today):
		row.Mark = "late"
		row.Notes = append(row.Notes, "should have left by "+p.day(r.SendBy))
	default:
		row.Mark = "going back"
	}
	if !r.Sent() && !r.SendBy.IsZero() && row.Mark != "late" {
		row.Notes = append(row.Notes, "to leave by "+p.day(r.SendBy))
	}
	if r.Sent() {
		sent := "left " + p.when(r.SentAt)
		if r.SentHow != "" {
			sent += ", " + r.SentHow
		}
		row.Notes = append(row.Notes, sent)
	}
	if r.SettledWhy != "" {
		row.Notes = append(row.Notes, r.SettledWhy)
	}
	if costs {
		p.returnMoney(&row, r)
	}
	return row
}

func (p pen) returnMoney(row *returnRow, r stores.Return) {
	row.Expected, row.Received = p.money(r.Expected), p.money(r.Received)
	row.Owed, row.Rest = p.money(r.Owed()), plain(max(0, r.Expected-r.Received))
	row.Steps = append(row.Steps, ui.Step{Label: "credit expected", Value: p.money(r.Expected)})
	for _, k := range r.Credits {
		label := "came " + p.day(k.Day)
		if k.Ref != "" {
			label += ", " + k.Ref
		}
		row.Steps = append(row.Steps, ui.Step{Label: label, Value: p.money(-k.Amount)})
	}
	rest := r.Expected - r.Received
	switch {
	case rest < 0:
		row.Steps = append(row.Steps, ui.Step{Label: "more than expected", Value: p.money(-rest), Sum: true})
	case r.Settled():
		row.Steps = append(row.Steps, ui.Step{Label: "given up", Value: p.money(rest), Sum: true})
	default:
		row.Steps = append(row.Steps, ui.Step{Label: "still to come", Value: p.money(rest), Sum: true})
	}
	if r.Short() > 0 {
		row.Short = p.money(r.Short()) + " less than expected"
	}
}

// writeUp writes up what goes back: a card's part, or something else.
func (p pages) writeUp(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	set, err := p.garage(r)
	if err != nil {
		return err
	}
	in := stores.WriteUpInput{
		SupplierID: garage.SupplierID(f.ID("supplier")), PartID: jobcard.PartID(f.ID("part")), Kind: ui.OneOf(f, "kind", stores.ReturnKinds...),
		Name: f.Str("name", stores.MaxName), Number: f.Str("number", stores.MaxNumber), Why: f.Str("why", stores.MaxShort), Expected: f.Money("expected"),
		Again: f.Bool("again"), SendBy: readDay(f, "send_by", set),
	}
	d := doing{"write", int64(in.PartID)}
	if in.PartID == 0 {
		d = doing{verb: "new"}
		in.Qty = f.Quantity("qty")
	}
	if err = f.Err(); err == nil {
		_, err = p.stores.WriteUp(r.Context(), who, in)
	}
	return p.reply(w, r, f, returnsPath, "Written up", err, func(status int) error { return p.showReturns(w, r, status, d, f) })
}

// readDay reads a day; none when it is empty or wrong.
func readDay(f *ui.Form, name string, set garage.Settings) workday.Day {
	t := f.Day(name, set.Location())
	if t.IsZero() {
		return workday.Day{}
	}
	return workday.Of(t, set.Location())
}

func returnTarget(r *http.Request) (stores.ReturnID, actor.Actor, *ui.Form, error) {
	id, err := ui.PathID[stores.ReturnID](r, "return")
	if err != nil {
		return 0, actor.Actor{}, nil, err
	}
	who, err := ui.Writer(r)
	return id, who, ui.ReadForm(r), err
}

// onReturn finishes a write to one of the returns.
func (p pages) onReturn(w http.ResponseWriter, r *http.Request, f *ui.Form, d doing, flash string, err error) error {
	if apperr.Is(err, apperr.NotFound) {
		return err
	}
	return p.reply(w, r, f, returnsPath, flash, err, func(status int) error { return p.showReturns(w, r, status, d, f) })
}

func (p pages) sent(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := returnTarget(r)
	if err != nil {
		return err
	}
	in := stores.SentInput{ReturnID: id, Version: int(f.Version()), How: f.Str("how", stores.MaxShort)}
	if err = f.Err(); err == nil {
		_, err = p.stores.Send(r.Context(), who, in)
	}
	return p.onReturn(w, r, f, doing{"sent", int64(id)}, "Noted: it has left", err)
}

func (p pages) credit(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := returnTarget(r)
	if err != nil {
		return err
	}
	set, err := p.garage(r)
	if err != nil {
		return err
	}
	in := stores.CreditInput{
		ReturnID: id, Version: int(f.Version()), Amount: f.Money("amount"), Day: readDay(f, "day", set), Ref: f.Str("ref", stores.MaxShort),
		Last: f.Bool("last"), Why: f.Str("why", stores.MaxShort),
	}
	f.Required("amount")
	if err = f.Err(); err == nil {
		_, err = p.stores.Credit(r.Context(), who, in)
	}
	return p.onReturn(w, r, f, doing{"credit", int64(id)}, "Credit noted", err)
}

func (p pages) settle(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := returnTarget(r)
	if err != nil {
		return err
	}
	in := stores.SettleInput{ReturnID: id, Version: int(f.Version()), Why: f.Str("why", stores.MaxShort)}
	f.Required("why")
	if err = f.Err(); err == nil {
		_, err = p.stores.Settle(r.Context(), who, in)
	}
	return p.onReturn(w, r, f, doing{"settle", int64(id)}, "Settled", err)
}
