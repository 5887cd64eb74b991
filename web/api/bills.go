package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/post"
)

func init() {
	words("BillKind", "What a document is.", bill.Bill, bill.CreditNote)
	words("BillForm", "The lawful form of a document.", bill.Full, bill.Simplified, bill.CreditForm, bill.WithoutVAT)
	words("BillPlace", "Where something that stops a bill is put right.", bill.AtGarage, bill.AtTerms, bill.AtCustomer, bill.AtParty, bill.AtCard)
	words("PaymentKind", "What an entry of money is.", bill.Received, bill.Refund, bill.Reversal)
	words("NumberSeries", "A series of numbers.", bill.Bills, bill.Credits, bill.Receipts)
}

// BillAt and PaymentAt are things of the bills in the address.
type (
	BillAt struct {
		Bill bill.ID `path:"bill" minimum:"1"`
	}
	PaymentAt struct {
		Payment bill.PaymentID `path:"payment" minimum:"1"`
	}
)

// BillList lists documents.
type BillList struct {
	Bills []BillInList `json:"bills"`
}

// PaymentList lists entries of money.
type PaymentList struct {
	Payments []PaymentDoc `json:"payments"`
}

// NumberChecks says of each series whether every number is there.
type NumberChecks struct {
	Series []NumberCheck `json:"series"`
}

// NumberCheck is one series of numbers.
type NumberCheck struct {
	Series  bill.SeriesName `json:"series"`
	Given   int64           `json:"given" doc:"The last number given out."`
	Found   int64           `json:"found" doc:"How many documents there are."`
	Missing []int64         `json:"missing" doc:"Numbers that no document has, the first twenty."`
	Holds   bool            `json:"holds"`
}

// IssueBody issues a bill.
type IssueBody struct {
	Form bill.Form    `json:"form,omitempty" doc:"Full or simplified; by what is missing when left out."`
	Seen *money.Minor `json:"seen_gross_minor,omitempty" nullable:"true" doc:"What it came to when it was looked at: another amount by now is a conflict."`
}

// NoChargeBody makes a line that was done without being agreed free of charge.
type NoChargeBody struct {
	LineID jobcard.LineID `json:"line_id"`
	Reason string         `json:"reason,omitempty" maxLength:"400" doc:"As the customer may read it."`
	Undo   bool           `json:"undo,omitempty" doc:"Charge for it after all."`
}

// BillCreditBody credits a bill.
type BillCreditBody struct {
	Whole bool             `json:"whole,omitempty" doc:"All that is left of the bill."`
	Lines map[string]int64 `json:"lines,omitempty" doc:"Or quantities of its lines by key, in thousandths with the sign that the line has."`
	Why   string           `json:"why" maxLength:"400"`
}

// TakeBody notes a payment: on a bill, on a card as a deposit, or on a
// customer's account.
type TakeBody struct {
	BillID     bill.ID        `json:"bill_id,omitempty"`
	CardID     jobcard.CardID `json:"card_id,omitempty" doc:"A deposit, before there is a bill."`
	CustomerID customer.ID    `json:"customer_id,omitempty" doc:"On account: it pays what has been due longest."`
	MoneyBody
	Keep bool `json:"keep,omitempty" doc:"More than is owed is meant: keep the rest for the customer."`
}

// MoneyBody is what every entry of money has.
type MoneyBody struct {
	Amount    money.Minor `json:"amount_minor"`
	Method    string      `json:"method" maxLength:"400" doc:"One of the ways to pay, such as cash or card."`
	Day       Day         `json:"day,omitzero" doc:"Today when left out."`
	Reference string      `json:"reference,omitempty" maxLength:"400"`
}

// RefundBody gives money back of a bill or of a payment.
type RefundBody struct {
	BillID    bill.ID        `json:"bill_id,omitempty"`
	PaymentID bill.PaymentID `json:"payment_id,omitempty"`
	MoneyBody
	Why string `json:"why" maxLength:"400"`
}

// WhyBody is the reason for undoing something.
type WhyBody struct {
	Why string `json:"why" maxLength:"400"`
}

// BillLetterBody sends a document by mail.
type BillLetterBody struct {
	To      string `json:"to" maxLength:"400"`
	Text    string `json:"text,omitempty" maxLength:"8000" doc:"The letter; the usual one when left out."`
	WithXML bool   `json:"with_electronic,omitempty" doc:"With the electronic invoice as well."`
}

// BillLetter is a letter that was put in the post.
type BillLetter struct {
	LetterID post.ID `json:"letter_id"`
}

