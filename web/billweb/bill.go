package billweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/money"
	"rampside/internal/paper"
	"rampside/internal/post"
	"rampside/web/ui"
)

type billView struct {
	Path, CardPath string
	HandPath       string // where the car is handed over
	AccountPath    string // how the customer stands
	Form           *ui.Form
	Do             doing
	Doc            paper.Bill
	Mark           string
	Kind           bill.Kind
	OfPath, OfText string
	Open           string // said
	OpenPlain      string // as a field has it
	Owed, Over     bool
	Since          string
	Kept           string
	Ties           []tieView
	Credits        []creditView
	Credited       bool // wholly
	Items          []creditRow
	Methods        []string
	MayPay         bool
	MayIssue       bool
	Today          string
	SeenCredited   string
	Email, Subject string
	Text           string
	Letters        []letterView
	Links          []linkView
	Two            bool // electronically two documents
	Lacks          []stopView
}

type tieView struct{ Path, Text, Amount string }

type creditView struct{ Path, Number, Day, Amount, Why string }

type creditRow struct {
	N            int
	Key          string
	Text, Left   string
	Plain, Total string
}

type letterView struct{ Text string }

func letterWords(l post.Status) letterView {
	out := "To " + l.To + ": " + string(l.State)
	if l.Trouble != "" {
		out += ", " + l.Trouble
	}
	return letterView{out}
}

func (p pages) bill(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[bill.ID](r, "bill")
	if err != nil {
		return err
	}
	return p.billSheet(w, r, http.StatusOK, id, readDoing(r), nil)
}

// billSheet renders a document with one of its forms open.
func (p pages) billSheet(w http.ResponseWriter, r *http.Request, status int, id bill.ID, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	whole, err := p.bills.Whole(r.Context(), who, id)
	if err != nil {
		return err
	}
	v := newBillView(whole, who, d, f)
	if d.verb == "electronic" {
		e, err := p.bills.Electronic(r.Context(), who, id)
		if err != nil {
			return err
		}
		for _, s := range e.Lacks {
			v.Lacks = append(v.Lacks, stopOf(s, bill.Preview{Document: whole.Document}))
		}
	}
	letters, err := p.bills.Letters(r.Context(), who, id)
	if err != nil {
		return err
	}
	for _, l := range letters {
		v.Letters = append(v.Letters, letterWords(l))
	}
	if v.MayIssue {
		if v.Links, err = p.linksOf(r.Context(), who, id); err != nil {
			return err
		}
	}
	page := p.cardFrame(r, v.Doc.Kind+" "+v.Doc.Number, whole.CardID)
	return p.kit.Render(w, r, status, billPage(page, v))
}

func newBillView(b bill.Whole, who actor.Actor, d doing, f *ui.Form) *billView {
	cur := b.Currency.Format
	open := b.Open()
	v := &billView{
		Path: billPath(b.ID), CardPath: cardPath(b.CardID), Form: f, Do: d, Doc: b.Printed(), Mark: b.Word(b.Today), Kind: b.Kind,
		Open: cur(max(open, -open)), OpenPlain: money.FormatPlain(max(open, -open)), Owed: open > 0, Over: open < 0,
		MayPay: who.May(actor.TakePayment) && b.Kind == bill.Bill, MayIssue: who.May(actor.IssueBill), Today: b.Today.String(),
		SeenCredited: money.FormatPlain(b.Credited), Email: b.BuyerEmail, Subject: b.Subject(),
	}
	if who.May(actor.HandOver) {
		v.HandPath = v.CardPath + "/handover"
	}
	if who.May(actor.SeeAccounts) {
		v.AccountPath = accountsPath + "/customers/" + ui.Itoa(b.CustomerID)
	}
	if b.Of != 0 {
		v.OfPath, v.OfText = billPath(b.Of), "Bill "+b.OfNumber
	}
	if v.Owed && b.Due.Before(b.Today) {
		v.Since = "since " + bill.DayWords(b.Due)
	}
	if b.Kept > 0 && v.Owed {
		v.Kept = cur(min(b.Kept, open))
	}
	for _, t := range b.Ties {
		v.Ties = append(v.Ties, tieView{payPath(t.PaymentID), tieWords(t), cur(t.Amount)})
	}
	for _, c := range b.Credits {
		v.Credits = append(v.Credits, creditView{billPath(c.ID), c.Number, bill.DayWords(c.Issued), cur(c.Gross), c.Car})
	}
	v.Credited = true
	for n, i := range b.Items {
		if left := i.Left(); b.Kind == bill.Bill && left != 0 {
			v.Credited = false
			v.Items = append(v.Items, creditRow{N: n, Key: i.Key, Text: i.Text, Left: bill.QuantityWords(left, i.Unit), Plain: money.FormatQuantity(left), Total: cur(i.Net)})
		}
	}
	for _, m := range b.Methods {
		v.Methods = append(v.Methods, m.Name)
	}
	v.Text = b.Letter()
	for _, r := range b.Sum.Totals.ByRate {
		v.Two = v.Two || b.Registered && !r.Code.Taxable() && len(b.Sum.Totals.ByRate) > 1
	}
	return v
}

