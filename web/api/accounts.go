package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/customer"
	"rampside/internal/export"
	"rampside/internal/jobcard"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/quote"
	"rampside/internal/workday"
)

// AccountsView is how the money stands.
type AccountsView struct {
	Today    Day         `json:"today"`
	Currency string      `json:"currency"`
	Quotes   []QuoteOut  `json:"quotes" doc:"Issued, and lines of them wait for a yes or a no; the oldest first."`
	Owed     OwedView    `json:"owed"`
	Day      Day         `json:"day" doc:"The day of the takings."`
	Taken    []TakenView `json:"taken" doc:"By way to pay."`
}

// QuoteOut is a quote that nobody has answered whole.
type QuoteOut struct {
	VersionID  quote.VersionID `json:"version_id"`
	Name       string          `json:"name"`
	CardID     jobcard.CardID  `json:"card_id"`
	CustomerID customer.ID     `json:"customer_id"`
	Customer   string          `json:"customer"`
	Mark       string          `json:"mark"`
	Issued     Time            `json:"issued_at"`
	ValidUntil Time            `json:"valid_until"`
	Sent       *Time           `json:"sent_at,omitempty" doc:"When it last went out; absent for never."`
	Lines      int             `json:"lines" doc:"That wait for an answer."`
	Waiting    money.Minor     `json:"waiting_minor" doc:"What they come to, with VAT."`
	Gross      money.Minor     `json:"gross_minor" doc:"The whole quote, with VAT."`
}

// OwedView is what all customers owe at the end of a day.
type OwedView struct {
	On      Day          `json:"on"`
	Debtors []DebtorView `json:"debtors" doc:"Who owes longest comes first."`
	Aged    AgedView     `json:"aged"`
}

// DebtorView is what one customer owes, with the bills behind it.
type DebtorView struct {
	CustomerID customer.ID `json:"customer_id"`
	Name       string      `json:"name"`
	Aged       AgedView    `json:"aged"`
	Bills      []OpenBill  `json:"bills"`
}

// AgedView is a debt by its age.
type AgedView struct {
	NotDue money.Minor `json:"not_due_minor"`
	To30   money.Minor `json:"late_1_to_30_days_minor"`
	To60   money.Minor `json:"late_31_to_60_days_minor"`
	To90   money.Minor `json:"late_61_to_90_days_minor"`
	Over90 money.Minor `json:"late_over_90_days_minor"`
	Unset  money.Minor `json:"unset_minor" doc:"Set against no bill, or paid too much: taken off."`
	Total  money.Minor `json:"total_minor"`
}

func agedOf(a ledger.Aged) AgedView {
	return AgedView{a.In[ledger.NotDue], a.In[ledger.To30], a.In[ledger.To60], a.In[ledger.To90], a.In[ledger.Over90], a.Unset, a.Total}
}

// OpenBill is a bill with something open.
type OpenBill struct {
	BillID bill.ID     `json:"bill_id"`
	Number string      `json:"number"`
	Issued Day         `json:"issued"`
	Due    Day         `json:"due"`
	Gross  money.Minor `json:"gross_minor"`
	Open   money.Minor `json:"open_minor" doc:"Below nothing where too much was paid."`
}

func openBill(d books.Doc) OpenBill {
	return OpenBill{d.ID, d.Number, on(d.Issued), on(d.Due), d.Gross, d.Open()}
}

func owedOf(o books.Owed) OwedView {
	return OwedView{on(o.On), list(o.Debtors, debtorOf), agedOf(o.Total)}
}

func debtorOf(d books.Debtor) DebtorView {
	return DebtorView{d.CustomerID, d.Name, agedOf(d.Aged), list(d.Bills, openBill)}
}

// TakenView is what came in and went out by one way to pay.
type TakenView struct {
	Method string      `json:"method"`
	In     money.Minor `json:"in_minor"`
	Out    money.Minor `json:"out_minor"`
	Sum    money.Minor `json:"sum_minor"`
}

// VATView is the VAT of a period.
type VATView struct {
	From     Day         `json:"from"`
	To       Day         `json:"to"`
	Basis    books.Basis `json:"basis" enum:"bill,cash"`
	CashFrom *Day        `json:"cash_from,omitempty" doc:"The first day of cash accounting; absent for by bill."`
	Currency string      `json:"currency"`
	Rates    []VATOfRate `json:"rates"`
	VAT      money.Minor `json:"vat_minor"`
	Supplies money.Minor `json:"supplies_minor" doc:"Net of all within the scope of VAT."`
	Outside  money.Minor `json:"outside_minor" doc:"Net of what lies outside it."`
	Boxes    []VATBox    `json:"boxes" doc:"Of a United Kingdom return, as far as sales fill it."`
}