func (a *API) billOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/bills", id: "list-bills", need: actor.ReadPeople, tag: "Bills", short: "Bills and credit notes, the newest first",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Find     string      `query:"find" maxLength:"100" doc:"Part of a number, a name or a mark."`
		Unpaid   bool        `query:"unpaid"`
		Customer customer.ID `query:"customer_id"`
		Card     int64       `query:"card_id"`
		Before   bill.ID     `query:"before" doc:"Go on from this id."`
		Limit    int         `query:"limit" minimum:"0" maximum:"200"`
	}) (BillList, error) {
		all, err := a.Bills.List(ctx, who, bill.Filter{Find: in.Find, Unpaid: in.Unpaid, Customer: in.Customer, Card: in.Card, Before: in.Before, Limit: in.Limit})
		return BillList{list(all, billInListOf)}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/bills/{bill}", id: "get-bill", need: actor.ReadPeople, tag: "Bills", short: "A bill or a credit note as it was issued, and what was paid",
	}, func(ctx context.Context, who actor.Actor, in *BillAt) (BillDoc, error) {
		w, err := a.Bills.Whole(ctx, who, in.Bill)
		return billDocOf(w.Document, w.Ties), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/bill-numbers", id: "check-bill-numbers", need: actor.SeeAccounts, tag: "Bills", short: "Whether every number given out is on one document",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (NumberChecks, error) {
		all, err := a.Bills.Numbers(ctx, who)
		return NumberChecks{list(all, func(t bill.Trouble) NumberCheck {
			return NumberCheck{t.Series, t.Given, t.Found, list(t.Missing, same[int64]), t.Holds()}
		})}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/bill", id: "preview-bill", need: actor.IssueBill, tag: "Bills", short: "The bill of a card as it would be issued now, and what stops it",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (BillPreview, error) {
		p, err := a.Bills.Preview(ctx, who, in.Card, "")
		return billPreviewOf(p), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/bill", id: "issue-bill", need: actor.IssueBill, tag: "Bills", status: http.StatusCreated,
		short: "Issue the bill of what was agreed and done on a card", long: "It gets its number and is never changed: a credit note corrects it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body IssueBody
	}) (BillMade, error) {
		return billMade(a.Bills.Issue(ctx, who, bill.IssueInput{CardID: in.Card, Form: in.Body.Form, Seen: in.Body.Seen}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/cards/{card}/bill/no-charge", id: "charge-nothing", need: actor.IssueBill, tag: "Bills",
		short: "Charge nothing for a line that was done without being agreed",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		CardAt
		Body NoChargeBody
	}) (Changed, error) {
		c, err := a.Bills.Free(ctx, who, bill.FreeInput{CardID: in.Card, LineID: in.Body.LineID, Reason: in.Body.Reason, Undo: in.Body.Undo})
		return Changed(c), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/bills/{bill}/credit-notes", id: "credit-bill", need: actor.IssueBill, tag: "Bills", status: http.StatusCreated, short: "Credit a bill, whole or in part",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		BillAt
		Body BillCreditBody
	}) (BillMade, error) {
		return billMade(a.Bills.Credit(ctx, who, bill.CreditInput{BillID: in.Bill, Whole: in.Body.Whole, Lines: in.Body.Lines, Why: in.Body.Why}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/bills/{bill}/use-credit", id: "use-credit", need: actor.TakePayment, tag: "Bills", short: "Set what is kept for the customer against a bill",
	}, func(ctx context.Context, who actor.Actor, in *BillAt) (MoneyMade, error) {
		return moneyMade(a.Bills.Use(ctx, who, bill.UseInput{BillID: in.Bill}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/bills/{bill}/letters", id: "send-bill", need: actor.IssueBill, tag: "Bills", status: http.StatusCreated,
		short: "Send a bill or a credit note by mail, as PDF", long: "The letter is sent after this has answered; the letters tell what became of it.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		BillAt
		Body BillLetterBody
	}) (BillLetter, error) {
		id, err := a.Bills.Send(ctx, who, bill.SendInput{BillID: in.Bill, To: in.Body.To, Text: in.Body.Text, WithXML: in.Body.WithXML})
		return BillLetter{id}, err
	})
	a.billFile()
	a.electronicBill("/bills/{bill}/electronic", "get-electronic-bill", "A bill as an electronic invoice (EN 16931 in UBL, Peppol BIS Billing 3.0)", false)
	a.electronicBill("/bills/{bill}/electronic/outside", "get-electronic-bill-outside", "The second electronic invoice of a bill that mixes what is taxed with what lies outside the scope of VAT", true)
	a.paymentOperations()
}

// billFile registers a document as PDF.
func (a *API) billFile() {
	d := a.declare(operation{method: http.MethodGet, path: "/bills/{bill}/pdf", id: "get-bill-pdf", need: actor.ReadPeople, tag: "Bills", short: "A bill or a credit note on A4, as PDF"})
	d.Responses["200"] = &huma.Response{Description: "The document.", Content: map[string]*huma.MediaType{
		"application/pdf": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *BillAt) (*huma.StreamResponse, error) {
		doc, err := a.Bills.Read(ctx, whoAsks(ctx), in.Bill)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		pdf, err := doc.PDF()
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			c.SetHeader("Content-Type", "application/pdf")
			_, _ = c.BodyWriter().Write(pdf) // a failure is a client that went away
		}}, nil
	})
}