func tieWords(t bill.Tie) string {
	switch {
	case t.Kind == bill.Received && t.Amount < 0:
		return "Moved to another bill, " + t.Payment + ", " + bill.DayWords(t.Day)
	case t.Kind == bill.Received:
		return "Paid by " + t.Method + ", " + t.Payment + ", " + bill.DayWords(t.Day)
	case t.Kind == bill.Refund:
		return "Given back by " + t.Method + ", " + t.Payment + ", " + bill.DayWords(t.Day)
	}
	return "Undone, " + t.Payment + ", " + bill.DayWords(t.Day)
}

func billTarget(r *http.Request) (bill.ID, actor.Actor, *ui.Form, error) {
	id, err := ui.PathID[bill.ID](r, "bill")
	if err != nil {
		return 0, actor.Actor{}, nil, err
	}
	who, err := ui.Writer(r)
	return id, who, ui.ReadForm(r), err
}

// creditLines reads which lines of a bill are credited and how much of each.
func creditLines(f *ui.Form) map[string]int64 {
	out := map[string]int64{}
	for _, row := range f.Rows("line", 1000) {
		key := row.Str("key", 60)
		if key == "" || !row.Bool("on") {
			continue
		}
		q := readQty(row)
		out[key] = q
	}
	return out
}

// readQty reads a quantity; what was given back counts below nothing.
func readQty(row *ui.Form) int64 {
	return ui.Read(row, "qty", func(s string) (int64, error) {
		if len(s) > 1 && s[0] == '-' {
			n, err := money.ParseQuantity(s[1:])
			return -n, err
		}
		return money.ParseQuantity(s)
	})
}

func (p pages) credit(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := billTarget(r)
	if err != nil {
		return err
	}
	in := bill.CreditInput{BillID: id, Whole: f.OneOf("what", "whole", "lines") == "whole", Why: f.Str("why", bill.MaxWhy)}
	f.Required("what", "why")
	if !in.Whole {
		in.Lines = creditLines(f)
	}
	if f.Get("seen") != "" {
		seen := f.Money("seen")
		in.Seen = &seen
	}
	var done bill.Issued
	if err = f.Err(); err == nil {
		done, err = p.bills.Credit(r.Context(), who, in)
	}
	return p.reply(w, r, f, billPath(done.ID), "Credit note "+done.Number+" issued", err, func(status int) error {
		return p.billSheet(w, r, status, id, doing{verb: "credit"}, f)
	})
}

func (p pages) send(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := billTarget(r)
	if err != nil {
		return err
	}
	in := bill.SendInput{BillID: id, To: f.Str("to", 254), Text: f.Text("text", post.MaxText), WithXML: f.Bool("with_xml")}
	f.Required("to", "text")
	if err = f.Err(); err == nil {
		_, err = p.bills.Send(r.Context(), who, in)
	}
	return p.reply(w, r, f, billPath(id), "Put in the post", err, func(status int) error {
		return p.billSheet(w, r, status, id, doing{verb: "send"}, f)
	})
}
