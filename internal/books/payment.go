package books

import (
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/bill"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Payment is money that came in, or went out (below nothing).
type Payment struct {
	ID         bill.PaymentID
	Kind       bill.PaymentKind
	Number     string
	CustomerID customer.ID
	Name       string // the customer's, today
	CardID     jobcard.CardID
	Amount     money.Minor
	Currency   string
	Method     string
	Day        workday.Day
	Reference  string
	Why        string
	TakenBy    string
	At         time.Time
	// Set is how much of it is set against bills down to the day asked for.
	Set money.Minor
}

// Words says what kind of entry it is.
func (p Payment) Words() string {
	switch {
	case p.Kind == bill.Refund:
		return "refund"
	case p.Kind == bill.Reversal:
		return "contrary entry"
	case p.CardID != 0:
		return "deposit"
	}
	return "payment"
}

// paymentSelect reads payments with what of each was set against bills at the
// end of day $1.
const paymentSelect = `
	select p.id, p.kind, p.number, p.customer_id, u.name, coalesce(p.card_id, 0), p.amount_minor, p.currency, p.method, p.day,
		p.reference, p.why, p.taken_name, p.at,
		coalesce((select sum(a.amount_minor) from allocation a where a.payment_id = p.id and a.day <= $1), 0)::bigint
	from payment p join customer u on u.id = p.customer_id`

func scanPayment(row pgx.CollectableRow) (p Payment, err error) {
	var day time.Time
	err = row.Scan(&p.ID, &p.Kind, &p.Number, &p.CustomerID, &p.Name, &p.CardID, &p.Amount, &p.Currency, &p.Method, &day,
		&p.Reference, &p.Why, &p.TakenBy, &p.At, &p.Set)
	p.Day = workday.FromDate(day)
	return p, err
}

// Taken is what came in and went out by one way to pay.
type Taken struct {
	Method   string
	In, Out  money.Minor // both above nothing
	Payments []Payment
}

// Sum is what should be there.
func (t Taken) Sum() money.Minor { return t.In - t.Out }

// takenByMethod sorts payments by the way they were made, in the order of
// methods; one that is not among them comes last.
func takenByMethod(methods []string, payments []Payment) []Taken {
	var out []Taken
	at := map[string]int{}
	for _, m := range methods {
		at[m] = len(out)
		out = append(out, Taken{Method: m})
	}
	for _, p := range payments {
		i, known := at[p.Method]
		if !known {
			i = len(out)
			at[p.Method] = i
			out = append(out, Taken{Method: p.Method})
		}
		if p.Amount > 0 {
			out[i].In += p.Amount
		} else {
			out[i].Out -= p.Amount
		}
		out[i].Payments = append(out[i].Payments, p)
	}
	return out
}
