package books_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/customer"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// cards is how many cards the month has.
const cards = 200

var (
	firstDay = workday.Must(2026, time.October, 1)
	lastDay  = workday.Must(2026, time.October, 31)
	october  = books.Period{From: firstDay, To: lastDay}
	autumn   = books.Period{From: firstDay, To: workday.Must(2026, time.December, 31)}
)

// month lets a garage do a random October: the clocks go back in it, and some
// of it happens after midnight by the garage's clock and before it by UTC's.
func month(t *testing.T, seed uint64) *rig {
	r := newRig(t, seed)
	r.Clock = time.Date(2026, 9, 30, 23, 5, 0, 0, time.UTC) // 1 October, 00:05
	end := time.Date(2026, 10, 31, 23, 30, 0, 0, time.UTC)
	step := end.Sub(r.Clock) / cards
	for i := range cards {
		r.until(r.Clock.Add(step))
		r.oneCard(i)
	}
	r.until(end)
	return r
}

// oneCard bills a card, and lets anything happen to the bill afterwards.
func (r *rig) oneCard(i int) {
	id := r.card(i)
	if r.chance(4) {
		return // done and not billed yet
	}
	b := r.bill(id)
	switch {
	case b.Open == 0:
	case r.chance(55):
		r.at(r.rand.IntN(4), func() { r.pay(b.ID, 100) })
	case r.chance(60):
		r.at(r.rand.IntN(9), func() { r.pay(b.ID, 1+r.rand.IntN(99)) })
		r.at(9+r.rand.IntN(12), func() { r.pay(b.ID, 100) })
	}
	if r.chance(15) {
		r.at(1+r.rand.IntN(12), func() { r.credit(b.ID) })
	}
	if r.chance(5) {
		r.at(r.rand.IntN(6), func() { r.onAccount(b.ID) })
	}
}

// pay pays a percentage of what is open; now and then it turns out that the
// money never came.
func (r *rig) pay(id bill.ID, percent int) {
	d, err := r.bills.Read(r.t.Context(), r.Desk, id)
	r.OK(err)
	part := max(d.Open()*money.Minor(percent)/100, 0)
	if part == 0 {
		return
	}
	p := r.take(bill.TakeInput{BillID: id, Amount: part})
	if r.chance(5) {
		r.at(2, func() {
			// Not after it was given back: then the refund is undone first.
			if d, err := r.bills.Read(r.t.Context(), r.Desk, id); err != nil || d.Paid < part {
				r.OK(err)
				return
			}
			_, err := r.bills.Reverse(r.t.Context(), r.Desk, bill.ReverseInput{PaymentID: p.ID, Why: "returned by the bank"})
			if err != nil && !apperr.Is(err, apperr.Conflict) {
				r.t.Fatal(err)
			}
		})
	}
}

// credit takes back the whole of a bill or its first line, and gives back what
// is then too much, or lets another bill use it.
func (r *rig) credit(id bill.ID) {
	d, err := r.bills.Read(r.t.Context(), r.Desk, id)
	r.OK(err)
	in := bill.CreditInput{BillID: id, Whole: r.chance(50), Why: "agreed with the customer"}
	if !in.Whole {
		in.Lines = map[string]int64{d.Items[0].Key: d.Items[0].Left()}
	}
	_, err = r.bills.Credit(r.t.Context(), r.Desk, in)
	if apperr.Is(err, apperr.Invalid) || apperr.Is(err, apperr.Conflict) {
		return
	}
	r.OK(err)
	d, err = r.bills.Read(r.t.Context(), r.Desk, id)
	r.OK(err)
	if over := -d.Open(); over > 0 && r.chance(60) {
		_, err := r.bills.Refund(r.t.Context(), r.Desk, bill.RefundInput{BillID: id, Amount: max(over*money.Minor(r.rand.IntN(100)+1)/100, 1), Method: "card", Why: "credited"})
		r.OK(err)
	}
}