func (a *API) paymentOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/payments", id: "list-payments", need: actor.ReadPeople, tag: "Bills", short: "Payments, refunds and contrary entries, the newest first",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Customer int64          `query:"customer_id"`
		Card     jobcard.CardID `query:"card_id"`
		Kept     bool           `query:"kept" doc:"Only those with something set against no bill."`
		Before   bill.PaymentID `query:"before"`
		Limit    int            `query:"limit" minimum:"0" maximum:"200"`
	}) (PaymentList, error) {
		all, err := a.Bills.Payments(ctx, who, bill.PaymentFilter{Customer: in.Customer, Card: in.Card, Kept: in.Kept, Before: in.Before, Limit: in.Limit})
		return PaymentList{list(all, paymentDocOf)}, err
	})
	register(a, operation{
		method: http.MethodGet, path: "/payments/{payment}", id: "get-payment", need: actor.ReadPeople, tag: "Bills", short: "One entry of money, with the VAT in a deposit",
	}, func(ctx context.Context, who actor.Actor, in *PaymentAt) (PaymentDoc, error) {
		p, err := a.Bills.Payment(ctx, who, in.Payment)
		return paymentDocOf(p), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/payments", id: "take-payment", need: actor.TakePayment, tag: "Bills", status: http.StatusCreated, short: "Note a payment on a bill, a deposit on a card, or money on account",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body TakeBody }) (MoneyMade, error) {
		b := in.Body
		return moneyMade(a.Bills.Take(ctx, who, bill.TakeInput{
			BillID: b.BillID, CardID: b.CardID, CustomerID: b.CustomerID, Amount: b.Amount, Method: b.Method, Day: b.Day.Day, Reference: b.Reference, Keep: b.Keep,
		}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/refunds", id: "give-money-back", need: actor.TakePayment, tag: "Bills", status: http.StatusCreated, short: "Give back what was paid too much on a bill, or what is left of a payment",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body RefundBody }) (MoneyMade, error) {
		b := in.Body
		return moneyMade(a.Bills.Refund(ctx, who, bill.RefundInput{
			BillID: b.BillID, PaymentID: b.PaymentID, Amount: b.Amount, Method: b.Method, Day: b.Day.Day, Reference: b.Reference, Why: b.Why,
		}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/payments/{payment}/reverse", id: "undo-payment", need: actor.TakePayment, tag: "Bills", status: http.StatusCreated,
		short: "Undo an entry that was wrong by its contrary",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PaymentAt
		Body WhyBody
	}) (MoneyMade, error) {
		return moneyMade(a.Bills.Reverse(ctx, who, bill.ReverseInput{PaymentID: in.Payment, Why: in.Body.Why}))
	})
}

// electronicBill registers the download of an electronic invoice.
func (a *API) electronicBill(path, id, short string, outside bool) {
	d := a.declare(operation{method: http.MethodGet, path: path, id: id, need: actor.ReadPeople, tag: "Bills", short: short})
	d.Responses["200"] = &huma.Response{Description: "The invoice.", Content: map[string]*huma.MediaType{
		"application/xml": {Schema: &huma.Schema{Type: huma.TypeString}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *BillAt) (*huma.StreamResponse, error) {
		e, err := a.Bills.Electronic(ctx, whoAsks(ctx), in.Bill)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		doc, err := e.File(outside)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			c.SetHeader("Content-Type", "application/xml")
			_, _ = c.BodyWriter().Write(doc) // a failure is a client that went away
		}}, nil
	})
}
