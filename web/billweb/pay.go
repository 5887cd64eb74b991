package billweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/paper"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// readTaken reads what every form of money has.
func readTaken(f *ui.Form) (m money.Minor, method string, day workday.Day, ref string) {
	m, method, ref = f.Money("amount"), f.Str("method", bill.MaxShort), f.Str("reference", bill.MaxShort)
	day = ui.Read(f, "day", workday.Parse)
	f.Required("amount", "method")
	return m, method, day, ref
}

func (p pages) pay(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := billTarget(r)
	if err != nil {
		return err
	}
	in := bill.TakeInput{BillID: id, Keep: f.Bool("keep")}
	in.Amount, in.Method, in.Day, in.Reference = readTaken(f)
	var done bill.Taken
	if err = f.Err(); err == nil {
		done, err = p.bills.Take(r.Context(), who, in)
	}
	said := "Payment noted, receipt " + done.Number
	if done.Left > 0 {
		said += ", with more than was owed: the rest is kept for the customer"
	}
	return p.reply(w, r, f, billPath(id), said, err, func(status int) error {
		return p.billSheet(w, r, status, id, doing{verb: "pay"}, f)
	})
}

func (p pages) use(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := billTarget(r)
	if err != nil {
		return err
	}
	_, err = p.bills.Use(r.Context(), who, bill.UseInput{BillID: id})
	return p.reply(w, r, f, billPath(id), "Set against this bill", err, func(status int) error {
		return p.billSheet(w, r, status, id, doing{}, f)
	})
}

func (p pages) refundBill(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := billTarget(r)
	if err != nil {
		return err
	}
	in := bill.RefundInput{BillID: id, Why: f.Str("why", bill.MaxWhy)}
	in.Amount, in.Method, in.Day, in.Reference = readTaken(f)
	f.Required("why")
	var done bill.Taken
	if err = f.Err(); err == nil {
		done, err = p.bills.Refund(r.Context(), who, in)
	}
	return p.reply(w, r, f, billPath(id), "Given back, "+done.Number, err, func(status int) error {
		return p.billSheet(w, r, status, id, doing{verb: "refund"}, f)
	})
}

type depositView struct {
	Path, CardPath, Card string
	Form                 *ui.Form
	Customer, Car        string
	Methods              []string
	Today                string
	Payments             []paymentRow
	Registered           bool
	Unpriced             string // the rate that all of it has
}

type paymentRow struct{ Path, Number, Day, How, Amount, Left, Word string }

func (p pages) deposit(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	return p.depositSheet(w, r, http.StatusOK, id, nil)
}