// onAccount is money that a customer sends of their own accord.
func (r *rig) onAccount(id bill.ID) {
	d, err := r.bills.Read(r.t.Context(), r.Desk, id)
	r.OK(err)
	r.take(bill.TakeInput{CustomerID: d.CustomerID, Amount: r.pence(1, 300_00), Keep: true})
}

func (r *rig) customer(name string) (id customer.ID) {
	r.t.Helper()
	r.OK(r.DB.Pool.QueryRow(r.t.Context(), `select id from customer where name = $1`, name).Scan(&id))
	return id
}

// sums are naive ones, by what they are of.
type sums map[string]money.Minor

// naive adds up the rows of a query by their first column.
func (r *rig) naive(sql string, args ...any) sums {
	r.t.Helper()
	rows, err := r.DB.Pool.Query(r.t.Context(), sql, args...)
	r.OK(err)
	defer rows.Close()
	out := sums{}
	for rows.Next() {
		var key string
		var m money.Minor
		r.OK(rows.Scan(&key, &m))
		out[key] += m
	}
	r.OK(rows.Err())
	return out
}

func (s sums) all() (m money.Minor) {
	for _, x := range s {
		m += x
	}
	return m
}

// TestARandomMonthAddsUpHoweverItIsAdded is a month of 200 cards through the
// services that pages use: what the books say is what the plain rows come to,
// whichever way one adds them.
func TestARandomMonthAddsUpHoweverItIsAdded(t *testing.T) {
	r := month(t, 20261001)
	ctx := t.Context()

	counts := r.naive(`select kind, 1 from bill union all select kind, 1 from payment union all select 'deposit', 1 from payment where card_id is not null and kind = 'payment'
		union all select 'adjustment', 1 from bill_adjust union all select kind, 1 from bill_line union all select 'set', 1 from allocation`)
	for _, kind := range []string{"bill", "credit note", "payment", "refund", "reversal", "deposit", "adjustment", "labour", "part", "fee", "sundries"} {
		if counts[kind] == 0 {
			t.Errorf("the month has no %s", kind)
		}
	}
	if n := r.vatAgain(); n < cards/2 {
		t.Errorf("the VAT of only %d rates was worked out again", n)
	}

	// The documents, from their lines and adjustments alone.
	nets := r.naive(`select b.number, l.net_minor from bill b join bill_line l on l.bill_id = b.id
		union all select b.number, case when a.up then a.amount_minor else -a.amount_minor end from bill b join bill_adjust a on a.bill_id = b.id`)
	vats := r.naive(`select b.number, v.vat_minor from bill b join bill_vat v on v.bill_id = b.id`)
	billed := nets.all() + vats.all()
	paid := r.naive(`select number, amount_minor from payment`).all()

	e, err := r.books.Export(ctx, r.Owner, october)
	r.OK(err)
	total := func(table, column string) money.Minor {
		f, ok := e.Table(table)
		if !ok {
			t.Fatalf("no table %s", table)
		}
		m, err := f.Sum(column)
		r.OK(err)
		return m
	}
	same := func(what string, got, want money.Minor) {
		t.Helper()
		if got != want {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	same("documents, net", total("documents", "net"), nets.all())
	same("documents, VAT", total("documents", "vat"), vats.all())
	same("documents, gross", total("documents", "gross"), billed)
	same("lines, net", total("lines", "net"), nets.all())
	same("payments", total("payments", "amount"), paid)
	same("set against bills", total("set_against", "amount"), r.naive(`select '', amount_minor from allocation`).all())

	for key, sum := range r.workbook(e) {
		table, column, _ := strings.Cut(key, " ")
		if want := money.FormatPlain(total(table, column)); sum != want {
			t.Errorf("the workbook's %s come to %s, want %s", key, sum, want)
		}
	}

	// The same documents as electronic invoices.
	gross, vat := r.electronic()
	for number := range gross {
		same("to pay by the electronic form of "+number, gross[number], nets[number]+vats[number])
		same("VAT in the electronic form of "+number, vat[number], vats[number])
	}
	same("electronic invoices", gross.all(), billed)

	// What is owed is what was billed less what was paid, in all and on every
	// account, on every day of the month.
	accounts := map[string]money.Minor{}
	for d := firstDay.AddDays(-1); !d.After(lastDay); d = d.AddDays(1) {
		owed, err := r.books.Owed(ctx, r.Owner, d)
		r.OK(err)
		accounts = r.naive(`select u.name, b.gross_minor from bill b join customer u on u.id = b.customer_id where b.issued <= $1
			union all select u.name, -p.amount_minor from payment p join customer u on u.id = p.customer_id where p.day <= $1`, d.UTC())
		same("owed on "+d.String(), owed.Total.Total, sums(accounts).all())
		var buckets, each money.Minor
		for _, m := range owed.Total.In {
			buckets += m
		}
		same("by age on "+d.String(), buckets-owed.Total.Unset, owed.Total.Total)
		for _, x := range owed.Debtors {
			each += x.Aged.Total
			same("owed by "+x.Name+" on "+d.String(), x.Aged.Total, accounts[x.Name])
		}
		same("owed by all on "+d.String(), each, owed.Total.Total)
	}
	same("billed less paid", sums(accounts).all(), billed-paid)
	var closing money.Minor
	for i := range r.cars {
		name := fmt.Sprintf("Customer %02d", i)
		s, err := r.books.Statement(ctx, r.Owner, r.customer(name), october)
		r.OK(err)
		same("statement of "+name, s.Closing, accounts[name])
		same("what is open of "+name, s.Debtor.Aged.Total, s.Closing)
		closing += s.Closing
	}
	same("all statements", closing, billed-paid)

	// The VAT of the month by bill: documents on their tax points, deposits when
	// they came, and taken off again.
	v, err := r.books.VAT(ctx, r.Owner, october, books.ByBill)
	r.OK(err)
	wantVAT := r.naive(`select v.vat_code || v.rate_bp, v.vat_minor from bill b join bill_vat v on v.bill_id = b.id where b.tax_point between $1 and $2
		union all select vat_code || rate_bp, vat_minor from deposit_vat where day between $1 and $2`, firstDay.UTC(), lastDay.UTC())
	wantNet := r.naive(`select v.vat_code || v.rate_bp, v.net_minor from bill b join bill_vat v on v.bill_id = b.id where b.tax_point between $1 and $2
		union all select vat_code || rate_bp, net_minor from deposit_vat where day between $1 and $2`, firstDay.UTC(), lastDay.UTC())
	if len(v.Rows) != len(wantVAT) {
		t.Errorf("%d rates, want %d", len(v.Rows), len(wantVAT))
	}
	for _, row := range v.Rows {
		key := fmt.Sprintf("%s%d", row.Code, row.Rate)
		same("VAT at "+key, row.VAT, wantVAT[key])
		same("net at "+key, row.Net, wantNet[key])
		var behind money.Minor
		for _, b := range row.Behind {
			behind += b.VAT
			if v.Documents[b.Number] == 0 && v.Payments[b.Number] == 0 {
				t.Errorf("nothing opens %s", b.Number)
			}
		}
		same("documents behind "+key, behind, row.VAT)
	}
	same("VAT", v.VATPeriod.VAT, wantVAT.all())
	same("VAT in the tables", total("vat", "vat"), v.VATPeriod.VAT)
	same("VAT of the documents and what deposits hold", v.VATPeriod.VAT, vats.all()+r.naive(`select '', vat_minor from deposit_vat`).all())
	same("box 1", v.Boxes[0].Amount, v.VATPeriod.VAT)

	// Each day's takings.
	var taken money.Minor
	for d := firstDay; !d.After(lastDay); d = d.AddDays(1) {
		o, err := r.books.Overview(ctx, r.Owner, d)
		r.OK(err)
		for _, x := range o.Taken {
			taken += x.Sum()
		}
	}
	same("takings of all days", taken, paid)

	r.settle()
	r.cashIsTheSameInTheEnd()
}

// settle has everybody pay what is open, and gives back what was paid too much
// and what is kept.
func (r *rig) settle() {
	r.Clock = time.Date(2026, 12, 1, 10, 0, 0, 0, time.UTC)
	r.later = nil
	owed, err := r.books.Owed(r.t.Context(), r.Owner, workday.Of(r.Clock, r.loc))
	r.OK(err)
	for _, x := range owed.Debtors {
		for _, d := range x.Bills {
			if d.Open() > 0 {
				r.take(bill.TakeInput{BillID: d.ID, Amount: d.Open()})
				continue
			}
			_, err := r.bills.Refund(r.t.Context(), r.Desk, bill.RefundInput{BillID: d.ID, Amount: -d.Open(), Method: "bank transfer", Why: "paid too much"})
			r.OK(err)
		}
	}
	rows, err := r.DB.Pool.Query(r.t.Context(), `select payment_id, left_minor from payment_state where left_minor > 0`)
	r.OK(err)
	left := map[bill.PaymentID]money.Minor{}
	for rows.Next() {
		var id bill.PaymentID
		var m money.Minor
		r.OK(rows.Scan(&id, &m))
		left[id] = m
	}
	r.OK(rows.Err())
	for id, m := range left {
		_, err := r.bills.Refund(r.t.Context(), r.Desk, bill.RefundInput{PaymentID: id, Amount: m, Method: "bank transfer", Why: "kept for nothing"})
		r.OK(err)
	}
}

// cashIsTheSameInTheEnd holds that, when everything is paid, the VAT by cash
// accounting of the whole time is that of the documents, at each rate.
func (r *rig) cashIsTheSameInTheEnd() {
	r.t.Helper()
	owed, err := r.books.Owed(r.t.Context(), r.Owner, workday.Of(r.Clock, r.loc))
	r.OK(err)
	if owed.Total.Total != 0 || len(owed.Debtors) != 0 {
		r.t.Fatalf("%v is owed after all was settled: %+v", owed.Total.Total, owed.Debtors)
	}
	byBill, err := r.books.VAT(r.t.Context(), r.Owner, autumn, books.ByBill)
	r.OK(err)
	byCash, err := r.books.VAT(r.t.Context(), r.Owner, autumn, books.ByCash)
	r.OK(err)
	want := map[string]money.Minor{}
	for _, row := range byBill.Rows {
		want[fmt.Sprint(row.Code, row.Rate, "net")], want[fmt.Sprint(row.Code, row.Rate, "VAT")] = row.Net, row.VAT
	}
	for _, row := range byCash.Rows {
		for what, got := range map[string]money.Minor{"net": row.Net, "VAT": row.VAT} {
			if key := fmt.Sprint(row.Code, row.Rate, what); got != want[key] {
				r.t.Errorf("by cash %s is %v, by bill %v", key, got, want[key])
			}
		}
	}
	// The whole is the sum of its months: what came before a month decides which
	// pennies are left for it.
	months := map[string]money.Minor{}
	for m := books.Month(firstDay); !m.From.After(autumn.To); m = books.Month(m.To.AddDays(1)) {
		v, err := r.books.VAT(r.t.Context(), r.Owner, m, books.ByCash)
		r.OK(err)
		for _, row := range v.Rows {
			months[fmt.Sprint(row.Code, row.Rate)] += row.VAT
		}
	}
	for _, row := range byCash.Rows {
		if got := months[fmt.Sprint(row.Code, row.Rate)]; got != row.VAT {
			r.t.Errorf("VAT by cash at %v: %v month by month, %v at once", row.Rate, got, row.VAT)
		}
	}
	// A month's money is the month's net and VAT, whatever it was for.
	first, err := r.books.VAT(r.t.Context(), r.Owner, october, books.ByCash)
	r.OK(err)
	var came money.Minor
	for _, row := range first.Rows {
		came += row.Net + row.VAT
	}
	set := r.naive(`select '', amount_minor from allocation where day between $1 and $2
		union all select '', net_minor + vat_minor from deposit_vat where day between $1 and $2`, firstDay.UTC(), lastDay.UTC()).all()
	if came != set {
		r.t.Errorf("by cash October comes to %v, the money to %v", came, set)
	}
}
