package api

import (
	"rampside/internal/bill"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// BillInList is one document in a list. Credit notes are below nothing.
type BillInList struct {
	ID         bill.ID     `json:"id"`
	Kind       bill.Kind   `json:"kind"`
	Number     string      `json:"number"`
	CardID     int64       `json:"card_id"`
	CustomerID customer.ID `json:"customer_id"`
	Buyer      string      `json:"buyer"`
	Car        string      `json:"car"`
	Issued     Day         `json:"issued"`
	Due        Day         `json:"due"`
	Of         bill.ID     `json:"of_bill_id,omitempty" doc:"The bill that a credit note corrects."`
	Currency   string      `json:"currency"`
	Gross      money.Minor `json:"gross_minor"`
	Credited   money.Minor `json:"credited_minor"`
	Paid       money.Minor `json:"paid_minor"`
	Open       money.Minor `json:"open_minor" doc:"Still owed; below 0 it was paid too much."`
}

func billInListOf(r bill.Row) BillInList {
	return BillInList{r.ID, r.Kind, r.Number, r.CardID, r.CustomerID, r.Buyer, r.Car, on(r.Issued), on(r.Due), r.Of, r.Currency.Code(), r.Gross, r.Credited, r.Paid, r.Open}
}

// BillDoc is a document as it was issued.
type BillDoc struct {
	ID         bill.ID        `json:"id,omitempty"`
	Kind       bill.Kind      `json:"kind"`
	Form       bill.Form      `json:"form,omitempty"`
	Number     string         `json:"number,omitempty"`
	CardID     jobcard.CardID `json:"card_id"`
	CustomerID customer.ID    `json:"customer_id"`
	Of         bill.ID        `json:"of_bill_id,omitempty"`
	Why        string         `json:"why,omitempty"`
	Issued     Day            `json:"issued"`
	TaxPoint   Day            `json:"tax_point" doc:"The time of supply for VAT."`
	Due        Day            `json:"due"`
	Currency   string         `json:"currency"`
	Registered bool           `json:"registered" doc:"Whether the garage was registered for VAT."`
	Seller     BillParty      `json:"seller"`
	Buyer      BillParty      `json:"buyer"`
	Car        string         `json:"car"`
	Lines      []BillLine     `json:"lines"`
	OnTop      []BillChange   `json:"on_top" doc:"Discounts and surcharges on the whole, at each rate of VAT."`
	LineNet    money.Minor    `json:"line_net_minor"`
	Totals     Totals         `json:"totals"`
	Deposits   money.Minor    `json:"deposits_minor" doc:"Set off when it was issued, VAT included."`
	Credited   money.Minor    `json:"credited_minor"`
	Paid       money.Minor    `json:"paid_minor"`
	Open       money.Minor    `json:"open_minor"`
	Payments   []PaymentOn    `json:"payments"`
}

// BillParty is the garage or the customer as a document names them.
type BillParty struct {
	Name      string `json:"name"`
	Address   string `json:"address"`
	VATNumber string `json:"vat_number,omitempty"`
}

// BillLine is one line of a document.
type BillLine struct {
	Key      string         `json:"key" doc:"By which a credit names it."`
	LineID   jobcard.LineID `json:"line_id,omitempty"`
	PartID   jobcard.PartID `json:"part_id,omitempty"`
	Text     string         `json:"text"`
	Qty      int64          `json:"qty_milli"`
	Unit     string         `json:"unit"`
	Price    money.Minor    `json:"price_minor" doc:"Of per_milli thousandths of the unit, net."`
	Per      int64          `json:"per_milli"`
	VATCode  money.VATCode  `json:"vat_code"`
	Rate     money.Rate     `json:"rate_bp"`
	List     money.Minor    `json:"list_minor"`
	Changes  []BillChange   `json:"changes"`
	Net      money.Minor    `json:"net_minor"`
	Credited int64          `json:"credited_milli"`
}

// BillChange is a discount, or a surcharge when up.
type BillChange struct {
	Text    string      `json:"text"`
	Up      bool        `json:"up"`
	Percent money.Rate  `json:"percent_bp,omitempty"`
	Amount  money.Minor `json:"amount_minor"`
	Rate    money.Rate  `json:"rate_bp,omitempty"`
}

// PaymentOn is money set against a document.
type PaymentOn struct {
	PaymentID bill.PaymentID   `json:"payment_id"`
	Number    string           `json:"number"`
	Kind      bill.PaymentKind `json:"kind"`
	Method    string           `json:"method"`
	BillID    bill.ID          `json:"bill_id"`
	Bill      string           `json:"bill"`
	Amount    money.Minor      `json:"amount_minor"`
	Day       Day              `json:"day"`
}

func paymentOnOf(t bill.Tie) PaymentOn {
	return PaymentOn{t.PaymentID, t.Payment, t.Kind, t.Method, t.BillID, t.Bill, t.Amount, on(t.Day)}
}

func changeOf(a pricing.Adjusted) BillChange {
	return BillChange{Text: a.Text, Up: a.Up, Percent: a.Percent, Amount: a.Amount}
}

func billDocOf(d bill.Document, ties []bill.Tie) BillDoc {
	s := d.Sum
	return BillDoc{
		ID: d.ID, Kind: d.Kind, Form: d.Form, Number: d.Number, CardID: d.CardID, CustomerID: d.CustomerID, Of: d.Of, Why: d.Why, Issued: on(d.Issued), TaxPoint: on(d.TaxPoint),
		Due: on(d.Due), Currency: d.Currency.Code(), Registered: d.Registered,
		Seller: BillParty{d.Seller.Name, d.Seller.Address, d.Seller.VATNumber}, Buyer: BillParty{d.Buyer.Name, d.Buyer.Address, d.Buyer.VATNumber}, Car: d.Car,
		Lines: list(d.Items, func(i bill.Item) BillLine {
			return BillLine{
				i.Key, i.LineID, i.PartID, i.Text, i.Qty, string(i.Unit), i.Price, i.Per, i.VAT.Code, i.VAT.Rate, i.List, list(i.Adjust, changeOf), i.Net, i.Credited,
			}
		}),
		OnTop: list(s.Card, func(a pricing.CardAdjusted) BillChange {
			c := changeOf(a.Adjusted)
			c.Rate = a.VAT.Rate
			return c
		}),
		LineNet: s.LineNet, Totals: totalsOf(s.Totals), Deposits: s.Paid, Credited: d.Credited, Paid: d.Paid, Open: d.Open(), Payments: list(ties, paymentOnOf),
	}
}

// BillPreview is a bill as it would be issued now.
type BillPreview struct {
	Bill        BillDoc    `json:"bill"`
	Ready       bool       `json:"ready"`
	Stops       []BillStop `json:"stops" doc:"What keeps it from being issued."`
	Left        []BillLeft `json:"left" doc:"What of the card is not on it."`
	MaySimplify bool       `json:"may_simplify" doc:"The simplified form is allowed."`
}

// BillStop is one thing that keeps a bill from being issued.
type BillStop struct {
	Says   string         `json:"says"`
	Rule   string         `json:"rule,omitempty"`
	Where  bill.Where     `json:"where"`
	LineID jobcard.LineID `json:"line_id,omitempty" doc:"The line that was done without being agreed."`
}

// BillLeft is something of a card that is not on its bill.
type BillLeft struct {
	Text   string  `json:"text"`
	Why    string  `json:"why"`
	BillID bill.ID `json:"bill_id,omitempty" doc:"The bill that it stands on already."`
}

func billPreviewOf(p bill.Preview) BillPreview {
	return BillPreview{
		billDocOf(p.Document, nil), p.Ready(), list(p.Stops, func(s bill.Stop) BillStop { return BillStop(s) }),
		list(p.Left, func(l bill.Left) BillLeft { return BillLeft(l) }), p.MaySimplify,
	}
}

// BillMade is a document that was issued.
type BillMade struct {
	ID     bill.ID     `json:"id"`
	Number string      `json:"number"`
	Gross  money.Minor `json:"gross_minor"`
	Open   money.Minor `json:"open_minor"`
}

func billMade(i bill.Issued, err error) (BillMade, error) { return BillMade(i), err }

// MoneyMade is an entry of money that was made.
type MoneyMade struct {
	ID     bill.PaymentID `json:"payment_id,omitempty"`
	Number string         `json:"number,omitempty"`
	Left   money.Minor    `json:"left_minor" doc:"Set against no bill."`
	Open   money.Minor    `json:"open_minor" doc:"Still owed on the bill that it was for."`
}

func moneyMade(t bill.Taken, err error) (MoneyMade, error) { return MoneyMade(t), err }

// PaymentDoc is one entry of money: above nothing it came in.
type PaymentDoc struct {
	ID         bill.PaymentID   `json:"id"`
	Kind       bill.PaymentKind `json:"kind"`
	Number     string           `json:"number"`
	CustomerID customer.ID      `json:"customer_id"`
	Customer   string           `json:"customer"`
	CardID     jobcard.CardID   `json:"card_id,omitempty" doc:"The card that a deposit was paid on."`
	Amount     money.Minor      `json:"amount_minor"`
	Currency   string           `json:"currency"`
	Method     string           `json:"method"`
	Day        Day              `json:"day"`
	Reference  string           `json:"reference,omitempty"`
	Why        string           `json:"why,omitempty"`
	Refunds    bill.PaymentID   `json:"refunds,omitempty"`
	Reverses   bill.PaymentID   `json:"reverses,omitempty"`
	ReversedBy bill.PaymentID   `json:"reversed_by,omitempty"`
	Left       money.Minor      `json:"left_minor"`
	Against    []PaymentOn      `json:"against"`
	VAT        []RateTotal      `json:"vat" doc:"In a deposit, as it was when the money came."`
}

func paymentDocOf(p bill.Payment) PaymentDoc {
	return PaymentDoc{
		p.ID, p.Kind, p.Number, p.CustomerID, p.CustomerName, p.CardID, p.Amount, p.Currency.Code(), p.Method, on(p.Day), p.Reference, p.Why, p.Refunds, p.Reverses, p.ReversedBy,
		p.Left, list(p.Tied, paymentOnOf), list(p.Taxes, func(t bill.DepositTax) RateTotal { return RateTotal(t) }),
	}
}
