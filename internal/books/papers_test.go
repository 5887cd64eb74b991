package books_test

import (
	"bytes"
	"math/big"

	"github.com/xuri/excelize/v2"

	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/einvoice"
	"rampside/internal/export"
	"rampside/internal/money"
)

// vatAgain works the VAT of every document out again, with fractions: each
// rate's net times the rate, to the nearest penny, halves up (VAT Notice 700,
// 17.5; EN 16931, BR-CO-17). Documents with a price that was set with VAT in it
// are left out, since there the VAT comes first; the answer is how many were
// held against this.
func (r *rig) vatAgain() (held int) {
	r.t.Helper()
	rows, err := r.DB.Pool.Query(r.t.Context(), `
		select b.number, v.rate_bp, v.vat_minor,
			(select coalesce(sum(l.net_minor), 0) from bill_line l where l.bill_id = b.id and l.vat_code = v.vat_code and l.rate_bp = v.rate_bp)::bigint
			+ (select coalesce(sum(case when a.up then a.amount_minor else -a.amount_minor end), 0) from bill_adjust a where a.bill_id = b.id and a.vat_code = v.vat_code and a.rate_bp = v.rate_bp)::bigint
		from bill b join bill_vat v on v.bill_id = b.id
		where b.kind = 'bill' and b.rounding = 'document' and not exists (select from bill_line l where l.bill_id = b.id and l.all_in)`)
	r.OK(err)
	defer rows.Close()
	for rows.Next() {
		var number string
		var rate, vat, net int64
		r.OK(rows.Scan(&number, &rate, &vat, &net))
		exact := new(big.Rat).SetFrac64(net*rate, 10_000)
		want := new(big.Rat).Add(exact, big.NewRat(1, 2)) // of a penny
		whole := new(big.Int).Div(want.Num(), want.Denom())
		if whole.Int64() != vat {
			r.t.Errorf("%s: %d at %d is %d, want %v", number, net, rate, vat, whole)
		}
		held++
	}
	r.OK(rows.Err())
	return held
}

// electronic writes every document as electronic invoices, reads them back, and
// gives what is to be paid by them, before deposits, and the VAT in them, by the
// number of the document; a credit note is below nothing.
func (r *rig) electronic() (gross, vat sums) {
	r.t.Helper()
	rows, err := r.DB.Pool.Query(r.t.Context(), `select id, number, kind from bill order by id`)
	r.OK(err)
	type one struct {
		id     bill.ID
		number string
		kind   bill.Kind
	}
	var all []one
	for rows.Next() {
		var x one
		r.OK(rows.Scan(&x.id, &x.number, &x.kind))
		all = append(all, x)
	}
	r.OK(rows.Err())
	gross, vat = sums{}, sums{}
	for _, x := range all {
		e, err := r.bills.Electronic(r.t.Context(), r.Owner, x.id)
		r.OK(err)
		for n := range e.Docs {
			raw, err := e.File(n == 1)
			r.OK(err)
			back, err := einvoice.Read(bytes.NewReader(raw))
			r.OK(err)
			sign := money.Minor(1)
			if x.kind == bill.CreditNote {
				sign = -1
			}
			gross[x.number] += sign * (back.Payable + back.Prepaid)
			vat[x.number] += sign * back.VAT
		}
	}
	return gross, vat
}

// workbook writes an export as XLSX, reads it back, and adds up its columns of
// amounts cell by cell.
func (r *rig) workbook(e books.Export) map[string]string {
	r.t.Helper()
	var b bytes.Buffer
	r.OK(export.WriteXLSX(&b, "October", e.Now, e.Tables...))
	f, err := excelize.OpenReader(&b, excelize.Options{UnzipSizeLimit: 64 << 20})
	r.OK(err)
	defer f.Close()
	out := map[string]string{}
	for _, t := range e.Tables {
		rows, err := f.GetRows(t.Name, excelize.Options{RawCellValue: true})
		r.OK(err)
		for i, c := range t.Columns {
			if c.Kind != export.Amount {
				continue
			}
			sum := new(big.Rat)
			for _, row := range rows[1:] {
				if i < len(row) && row[i] != "" {
					cell, ok := new(big.Rat).SetString(row[i])
					if !ok {
						r.t.Fatalf("%s holds %q", c.Name, row[i])
					}
					sum.Add(sum, cell)
				}
			}
			out[t.Name+" "+c.Name] = sum.FloatString(2)
		}
	}
	return out
}
