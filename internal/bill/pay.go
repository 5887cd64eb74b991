package bill

import (
	"context"
	"fmt"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

// TakeInput notes money that came in: on a bill, on a card before there is a
// bill (a deposit), or on a customer's account, where it is set against what has
// been due longest. Exactly one of the three is given.
type TakeInput struct {
	BillID     ID
	CardID     jobcard.CardID
	CustomerID customer.ID
	Amount     money.Minor
	Method     string
	Day        workday.Day // zero for today
	Reference  string
	// Keep says that more than is owed is meant, and the rest is kept for the
	// customer.
	Keep bool
}

// Taken is an entry of money that was made.
type Taken struct {
	ID     PaymentID
	Number string
	// Left is what was set against no bill, Open what is still owed on the bill
	// that it was for.
	Left, Open money.Minor
}

// Take notes a payment. Errors: NotFound, Invalid at amount, method, day and
// reference.
func (s *Service) Take(ctx context.Context, who actor.Actor, in TakeInput) (Taken, error) {
	if err := who.Need(actor.TakePayment); err != nil {
		return Taken{}, err
	}
	f := apperr.Fields{}
	in.Reference = f.Line("reference", in.Reference, MaxShort)
	amount(f, in.Amount)
	if err := f.Err(); err != nil {
		return Taken{}, err
	}
	return change.Do(ctx, s.db, who, "take a payment", in, func(ctx context.Context, tx *change.Tx) (Taken, error) {
		set, _, err := house(ctx, tx)
		if err != nil {
			return Taken{}, err
		}
		if in.Day, err = payDay(in.Day, set.Today(tx.At)); err != nil {
			return Taken{}, err
		}
		switch {
		case in.BillID != 0:
			return takeOnBill(ctx, tx, set, in)
		case in.CardID != 0:
			return takeOnCard(ctx, tx, set, in)
		}
		return takeOnAccount(ctx, tx, set, in)
	})
}

func amount(f apperr.Fields, m money.Minor) {
	switch {
	case m <= 0:
		f.Add("amount", "an amount above nothing, please")
	case m > money.MaxTyped:
		f.Add("amount", "%s", money.ErrTypedLarge)
	}
}

// payDay is the day of a payment: not after today, and not of another age.
func payDay(d, today workday.Day) (workday.Day, error) {
	switch {
	case d.IsZero():
		return today, nil
	case d.After(today):
		return d, apperr.Field("day", "this day has not come yet")
	case d.DaysUntil(today) > 366:
		return d, apperr.Field("day", "this is more than a year ago")
	}
	return d, nil
}

// house reads the settings and the terms.
func house(ctx context.Context, q pg.Querier) (garage.Settings, Terms, error) {
	set, err := garage.Load(ctx, q)
	if err != nil {
		return set, Terms{}, err
	}
	t, err := loadTerms(ctx, q)
	return set, t, err
}

func takeOnBill(ctx context.Context, tx *change.Tx, set garage.Settings, in TakeInput) (Taken, error) {
	d, err := lockBill(ctx, tx, in.BillID)
	if err != nil {
		return Taken{}, err
	}
	open := max(d.Open(), 0)
	cur := set.Money()
	switch {
	case open == 0 && !in.Keep:
		return Taken{}, apperr.Field("amount", "nothing is owed on this bill")
	case in.Amount > open && !in.Keep:
		return Taken{}, apperr.Field("amount", "only %s is owed: tick below to keep the rest for the customer", cur.Format(open))
	}
	p := Payment{Kind: Received, CustomerID: d.CustomerID, Amount: in.Amount, Currency: cur, Method: in.Method, Day: in.Day, Reference: in.Reference}
	if err := insertPayment(ctx, tx, &p); err != nil {
		return Taken{}, err
	}
	part := min(in.Amount, open)
	if part > 0 {
		if err := tie(ctx, tx, p.ID, d.ID, part, in.Day); err != nil {
			return Taken{}, err
		}
	}
	tx.Record("payment taken", int64(d.CardID), p.Number, map[string]any{"bill": d.Number, "amount": p.Amount, "method": p.Method, "kept": in.Amount - part})
	return Taken{p.ID, p.Number, in.Amount - part, d.Open() - part}, nil
}

func takeOnCard(ctx context.Context, tx *change.Tx, set garage.Settings, in TakeInput) (Taken, error) {
	c, err := jobcard.Lock(ctx, tx, in.CardID)
	if err != nil {
		return Taken{}, err
	}
	if c.Stage == jobcard.Cancelled {
		return Taken{}, apperr.New(apperr.Conflict, "this card is cancelled: nothing is paid on it any more")
	}
	if err := lockCustomer(ctx, tx, c.CustomerID); err != nil {
		return Taken{}, err
	}
	p := Payment{
		Kind: Received, CustomerID: c.CustomerID, CardID: c.ID, Amount: in.Amount, Currency: set.Money(), Method: in.Method, Day: in.Day, Reference: in.Reference,
	}
	if err := insertPayment(ctx, tx, &p); err != nil {
		return Taken{}, err
	}
	if set.VATNumber != "" {
		if err := taxDeposit(ctx, tx, p); err != nil {
			return Taken{}, err
		}
	}
	tx.Record("deposit taken", int64(c.ID), p.Number, map[string]any{"amount": p.Amount, "method": p.Method})
	return Taken{ID: p.ID, Number: p.Number, Left: p.Amount}, nil
}

func takeOnAccount(ctx context.Context, tx *change.Tx, set garage.Settings, in TakeInput) (Taken, error) {
	if in.CustomerID == 0 {
		return Taken{}, apperr.New(apperr.Invalid, "say what it was paid for: a bill, a card or a customer's account")
	}
	if err := lockCustomer(ctx, tx, in.CustomerID); err != nil {
		return Taken{}, err
	}
	p := Payment{Kind: Received, CustomerID: in.CustomerID, Amount: in.Amount, Currency: set.Money(), Method: in.Method, Day: in.Day, Reference: in.Reference}
	if err := insertPayment(ctx, tx, &p); err != nil {
		return Taken{}, err
	}
	left, err := spread(ctx, tx, p, in.Day)
	if err != nil {
		return Taken{}, err
	}
	if left > 0 && !in.Keep {
		return Taken{}, apperr.Field("amount", "%s more than is owed: tick below to keep it for the customer", set.Money().Format(left))
	}
	tx.Record("payment taken", 0, p.Number, map[string]any{"customer": p.CustomerID, "amount": p.Amount, "method": p.Method, "kept": left})
	return Taken{ID: p.ID, Number: p.Number, Left: left}, nil
}

// UseInput sets what is kept for a customer against one of their bills.
type UseInput struct{ BillID ID }

// Use sets what is kept for the customer against a bill, as far as it goes:
// payments set against nothing first, then what was paid too much on other
// bills. Errors: NotFound, Conflict when there is nothing to use.
func (s *Service) Use(ctx context.Context, who actor.Actor, in UseInput) (Taken, error) {
	if err := who.Need(actor.TakePayment); err != nil {
		return Taken{}, err
	}
	return change.Do(ctx, s.db, who, "set credit against a bill", in, func(ctx context.Context, tx *change.Tx) (Taken, error) {
		d, err := lockBill(ctx, tx, in.BillID)
		if err != nil {
			return Taken{}, err
		}
		set, _, err := house(ctx, tx)
		if err != nil {
			return Taken{}, err
		}
		used, err := useCredit(ctx, tx, d, set.Today(tx.At))
		if err != nil {
			return Taken{}, err
		}
		if used == 0 {
			return Taken{}, apperr.New(apperr.Conflict, "there is nothing kept for this customer that could be set against this bill")
		}
		tx.Record("credit set against a bill", int64(d.CardID), d.Number, map[string]any{"amount": used})
		return Taken{Open: d.Open() - used}, nil
	})
}

// RefundInput gives money back: what was paid too much on a bill, or what is
// left of a payment. Exactly one of the two is given.
type RefundInput struct {
	BillID    ID
	PaymentID PaymentID
	Amount    money.Minor
	Method    string
	Day       workday.Day // zero for today
	Reference string
	Why       string
}

// Refund notes money that was given back. Errors: NotFound, Invalid at amount,
// method, day and why.
func (s *Service) Refund(ctx context.Context, who actor.Actor, in RefundInput) (Taken, error) {
	if err := who.Need(actor.TakePayment); err != nil {
		return Taken{}, err
	}
	f := apperr.Fields{}
	in.Reference, in.Why = f.Line("reference", in.Reference, MaxShort), f.Line("why", in.Why, MaxWhy)
	f.Must("why", in.Why, "the reason")
	amount(f, in.Amount)
	if (in.BillID == 0) == (in.PaymentID == 0) {
		f.Add("amount", "say what it is given back of: a bill or a payment")
	}
	if err := f.Err(); err != nil {
		return Taken{}, err
	}
	return change.Do(ctx, s.db, who, "give money back", in, func(ctx context.Context, tx *change.Tx) (Taken, error) {
		set, _, err := house(ctx, tx)
		if err != nil {
			return Taken{}, err
		}
		if in.Day, err = payDay(in.Day, set.Today(tx.At)); err != nil {
			return Taken{}, err
		}
		p := Payment{Kind: Refund, Amount: -in.Amount, Currency: set.Money(), Method: in.Method, Day: in.Day, Reference: in.Reference, Why: in.Why}
		if in.BillID != 0 {
			return refundOnBill(ctx, tx, p, in)
		}
		return refundPayment(ctx, tx, p, in)
	})
}

func refundOnBill(ctx context.Context, tx *change.Tx, p Payment, in RefundInput) (Taken, error) {
	d, err := lockBill(ctx, tx, in.BillID)
	if err != nil {
		return Taken{}, err
	}
	if over := max(-d.Open(), 0); in.Amount > over {
		return Taken{}, apperr.Field("amount", "%s was paid too much on this bill: to give back more, credit the bill first", p.Currency.Format(over))
	}
	p.CustomerID = d.CustomerID
	if err := insertPayment(ctx, tx, &p); err != nil {
		return Taken{}, err
	}
	if err := tie(ctx, tx, p.ID, d.ID, p.Amount, p.Day); err != nil {
		return Taken{}, err
	}
	tx.Record("money given back", int64(d.CardID), p.Number, map[string]any{"bill": d.Number, "amount": in.Amount, "method": p.Method, "why": p.Why})
	return Taken{ID: p.ID, Number: p.Number, Open: d.Open() + in.Amount}, nil
}

func refundPayment(ctx context.Context, tx *change.Tx, p Payment, in RefundInput) (Taken, error) {
	of, err := lockPayment(ctx, tx, in.PaymentID)
	switch {
	case err != nil:
		return Taken{}, err
	case of.Kind != Received:
		return Taken{}, apperr.New(apperr.Conflict, "only money that came in can be given back")
	case in.Amount > of.Left:
		return Taken{}, apperr.Field("amount", "%s is left of this payment", p.Currency.Format(of.Left))
	}
	p.CustomerID, p.CardID, p.Refunds = of.CustomerID, of.CardID, of.ID
	if err := insertPayment(ctx, tx, &p); err != nil {
		return Taken{}, err
	}
	if err := takeOff(ctx, tx, of.ID, 0, p.ID, in.Amount, p.Day); err != nil {
		return Taken{}, err
	}
	tx.Record("money given back", int64(of.CardID), p.Number, map[string]any{"payment": of.Number, "amount": in.Amount, "method": p.Method, "why": p.Why})
	return Taken{ID: p.ID, Number: p.Number, Left: of.Left - in.Amount}, nil
}

// ReverseInput undoes an entry of money that was wrong.
type ReverseInput struct {
	PaymentID PaymentID
	Why       string
}

// Reverse undoes an entry by its contrary, today: both stay on record, and what
// it was set against is open again. Errors: NotFound, Invalid at why, Conflict
// when it was undone already, is itself a contrary entry, or was given back.
func (s *Service) Reverse(ctx context.Context, who actor.Actor, in ReverseInput) (Taken, error) {
	if err := who.Need(actor.TakePayment); err != nil {
		return Taken{}, err
	}
	f := apperr.Fields{}
	in.Why = f.Line("why", in.Why, MaxWhy)
	f.Must("why", in.Why, "what was wrong with it")
	if err := f.Err(); err != nil {
		return Taken{}, err
	}
	return change.Do(ctx, s.db, who, "undo a payment", in, func(ctx context.Context, tx *change.Tx) (Taken, error) {
		of, err := lockPayment(ctx, tx, in.PaymentID)
		if err != nil {
			return Taken{}, err
		}
		set, _, err := house(ctx, tx)
		if err != nil {
			return Taken{}, err
		}
		switch {
		case of.ReversedBy != 0:
			return Taken{}, apperr.New(apperr.Conflict, "this entry was undone already")
		case of.Kind == Reversal:
			return Taken{}, apperr.New(apperr.Conflict, "this entry undoes another one: make a new payment instead")
		}
		if err := refundsOf(ctx, tx, of.ID); err != nil {
			return Taken{}, err
		}
		p := Payment{
			Kind: Reversal, CustomerID: of.CustomerID, CardID: of.CardID, Amount: -of.Amount, Currency: of.Currency, Method: of.Method,
			Day: set.Today(tx.At), Reference: of.Reference, Why: in.Why, Reverses: of.ID,
		}
		if err := insertPayment(ctx, tx, &p); err != nil {
			return Taken{}, err
		}
		if err := untie(ctx, tx, of, p); err != nil {
			return Taken{}, err
		}
		tx.Record("payment undone", int64(of.CardID), p.Number, map[string]any{"payment": of.Number, "amount": of.Amount, "why": in.Why})
		return Taken{ID: p.ID, Number: p.Number}, nil
	})
}

// methodNamed tells whether there is such a way to pay.
func methodNamed(all []Method, name string) bool {
	return slices.ContainsFunc(all, func(m Method) bool { return m.Name == name })
}

// Methods lists the ways to pay.
func (s *Service) Methods(ctx context.Context, who actor.Actor) ([]Method, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return nil, err
	}
	return loadMethods(ctx, s.db.Pool)
}

func loadMethods(ctx context.Context, q pg.Querier) ([]Method, error) {
	out, err := pg.All[Method](ctx, q, "ways to pay", `select name, means from pay_method order by position limit 50`)
	if err != nil {
		return nil, fmt.Errorf("ways to pay: %w", err)
	}
	return out, nil
}
