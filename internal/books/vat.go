package books

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Basis is when VAT is accounted for.
type Basis string

// The two ways. ByBill is at the tax point of each document; ByCash when the
// money for it comes (Cash Accounting Scheme, VAT Notice 731).
const (
	ByBill Basis = "bill"
	ByCash Basis = "cash"
)

// VAT is the VAT of a period by one basis.
type VAT struct {
	Frame
	Period Period
	Basis  Basis
	ledger.VATPeriod
	Boxes []Box
	// Documents are those behind the figures, by number.
	Documents map[string]bill.ID
	Payments  map[string]bill.PaymentID
}

// Basis is the way the garage accounts for VAT now.
func (f Frame) Basis() Basis {
	if f.CashFrom.IsZero() {
		return ByBill
	}
	return ByCash
}

// VAT adds up the VAT of a period, by the garage's own basis when it is empty.
// Documents of a garage that was not registered when it issued them have none.
// Errors: Forbidden; Invalid at from and to.
func (s *Service) VAT(ctx context.Context, who actor.Actor, p Period, basis Basis) (VAT, error) {
	f, err := s.frame(ctx, who)
	if err != nil {
		return VAT{}, err
	}
	if p == (Period{}) {
		p = Quarter(f.Today).Before(Quarter)
	}
	if err := p.Check(); err != nil {
		return VAT{}, err
	}
	v := VAT{Frame: f, Period: p, Basis: basis, Documents: map[string]bill.ID{}, Payments: map[string]bill.PaymentID{}}
	if basis == "" {
		v.Basis = f.Basis()
	}
	var b pgx.Batch
	raw := rawVAT{period: p, basis: v.Basis, from: f.CashFrom}
	raw.later(&b)
	if err := send(ctx, s.db.Pool, &b); err != nil {
		return VAT{}, err
	}
	v.VATPeriod = ledger.VATOf(raw.documents(v.Documents, v.Payments), p.From, p.To)
	v.Boxes = Boxes(v.VATPeriod)
	return v, nil
}

// rawVAT is what the VAT of a period is worked out from.
type rawVAT struct {
	period Period
	basis  Basis
	// from is the first day of cash accounting: what has a tax point before it is
	// accounted for by bill. Zero where the other basis is only looked at.
	from     workday.Day
	bills    []taxRow  // by bill: a document at one rate; credit notes below nothing
	deposits []taxRow  // deposits, and what takes them off again
	cash     []taxRow  // by cash: the bills that money moved for, at one rate
	moves    []taxMove // what happened to them
}

// taxRow is one document at one rate.
type taxRow struct {
	id         bill.ID
	payment    bill.PaymentID
	number, of string
	day        workday.Day
	money.RateTotal
}

// taxMove is money set against a bill, or a credit note against it at one rate.
type taxMove struct {
	bill    bill.ID
	note    bill.ID
	payment bill.PaymentID
	number  string
	day     workday.Day
	paid    money.Minor
	money.RateTotal
}

