package books

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/export"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Export is the books of a period as tables, in the order of Tables.
type Export struct {
	Frame
	Period Period
	Basis  Basis
	Tables []export.Filled
}

// Table finds one of the tables.
func (e Export) Table(name string) (export.Filled, bool) {
	for _, t := range e.Tables {
		if t.Name == name {
			return t, true
		}
	}
	return export.Filled{}, false
}

// Name is what its files are called, without an ending.
func (e Export) Name() string { return "books-" + e.Period.From.String() + "-" + e.Period.To.String() }

// Export reads the books of a period; VAT by the garage's own basis. Errors:
// Forbidden; Invalid at from and to; TooLarge.
func (s *Service) Export(ctx context.Context, who actor.Actor, p Period) (Export, error) {
	f, err := s.frame(ctx, who)
	if err != nil {
		return Export{}, err
	}
	if p == (Period{}) {
		p = Month(f.Today)
	}
	if err := p.Check(); err != nil {
		return Export{}, err
	}
	var b pgx.Batch
	var docs, open []Doc
	var accounts []account
	var payments []Payment
	var lines, set [][]export.Cell
	from, to := p.From.UTC(), p.To.UTC()
	later(&b, "documents", &docs, scanDoc, docSelect+` where b.issued between $2 and $1 order by b.id`, to, from)
	later(&b, "lines", &lines, scanLine, `
		with d as (select id, number, kind, issued, lines from bill where issued between $1 and $2)
		select d.number, d.kind, d.issued, l.position, l.kind, l.text, l.qty_milli, l.unit, l.net_minor, l.vat_code, l.rate_bp, d.id
		from d join bill_line l on l.bill_id = d.id
		union all
		select d.number, d.kind, d.issued, d.lines + a.n, case when a.up then 'surcharge on the whole' else 'discount on the whole' end, a.text,
			null, '', case when a.up then a.amount_minor else -a.amount_minor end, a.vat_code, a.rate_bp, d.id
		from d join bill_adjust a on a.bill_id = d.id
		order by 12, 4`, from, to)
	later(&b, "payments", &payments, scanPayment, paymentSelect+` where p.day between $2 and $1 order by p.id`, to, from)
	later(&b, "payments against bills", &set, func(row pgx.CollectableRow) ([]export.Cell, error) {
		var payment, bill string
		var day time.Time
		var amount money.Minor
		err := row.Scan(&payment, &bill, &day, &amount)
		return []export.Cell{payment, bill, workday.FromDate(day), amount}, err
	}, `
		select p.number, b.number, a.day, a.amount_minor from allocation a join payment p on p.id = a.payment_id join bill b on b.id = a.bill_id
		where a.day between $1 and $2 order by a.id`, from, to)
	raw := rawVAT{period: p, basis: f.Basis(), from: f.CashFrom}
	raw.later(&b)
	openLater(&b, p.To, 0, &open, &accounts)
	if err := send(ctx, s.db.Pool, &b); err != nil {
		return Export{}, err
	}
	return Export{Frame: f, Period: p, Basis: raw.basis, Tables: []export.Filled{
		{Table: documentTable, Rows: documentRows(docs)},
		{Table: lineTable, Rows: lines},
		{Table: paymentTable, Rows: paymentRows(payments)},
		{Table: setTable, Rows: set},
		{Table: vatTable, Rows: vatRows(ledger.VATOf(raw.documents(nil, nil), p.From, p.To))},
		{Table: owedTable, Rows: owedRows(p.To, open)},
	}}, nil
}

func scanLine(row pgx.CollectableRow) ([]export.Cell, error) {
	var number, document, kind, text, unit string
	var issued time.Time
	var position, id int64
	var qty *int64
	var net money.Minor
	var code money.VATCode
	var rate money.Rate
	if err := row.Scan(&number, &document, &issued, &position, &kind, &text, &qty, &unit, &net, &code, &rate, &id); err != nil {
		return nil, err
	}
	var count export.Cell
	if qty != nil {
		count = export.Thousandths(*qty)
	}
	return []export.Cell{number, document, workday.FromDate(issued), position, kind, text, count, unit, net, code.Label(), rate}, nil
}

// day is a day for a table, which none is an empty cell of.
func day(d workday.Day) export.Cell {
	if d.IsZero() {
		return nil
	}
	return d
}

func documentRows(docs []Doc) [][]export.Cell {
	out := make([][]export.Cell, len(docs))
	for i, d := range docs {
		out[i] = []export.Cell{
			d.Number, string(d.Kind), d.OfNumber, day(d.Issued), day(d.TaxPoint), day(d.Due), int64(d.CustomerID), d.Name, d.Car, int64(d.CardID),
			d.Currency, d.Net, d.VAT, d.Gross, d.Paid, d.Credited, d.Open(),
		}
	}
	return out
}

func paymentRows(payments []Payment) [][]export.Cell {
	out := make([][]export.Cell, len(payments))
	for i, p := range payments {
		out[i] = []export.Cell{p.Number, p.Words(), day(p.Day), int64(p.CustomerID), p.Name, p.Method, p.Reference, p.Why, p.TakenBy, p.Currency, p.Amount, p.Set}
	}
	return out
}

func vatRows(p ledger.VATPeriod) [][]export.Cell {
	var out [][]export.Cell
	for _, r := range p.Rows {
		for _, b := range r.Behind {
			out = append(out, []export.Cell{b.Number, b.Of, day(b.TaxPoint), r.Code.Label(), r.Rate, b.Net, b.VAT})
		}
	}
	return out
}

func owedRows(on workday.Day, docs []Doc) [][]export.Cell {
	out := make([][]export.Cell, len(docs))
	for i, d := range docs {
		late := d.Debt().Overdue(on)
		out[i] = []export.Cell{int64(d.CustomerID), d.Name, d.Number, day(d.Issued), day(d.Due), int64(late), ledger.BucketOf(late).String(), d.Open()}
	}
	return out
}