func (p pages) depositSheet(w http.ResponseWriter, r *http.Request, status int, id jobcard.CardID, f *ui.Form) error {
	d, err := p.bills.Paying(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	v := &depositView{
		Path: cardPath(id) + "/deposit", CardPath: cardPath(id), Card: ui.Itoa(id), Form: f, Customer: d.Customer, Car: d.Car, Today: d.Today.String(),
		Registered: d.Garage.VATNumber != "",
	}
	if d.Unpriced != nil {
		v.Unpriced = d.Unpriced.String()
	}
	for _, m := range d.Methods {
		v.Methods = append(v.Methods, m.Name)
	}
	for _, one := range d.Payments {
		v.Payments = append(v.Payments, paymentRowOf(one))
	}
	return p.kit.Render(w, r, status, depositPage(p.cardFrame(r, "Deposit on card "+v.Card, id), v))
}

func paymentRowOf(p bill.Payment) paymentRow {
	r := paymentRow{Path: payPath(p.ID), Number: p.Number, Day: bill.DayWords(p.Day), How: p.Method, Amount: p.Currency.Format(p.Amount), Word: paymentWord(p)}
	if p.Left > 0 {
		r.Left = p.Currency.Format(p.Left)
	}
	return r
}

func paymentWord(p bill.Payment) string {
	switch {
	case p.ReversedBy != 0:
		return "undone"
	case p.Kind == bill.Reversal:
		return "contrary entry"
	case p.Kind == bill.Refund:
		return "given back"
	case p.Deposit():
		return "deposit"
	}
	return "payment"
}

func (p pages) takeDeposit(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := cardTarget(r)
	if err != nil {
		return err
	}
	in := bill.TakeInput{CardID: id}
	in.Amount, in.Method, in.Day, in.Reference = readTaken(f)
	var done bill.Taken
	if err = f.Err(); err == nil {
		done, err = p.bills.Take(r.Context(), who, in)
	}
	return p.reply(w, r, f, payPath(done.ID), "Deposit noted, receipt "+done.Number, err, func(status int) error {
		return p.depositSheet(w, r, status, id, f)
	})
}

type receiptView struct {
	Path, Title   string
	Form          *ui.Form
	Do            doing
	Word          string
	From          paper.Party
	Facts         [][2]string
	Taxes         []paper.Tax
	Ties          []tieView
	CardPath      string
	Others        []tieView
	MayUndo       bool
	MayRefund     bool
	Left, Plain   string
	Methods       []string
	Today, Amount string
}

func (p pages) receipt(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[bill.PaymentID](r, "payment")
	if err != nil {
		return err
	}
	return p.receiptSheet(w, r, http.StatusOK, id, readDoing(r), nil)
}

func (p pages) receiptSheet(w http.ResponseWriter, r *http.Request, status int, id bill.PaymentID, d doing, f *ui.Form) error {
	who := ui.Who(r.Context())
	rec, err := p.bills.Receipt(r.Context(), who, id)
	if err != nil {
		return err
	}
	v := newReceipt(rec, who, d, f)
	return p.kit.Render(w, r, status, receiptPage(p.frame(r, v.Title), v))
}

func newReceipt(rec bill.Receipt, who actor.Actor, d doing, f *ui.Form) *receiptView {
	one, set := rec.Payment, rec.Garage
	cur := one.Currency.Format
	v := &receiptView{
		Path: payPath(one.ID), Title: "Receipt " + one.Number, Form: f, Do: d, Word: paymentWord(one), Today: set.Today(rec.Now).String(), Amount: cur(one.Amount),
		From: paper.Party{Name: set.Name, Phone: set.Phone, Email: set.Email, Address: bill.Lines(set.Address)},
	}
	if set.VATNumber != "" {
		v.From.VATNumber = bill.Party{VATNumber: set.VATNumber, Country: rec.Terms.Country}.VATWords()
	}
	if one.Kind != bill.Received {
		v.Title = "Entry " + one.Number
	}
	add := func(label, value string) {
		if value != "" {
			v.Facts = append(v.Facts, [2]string{label, value})
		}
	}
	add("Number", one.Number)
	add("Day", bill.DayWords(one.Day))
	add("From", one.CustomerName)
	add("Amount", cur(one.Amount))
	add("By", one.Method)
	add("Reference", one.Reference)
	add("Why", one.Why)
	add("Taken by", one.TakenBy)
	if one.CardID != 0 {
		v.CardPath = cardPath(one.CardID)
		add("Deposit on card", ui.Itoa(one.CardID))
	}
	for _, t := range one.Taxes {
		v.Taxes = append(v.Taxes, paper.Tax{Label: bill.RateWords(t.Code, t.Rate), Net: cur(t.Net), VAT: cur(t.VAT)})
	}
	for _, t := range one.Tied {
		v.Ties = append(v.Ties, tieView{billPath(t.BillID), "Bill " + t.Bill, cur(t.Amount)})
	}
	for label, id := range map[string]bill.PaymentID{"Undone by the contrary entry": one.ReversedBy, "Undoes the entry": one.Reverses, "Gives back of": one.Refunds} {
		if id != 0 {
			v.Others = append(v.Others, tieView{Path: payPath(id), Text: label})
		}
	}
	may := who.May(actor.TakePayment)
	v.MayUndo = may && one.ReversedBy == 0 && one.Kind != bill.Reversal
	v.MayRefund = may && one.Left > 0
	v.Left, v.Plain = cur(one.Left), money.FormatPlain(one.Left)
	for _, m := range rec.Methods {
		v.Methods = append(v.Methods, m.Name)
	}
	return v
}

func paymentTarget(r *http.Request) (bill.PaymentID, actor.Actor, *ui.Form, error) {
	id, err := ui.PathID[bill.PaymentID](r, "payment")
	if err != nil {
		return 0, actor.Actor{}, nil, err
	}
	who, err := ui.Writer(r)
	return id, who, ui.ReadForm(r), err
}

func (p pages) reverse(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := paymentTarget(r)
	if err != nil {
		return err
	}
	in := bill.ReverseInput{PaymentID: id, Why: f.Str("why", bill.MaxWhy)}
	f.Required("why")
	var done bill.Taken
	if err = f.Err(); err == nil {
		done, err = p.bills.Reverse(r.Context(), who, in)
	}
	return p.reply(w, r, f, payPath(id), "Undone by the contrary entry "+done.Number, err, func(status int) error {
		return p.receiptSheet(w, r, status, id, doing{verb: "reverse"}, f)
	})
}

func (p pages) refundPayment(w http.ResponseWriter, r *http.Request) error {
	id, who, f, err := paymentTarget(r)
	if err != nil {
		return err
	}
	in := bill.RefundInput{PaymentID: id, Why: f.Str("why", bill.MaxWhy)}
	in.Amount, in.Method, in.Day, in.Reference = readTaken(f)
	f.Required("why")
	var done bill.Taken
	if err = f.Err(); err == nil {
		done, err = p.bills.Refund(r.Context(), who, in)
	}
	return p.reply(w, r, f, payPath(id), "Given back, "+done.Number, err, func(status int) error {
		return p.receiptSheet(w, r, status, id, doing{verb: "refund"}, f)
	})
}