func (r *rawVAT) later(b *pgx.Batch) {
	from, to := r.period.From.UTC(), r.period.To.UTC()
	// What has a tax point before cash accounting began was and is accounted for
	// by bill.
	before := to.AddDate(0, 0, 1)
	if r.basis == ByCash {
		before = time.Date(workday.FirstYear, 1, 1, 0, 0, 0, 0, time.UTC)
		if !r.from.IsZero() {
			before = r.from.UTC()
		}
	}
	later(b, "documents", &r.bills, scanTaxRow, `
		select b.id, 0, b.number, coalesce(o.number, ''), b.tax_point, v.vat_code, v.rate_bp, v.net_minor, v.vat_minor
		from bill b join bill_vat v on v.bill_id = b.id left join bill o on o.id = b.of_bill
		where b.registered and b.tax_point between $1 and $2 and coalesce(o.tax_point, b.tax_point) < $3
		order by b.id, v.vat_code, v.rate_bp`, from, to, before)
	later(b, "deposits", &r.deposits, scanTaxRow, `
		select coalesce(d.bill_id, 0), coalesce(u.id, p.id), coalesce(b.number, u.number, p.number),
			case when d.bill_id is null and d.undone_by is null then '' else p.number end,
			d.day, d.vat_code, d.rate_bp, d.net_minor, d.vat_minor
		from deposit_vat d join payment p on p.id = d.payment_id
			left join bill b on b.id = d.bill_id left join payment u on u.id = d.undone_by
		where d.day between $1 and $2 order by d.id`, from, to)
	if r.basis != ByCash {
		return
	}
	// All that happened to a bill down to the end of the period counts, since
	// the pennies of each part depend on those before it.
	const touched = `
		with touched as (select b.id from bill b where b.kind = 'bill' and b.registered and b.tax_point >= $3 and (
			exists (select from allocation a where a.bill_id = b.id and a.day between $1 and $2)
			or exists (select from bill n where n.of_bill = b.id and n.issued between $1 and $2)))`
	later(b, "documents", &r.cash, scanTaxRow, touched+`
		select b.id, 0, b.number, '', b.tax_point, v.vat_code, v.rate_bp, v.net_minor, v.vat_minor
		from touched t join bill b on b.id = t.id join bill_vat v on v.bill_id = b.id
		order by b.id, v.vat_code, v.rate_bp`, from, to, before)
	later(b, "payments", &r.moves, func(row pgx.CollectableRow) (m taxMove, err error) {
		var day time.Time
		err = row.Scan(&m.bill, &m.note, &m.payment, &m.number, &day, &m.paid, &m.Code, &m.Rate, &m.Net, &m.VAT)
		m.day = workday.FromDate(day)
		return m, err
	}, touched+`
		select a.bill_id, 0, p.id, p.number, a.day, a.amount_minor, '', 0, 0, 0
		from touched t join allocation a on a.bill_id = t.id join payment p on p.id = a.payment_id where a.day <= $2
		union all
		select n.of_bill, n.id, 0, n.number, n.issued, 0, v.vat_code, v.rate_bp, -v.net_minor, -v.vat_minor
		from touched t join bill n on n.of_bill = t.id join bill_vat v on v.bill_id = n.id where n.issued <= $2`, from, to, before)
}

func scanTaxRow(row pgx.CollectableRow) (r taxRow, err error) {
	var day time.Time
	err = row.Scan(&r.id, &r.payment, &r.number, &r.of, &day, &r.Code, &r.Rate, &r.Net, &r.VAT)
	r.day = workday.FromDate(day)
	return r, err
}

// documents makes what the period is added up from, and notes where each is
// found, unless the maps are nil.
func (r *rawVAT) documents(documents map[string]bill.ID, payments map[string]bill.PaymentID) []ledger.Document {
	at := func(number string, id bill.ID, payment bill.PaymentID) {
		switch {
		case id != 0 && documents != nil:
			documents[number] = id
		case id == 0 && payments != nil:
			payments[number] = payment
		}
	}
	var out []ledger.Document
	for _, row := range append(r.bills[:len(r.bills):len(r.bills)], r.deposits...) {
		out = append(out, ledger.Document{Number: row.number, Of: row.of, TaxPoint: row.day, ByRate: []money.RateTotal{row.RateTotal}})
		at(row.number, row.id, row.payment)
	}
	bills := map[bill.ID][]money.RateTotal{}
	numbers := map[bill.ID]string{}
	var order []bill.ID
	for _, row := range r.cash {
		if numbers[row.id] == "" {
			order = append(order, row.id)
		}
		numbers[row.id] = row.number
		bills[row.id] = append(bills[row.id], row.RateTotal)
		at(row.number, row.id, 0)
	}
	moves := map[bill.ID][]ledger.Move{}
	notes := map[bill.ID]int{} // where each credit note is among its bill's moves
	for _, m := range r.moves {
		if m.note == 0 {
			at(m.number, 0, m.payment)
			moves[m.bill] = append(moves[m.bill], ledger.Move{Number: m.number, Day: m.day, Paid: m.paid})
			continue
		}
		at(m.number, m.note, 0)
		i, known := notes[m.note]
		if !known {
			i = len(moves[m.bill])
			notes[m.note] = i
			moves[m.bill] = append(moves[m.bill], ledger.Move{Number: m.number, Day: m.day})
		}
		moves[m.bill][i].Credited = append(moves[m.bill][i].Credited, m.RateTotal)
	}
	for _, id := range order {
		for _, d := range ledger.Received(bills[id], moves[id]) {
			d.Of = numbers[id]
			out = append(out, d)
		}
	}
	return out
}