// VATOfRate is what a period comes to at one rate.
type VATOfRate struct {
	Code   money.VATCode `json:"vat_code"`
	Rate   money.Rate    `json:"rate_bp"`
	Net    money.Minor   `json:"net_minor"`
	VAT    money.Minor   `json:"vat_minor"`
	Behind []VATPart     `json:"behind" doc:"The documents that make the figure."`
}

// VATPart is one document's part in a figure.
type VATPart struct {
	Number   string      `json:"number"`
	About    string      `json:"about,omitempty" doc:"The bill or deposit that it is about, where that is another."`
	TaxPoint Day         `json:"tax_point"`
	Net      money.Minor `json:"net_minor"`
	VAT      money.Minor `json:"vat_minor"`
}

// VATBox is one box of form VAT100; amount_minor is absent where sales do not
// fill it.
type VATBox struct {
	Number int          `json:"number"`
	Label  string       `json:"label"`
	Amount *money.Minor `json:"amount_minor,omitempty"`
	Note   string       `json:"note"`
}

// BooksTable is a table of the books of a period.
type BooksTable struct {
	Name     string        `json:"name"`
	Says     string        `json:"one_row_is"`
	From     Day           `json:"from"`
	To       Day           `json:"to"`
	Currency string        `json:"currency"`
	Columns  []BooksColumn `json:"columns"`
	Rows     [][]any       `json:"rows" doc:"In the order of the columns; null for none."`
	Totals   []BooksTotal  `json:"totals"`
}

// BooksColumn is what one column means.
type BooksColumn struct {
	Name string      `json:"name"`
	Kind export.Kind `json:"kind" enum:"text,amount,number,quantity,percentage,date" doc:"An amount is in minor units, a quantity in thousandths, a percentage in hundredths of one per cent, a date ISO 8601."`
	Says string      `json:"says"`
}

// BooksTotal is what a column comes to.
type BooksTotal struct {
	Column string      `json:"column"`
	Total  money.Minor `json:"total_minor"`
}

// PeriodAsked is a period in the address; both left out is the usual one.
type PeriodAsked struct {
	From Day `query:"from" doc:"The first day."`
	To   Day `query:"to" doc:"The last day, which counts."`
}

func (p PeriodAsked) period() books.Period { return books.Period{From: p.From.Day, To: p.To.Day} }

func (a *API) accountOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/accounts", id: "get-accounts", need: actor.SeeAccounts, tag: "Accounts",
		short: "How the money stands: quotes not answered, what is owed by age, and what a day took",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Day Day `query:"day" doc:"The day of the takings; today when left out."`
	}) (AccountsView, error) {
		o, err := a.Books.Overview(ctx, who, in.Day.Day)
		if err != nil {
			return AccountsView{}, err
		}
		return AccountsView{
			Today: on(o.Today), Currency: o.Garage.Currency, Owed: owedOf(o.Owed), Day: on(o.Day),
			Quotes: list(o.Quotes, func(q books.QuoteOut) QuoteOut {
				out := QuoteOut{q.VersionID, q.Name, q.CardID, q.CustomerID, q.Customer, q.Mark, at(q.IssuedAt), at(q.ValidUntil), nil, q.Lines, q.Waiting, q.Gross}
				if q.Sent != nil {
					sent := at(*q.Sent)
					out.Sent = &sent
				}
				return out
			}),
			Taken: list(o.Taken, func(t books.Taken) TakenView { return TakenView{t.Method, t.In, t.Out, t.Sum()} }),
		}, nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/accounts/owed", id: "get-owed", need: actor.SeeAccounts, tag: "Accounts", short: "What every customer owed at the end of a day, by age",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		On Day `query:"on" doc:"Today when left out."`
	}) (OwedView, error) {
		o, err := a.Books.Owed(ctx, who, in.On.Day)
		return owedOf(o), err
	})
	a.statementOperations()
	register(a, operation{
		method: http.MethodGet, path: "/accounts/vat", id: "get-vat-of-period", need: actor.SeeAccounts, tag: "Accounts", short: "The VAT of a period, with the documents behind each figure",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PeriodAsked
		By books.Basis `query:"by" enum:"bill,cash" doc:"Accounted for when a bill is issued or when money comes; as the garage does when left out."`
	}) (VATView, error) {
		v, err := a.Books.VAT(ctx, who, in.period(), in.By)
		return vatOf(v), err
	})
	register(a, operation{
		method: http.MethodPut, path: "/accounts/vat/cash-from", id: "set-cash-from", need: actor.ManageGarage, tag: "Accounts", short: "Have VAT accounted for when money comes, from a day on",
		long: "Or by bill again. What has a tax point before the day was accounted for by bill, and stays so.",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body CashFromBody }) (CashFromBody, error) {
		from, err := in.Body.day()
		if err != nil {
			return CashFromBody{}, err
		}
		got, err := a.Garage.SetCashFrom(ctx, who, from)
		return cashFrom(got), err
	})
	register(a, operation{
		method: http.MethodGet, path: "/accounts/tables/{table}", id: "get-books-table", need: actor.SeeAccounts, tag: "Accounts", short: "One table of the books of a period, with what its columns mean",
		long: "The tables are documents, lines, payments, set_against, vat and owed.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Table string `path:"table"`
		PeriodAsked
	}) (BooksTable, error) {
		if _, known := books.TableNamed(in.Table); !known {
			return BooksTable{}, apperr.NoSuch("table")
		}
		e, err := a.Books.Export(ctx, who, in.period())
		if err != nil {
			return BooksTable{}, err
		}
		return tableOf(e, in.Table)
	})
}

