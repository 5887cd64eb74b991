package billweb

import (
	"net/http"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/paper"
	"rampside/web/ui"
)

type previewView struct {
	Path, Card string
	Form       *ui.Form
	Do         doing
	Doc        paper.Bill
	Lines      int
	Ready      bool
	Stops      []stopView
	Left       []leftView
	Free       []freeView
	Bills      []listRow
	Forms      []ui.Option
	FormNow    string
	Gross      string // as a field has it
	GrossSaid  string
	Kept       string
	SaidBy     string
	Rates      string
}

type stopView struct {
	Says, Rule string
	Path, Link string
	LineID     int64
	Title      string
}

type leftView struct{ Text, Why, Path string }

type freeView struct {
	LineID        int64
	Title, Reason string
}

func (p pages) preview(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	q := ui.ReadQuery(r)
	form := ui.OneOf(q, "form", bill.Full, bill.Simplified)
	return p.previewSheet(w, r, http.StatusOK, id, form, readDoing(r), nil)
}

func (p pages) previewSheet(w http.ResponseWriter, r *http.Request, status int, id jobcard.CardID, form bill.Form, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	pv, err := p.bills.Preview(r.Context(), who, id, form)
	if err != nil {
		return err
	}
	v := newPreview(pv, d, f)
	return p.kit.Render(w, r, status, previewPage(p.cardFrame(r, "Bill of card "+ui.Itoa(id), id), v))
}

func newPreview(pv bill.Preview, d doing, f *ui.Form) *previewView {
	card := cardPath(pv.CardID)
	v := &previewView{
		Path: card + "/bill", Card: ui.Itoa(pv.CardID), Form: f, Do: d, Doc: pv.Printed(), Lines: len(pv.Items), Ready: pv.Ready(),
		Gross: money.FormatPlain(pv.Sum.Totals.Gross), GrossSaid: pv.Currency.Format(pv.Sum.Totals.Gross), FormNow: string(pv.Form), SaidBy: pv.Customer.Name, Rates: pv.RatesNote,
	}
	v.Doc.Number = ""
	if pv.MaySimplify {
		v.Forms = []ui.Option{
			{Value: string(bill.Full), Label: "Full VAT invoice", Hint: "for a customer who takes the VAT back; names their address"},
			{Value: string(bill.Simplified), Label: "Simplified VAT invoice", Hint: "up to £250.00 with VAT; needs no address"},
		}
	}
	for _, s := range pv.Stops {
		v.Stops = append(v.Stops, stopOf(s, pv))
	}
	for _, l := range pv.Left {
		x := leftView{Text: l.Text, Why: l.Why}
		if l.BillID != 0 {
			x.Path = billPath(l.BillID)
		}
		v.Left = append(v.Left, x)
	}
	for _, i := range pv.Items {
		if reason, ok := pv.Free[i.LineID]; ok && i.PartID == 0 {
			v.Free = append(v.Free, freeView{int64(i.LineID), i.Text, reason})
		}
	}
	for _, b := range pv.Bills {
		v.Bills = append(v.Bills, rowOf(b, pv.Issued))
	}
	if pv.OnAccount > pv.Sum.Paid {
		v.Kept = pv.Currency.Format(pv.OnAccount - pv.Sum.Paid)
	}
	return v
}

func stopOf(s bill.Stop, pv bill.Preview) stopView {
	v := stopView{Says: s.Says, Rule: s.Rule, LineID: int64(s.LineID)}
	if s.LineID != 0 {
		v.Title = strings.Trim(strings.SplitN(s.Says, "” ", 2)[0], "“")
	}
	switch s.Where {
	case bill.AtGarage:
		v.Path, v.Link = "/garage/settings", "Fill it in under Garage"
	case bill.AtTerms:
		v.Path, v.Link = termsPath, "Fill it in under what stands on every bill"
	case bill.AtCustomer:
		v.Path, v.Link = "/customers/"+ui.Itoa(pv.CustomerID), "Fill it in with the customer"
	case bill.AtParty:
		v.Path, v.Link = partyPath(pv.CustomerID), "Fill it in with the customer's bills"
	default:
		v.Path, v.Link = cardPath(pv.CardID), "Open the card"
	}
	return v
}

func cardTarget(r *http.Request) (jobcard.CardID, actor.Actor, *ui.Form, error) {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return 0, actor.Actor{}, nil, err
	}
	who, err := ui.Writer(r)
	return id, who, ui.ReadForm(r), err
}

func (p pages) issue(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := cardTarget(r)
	if err != nil {
		return err
	}
	in := bill.IssueInput{CardID: id, Form: ui.OneOf(f, "form", bill.Full, bill.Simplified)}
	if f.Get("seen") != "" {
		seen := f.Money("seen")
		in.Seen = &seen
	}
	var done bill.Issued
	if err = f.Err(); err == nil {
		done, err = p.bills.Issue(r.Context(), who, in)
	}
	return p.reply(w, r, f, billPath(done.ID), "Bill "+done.Number+" issued", err, func(status int) error {
		return p.previewSheet(w, r, status, id, in.Form, doing{}, f)
	})
}

func (p pages) free(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := cardTarget(r)
	if err != nil {
		return err
	}
	in := bill.FreeInput{CardID: id, LineID: jobcard.LineID(f.ID("line")), Reason: f.Str("reason", bill.MaxShort), Undo: f.Bool("undo")}
	f.Required("line")
	if !in.Undo {
		f.Required("reason")
	}
	if err = f.Err(); err == nil {
		_, err = p.bills.Free(r.Context(), who, in)
	}
	said := "Not charged for"
	if in.Undo {
		said = "Charged for after all"
	}
	return p.reply(w, r, f, cardPath(id)+"/bill", said, err, func(status int) error {
		return p.previewSheet(w, r, status, id, "", doing{"free", int64(in.LineID)}, f)
	})
}

// agreed records that the customer agreed to a line that was done.
func (p pages) agreed(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := cardTarget(r)
	if err != nil {
		return err
	}
	line := jobcard.LineID(f.ID("line"))
	in := jobcard.ConsentInput{
		CardID: id, Lines: []jobcard.LineID{line}, Answer: jobcard.Agreed, SaidBy: f.Str("said_by", jobcard.MaxShort), How: f.OneOf("how", jobcard.Ways...),
	}
	f.Required("line", "said_by", "how")
	if err = f.Err(); err == nil {
		_, err = p.cards.Answer(r.Context(), who, in)
	}
	return p.reply(w, r, f, cardPath(id)+"/bill", "Agreement recorded", err, func(status int) error {
		return p.previewSheet(w, r, status, id, "", doing{"agreed", int64(line)}, f)
	})
}
