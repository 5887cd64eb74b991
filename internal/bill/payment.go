package bill

import (
	"time"

	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// PaymentID names an entry of money.
type PaymentID int64

// PaymentKind is what an entry of money is.
type PaymentKind string

// The kinds. A Reversal undoes an entry that was wrong.
const (
	Received PaymentKind = "payment"
	Refund   PaymentKind = "refund"
	Reversal PaymentKind = "reversal"
)

// Payment is money that came in (above nothing) or went out.
type Payment struct {
	ID           PaymentID
	Kind         PaymentKind
	Number       string
	CustomerID   customer.ID
	CustomerName string
	CardID       jobcard.CardID // the card that a deposit was paid on, or 0
	Amount       money.Minor
	Currency     money.Currency
	Method       string
	Day          workday.Day
	Reference    string
	Why          string
	Refunds      PaymentID // the payment that a refund gives back, or 0
	Reverses     PaymentID // the entry that this one undoes, or 0
	ReversedBy   PaymentID // the entry that undid this one, or 0
	TakenBy      string
	At           time.Time
	// Left is what is set against no bill and was not given back.
	Left  money.Minor
	Tied  []Tie
	Taxes []DepositTax
}

// Deposit tells whether it was paid on a card before there was a bill.
func (p Payment) Deposit() bool { return p.Kind == Received && p.CardID != 0 }

// Tie is how a payment is set against a bill, with the sign of the payment.
type Tie struct {
	PaymentID PaymentID
	Payment   string // the number on the receipt
	Kind      PaymentKind
	Method    string
	BillID    ID
	Bill      string // the number on the bill
	Amount    money.Minor
	Day       workday.Day
}

// DepositTax is the VAT in a deposit, at one rate, as it was when the money
// came.
type DepositTax struct {
	Code money.VATCode
	Rate money.Rate
	Net  money.Minor
	VAT  money.Minor
}

// Method is a way to pay, with its code of UNTDID 4461.
type Method struct {
	Name  string
	Means string
}