// CashFromBody is how VAT is accounted for.
type CashFromBody struct {
	By   string `json:"by" enum:"bill,cash"`
	From *Day   `json:"from,omitempty" doc:"By cash: the first day of it."`
}

func cashFrom(d workday.Day) CashFromBody {
	if d.IsZero() {
		return CashFromBody{By: "bill"}
	}
	day := on(d)
	return CashFromBody{"cash", &day}
}

// day is the first day by cash, the zero day for by bill.
func (b CashFromBody) day() (workday.Day, error) {
	switch {
	case b.By == "cash" && b.From == nil:
		return workday.Day{}, apperr.Field("from", "the first day by cash, please")
	case b.By == "bill" && b.From != nil:
		return workday.Day{}, apperr.Field("from", "by bill there is no first day")
	case b.From == nil:
		return workday.Day{}, nil
	}
	return b.From.Day, nil
}

func vatOf(v books.VAT) VATView {
	out := VATView{
		From: on(v.Period.From), To: on(v.Period.To), Basis: v.Basis, Currency: v.Garage.Currency, VAT: v.VATPeriod.VAT, Supplies: v.Supplies, Outside: v.Outside,
		Rates: list(v.Rows, func(r ledger.VATRow) VATOfRate {
			return VATOfRate{r.Code, r.Rate, r.Net, r.VAT, list(r.Behind, func(b ledger.Behind) VATPart {
				return VATPart{b.Number, b.Of, on(b.TaxPoint), b.Net, b.VAT}
			})}
		}),
		Boxes: list(v.Boxes, func(b books.Box) VATBox { return VATBox{b.Number, b.Label, onlyIf(b.Known, b.Amount), b.Note} }),
	}
	if !v.CashFrom.IsZero() {
		from := on(v.CashFrom)
		out.CashFrom = &from
	}
	return out
}

func tableOf(e books.Export, name string) (BooksTable, error) {
	t, _ := e.Table(name)
	out := BooksTable{
		Name: t.Name, Says: t.Says, From: on(e.Period.From), To: on(e.Period.To), Currency: e.Garage.Currency,
		Columns: list(t.Columns, func(c export.Column) BooksColumn { return BooksColumn{c.Name, c.Kind, c.Says} }),
		Rows:    list(t.Rows, func(row []export.Cell) []any { return list(row, cellOf) }),
		Totals:  []BooksTotal{},
	}
	for _, column := range t.Totals {
		sum, err := t.Sum(column)
		if err != nil {
			return out, err
		}
		out.Totals = append(out.Totals, BooksTotal{column, sum})
	}
	return out, nil
}

// cellOf is a cell as JSON has it.
func cellOf(c export.Cell) any {
	if d, is := c.(workday.Day); is {
		return d.String()
	}
	return c
}
