package bill

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// IssueInput issues the bill of a card.
type IssueInput struct {
	CardID jobcard.CardID
	Form   Form // "" leaves it to what is missing
	// Seen is what the bill came to when somebody looked at it; another amount
	// by now is a Conflict. Nil does not mind.
	Seen *money.Minor
}

// Issued is a document that was made.
type Issued struct {
	ID     ID
	Number string
	Gross  money.Minor
	Open   money.Minor
}

// Issue makes the bill of what was agreed and done on a card, gives it its
// number and sets deposits off. Errors: NotFound, Conflict when something still
// stops it, when it comes to another amount than was seen, or when it was billed
// meanwhile.
func (s *Service) Issue(ctx context.Context, who actor.Actor, in IssueInput) (Issued, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return Issued{}, err
	}
	if in.Form != "" && in.Form != Full && in.Form != Simplified {
		return Issued{}, apperr.Field("form", "please choose one from the list")
	}
	return change.Do(ctx, s.db, who, "issue a bill", in, func(ctx context.Context, tx *change.Tx) (Issued, error) {
		c, err := jobcard.Lock(ctx, tx, in.CardID)
		if err != nil {
			return Issued{}, err
		}
		if err := lockCustomer(ctx, tx, c.CustomerID); err != nil {
			return Issued{}, err
		}
		b, err := load(ctx, tx, in.CardID)
		if err != nil {
			return Issued{}, err
		}
		p := b.preview(in.Form, b.set.Today(tx.At))
		if err := p.stopped(); err != nil {
			return Issued{}, err
		}
		if cur := b.set.Money(); in.Seen != nil && *in.Seen != p.Sum.Totals.Gross {
			return Issued{}, apperr.New(apperr.Conflict, "the bill now comes to %s and not %s: look at it again before you issue it",
				cur.Format(p.Sum.Totals.Gross), cur.Format(*in.Seen))
		}
		return issue(ctx, tx, p, b.deposits)
	})
}

func issue(ctx context.Context, tx *change.Tx, p Preview, deposits []deposit) (Issued, error) {
	d := p.Document
	if err := insert(ctx, tx, &d, Bills); err != nil {
		return Issued{}, err
	}
	left := d.Sum.Paid
	for _, dep := range deposits {
		part := min(left, dep.left)
		if part <= 0 {
			break
		}
		if err := setAgainst(ctx, tx, dep.id, d.ID, part, d.TaxPoint, d.Issued); err != nil {
			return Issued{}, err
		}
		left -= part
	}
	tx.Record("bill issued", int64(d.CardID), d.Number, map[string]any{
		"net": d.Sum.Totals.Net, "VAT": d.Sum.Totals.VAT, "gross": d.Sum.Totals.Gross, "deposits": d.Sum.Paid, "form": d.Form, "lines": len(d.Items),
	})
	return Issued{ID: d.ID, Number: d.Number, Gross: d.Sum.Totals.Gross, Open: d.Sum.Due}, nil
}

// insert numbers a document and writes it with all its rows, in two round trips.
func insert(ctx context.Context, tx *change.Tx, d *Document, series SeriesName) error {
	text, n, err := number(ctx, tx, series)
	if err != nil {
		return err
	}
	d.Number = text
	s, t := d.Sum, d.Sum.Totals
	lineAdjusts := 0
	for _, i := range d.Items {
		lineAdjusts += len(i.Adjust)
	}
	err = tx.QueryRow(ctx, `
		insert into bill (kind, series, n, number, form, card_id, customer_id, of_bill, why, issued, tax_point, supplied, due, currency, rounding, registered,
			seller_name, seller_address, seller_phone, seller_email, seller_vat, seller_company, seller_country,
			buyer_name, buyer_address, buyer_vat, buyer_reference, buyer_country, car, words, account_name, iban, bic,
			line_net_minor, allowances_minor, charges_minor, net_minor, vat_minor, gross_minor, deposits_minor,
			lines, line_adjusts, adjusts, vats, issued_by, issued_name, issued_at)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8::bigint, 0), $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25, $26, $27, $28,
			$29, $30, $31, $32, $33, $34, $35, $36, $37, $38, $39, $40, $41, $42, $43, $44, nullif($45::bigint, 0), $46, $47)
		returning id`,
		d.Kind, series, n, d.Number, d.Form, d.CardID, d.CustomerID, d.Of, d.Why, d.Issued.UTC(), d.TaxPoint.UTC(), d.Supplied.UTC(), d.Due.UTC(),
		d.Currency.Code(), s.Rounding, d.Registered,
		d.Seller.Name, d.Seller.Address, d.Seller.Phone, d.Seller.Email, d.Seller.VATNumber, d.Seller.Company, d.Seller.Country,
		d.Buyer.Name, d.Buyer.Address, d.Buyer.VATNumber, d.Buyer.Reference, d.Buyer.Country, d.Car, d.Words, d.Account.Name, d.Account.IBAN, d.Account.BIC,
		s.LineNet, s.Allowances, s.Charges, t.Net, t.VAT, t.Gross, s.Paid, len(d.Items), lineAdjusts, len(s.Card), len(t.ByRate),
		tx.Who.StaffID, nameOf(tx.Who), tx.At).Scan(&d.ID)
	if err != nil {
		return fmt.Errorf("write %s %s: %w", d.Kind, d.Number, err)
	}
	if err := insertRows(ctx, tx, d); err != nil {
		return pg.Explain(err, string(d.Kind), map[string]*apperr.Error{
			"billed_once": apperr.New(apperr.Conflict, "something on this card was billed meanwhile: open the page again to see what is left"),
		})
	}
	return nil
}

func insertRows(ctx context.Context, tx *change.Tx, d *Document) error {
	var b pgx.Batch
	for n, i := range d.Items {
		at := n + 1
		b.Queue(`
			insert into bill_line (bill_id, position, key, line_id, part_id, kind, text, vat_code, rate_bp, qty_milli, unit, price_minor, per_milli, list_minor, net_minor, all_in, inside_minor)
			values ($1, $2, $3, nullif($4::bigint, 0), nullif($5::bigint, 0), $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)`,
			d.ID, at, i.Key, i.LineID, i.PartID, i.Kind, i.Text, i.VAT.Code, i.VAT.Rate, i.Qty, i.Unit, i.Price, i.Per, i.List, i.Net, i.AllIn, i.Inside)
		for m, a := range i.Adjust {
			b.Queue(`insert into bill_line_adjust (bill_id, position, n, text, up, percent_bp, base_minor, amount_minor) values ($1, $2, $3, $4, $5, $6, $7, $8)`,
				d.ID, at, m+1, a.Text, a.Up, a.Percent, a.Base, a.Amount)
		}
		if d.Kind == Bill && i.Kind != pricing.Sundry {
			b.Queue(`insert into billed (card_id, key, bill_id, position) values ($1, $2, $3, $4)`, d.CardID, i.Key, d.ID, at)
		}
	}
	for n, a := range d.Sum.Card {
		b.Queue(`insert into bill_adjust (bill_id, n, text, up, percent_bp, base_minor, amount_minor, vat_code, rate_bp) values ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
			d.ID, n+1, a.Text, a.Up, a.Percent, a.Base, a.Amount, a.VAT.Code, a.VAT.Rate)
	}
	for _, r := range d.Sum.Totals.ByRate {
		b.Queue(`insert into bill_vat (bill_id, vat_code, rate_bp, net_minor, vat_minor) values ($1, $2, $3, $4, $5)`, d.ID, r.Code, r.Rate, r.Net, r.VAT)
	}
	return tx.SendBatch(ctx, &b).Close()
}

// FreeInput says that a line that was done without being agreed is not charged
// for; an empty reason takes that back.
type FreeInput struct {
	CardID jobcard.CardID
	LineID jobcard.LineID
	Reason string
	Undo   bool
}

// Free notes that a line is done at no charge. It stands on the bill with its
// price and the same again taken off. Errors: NotFound, Invalid at reason,
// Conflict when the line was agreed or is not done.
func (s *Service) Free(ctx context.Context, who actor.Actor, in FreeInput) (jobcard.Changed, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return jobcard.Changed{}, err
	}
	f := apperr.Fields{}
	in.Reason = f.Line("reason", in.Reason, MaxShort)
	if !in.Undo {
		f.Must("reason", in.Reason, "the reason, as the customer may read it")
	}
	if err := f.Err(); err != nil {
		return jobcard.Changed{}, err
	}
	return change.Do(ctx, s.db, who, "charge nothing for a line", in, func(ctx context.Context, tx *change.Tx) (jobcard.Changed, error) {
		c, l, err := jobcard.LockLine(ctx, tx, in.LineID)
		switch {
		case err != nil:
			return jobcard.Changed{}, err
		case c.ID != in.CardID:
			return jobcard.Changed{}, apperr.NoSuch("line on this card")
		}
		done := jobcard.Changed{CardID: c.ID, LineID: l.ID, Version: c.Version}
		if in.Undo {
			if _, err := tx.Exec(ctx, `delete from no_charge where line_id = $1`, l.ID); err != nil {
				return done, fmt.Errorf("charge for a line after all: %w", err)
			}
			tx.Record("line charged after all", int64(c.ID), l.Title, nil)
			return done, nil
		}
		switch {
		case l.Struck() || l.WorkState != jobcard.Done:
			return done, apperr.New(apperr.Conflict, "“%s” is not done", l.Title)
		case l.Consent == jobcard.Agreed:
			return done, apperr.New(apperr.Conflict, "“%s” was agreed: take it off by a discount on the card", l.Title)
		}
		_, err = tx.Exec(ctx, `
			insert into no_charge (line_id, reason, by_staff, at) values ($1, $2, nullif($3::bigint, 0), $4)
			on conflict on constraint no_charge_pk do update set reason = $2, by_staff = nullif($3::bigint, 0), at = $4`, l.ID, in.Reason, tx.Who.StaffID, tx.At)
		if err != nil {
			return done, fmt.Errorf("charge nothing for a line: %w", err)
		}
		tx.Record("line not charged", int64(c.ID), l.Title, map[string]any{"why": in.Reason})
		return done, nil
	})
}

// CreditInput credits a bill: the whole of what is left of it, or quantities of
// its lines by key, in thousandths.
type CreditInput struct {
	BillID ID
	Whole  bool
	Lines  map[string]int64
	Why    string
	// Seen is how much of the bill had been credited when somebody looked; nil
	// does not mind.
	Seen *money.Minor
}

// Credit issues a credit note. What it takes back whole can be billed again.
// Errors: NotFound, Invalid at why and lines, Conflict when nothing is left or
// it was credited meanwhile.
func (s *Service) Credit(ctx context.Context, who actor.Actor, in CreditInput) (Issued, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return Issued{}, err
	}
	f := apperr.Fields{}
	in.Why = f.Line("why", in.Why, MaxWhy)
	f.Must("why", in.Why, "the reason, as the customer may read it")
	if !in.Whole && len(in.Lines) == 0 {
		f.Add("lines", "choose what is credited")
	}
	if err := f.Err(); err != nil {
		return Issued{}, err
	}
	return change.Do(ctx, s.db, who, "issue a credit note", in, func(ctx context.Context, tx *change.Tx) (Issued, error) {
		d, err := lockBill(ctx, tx, in.BillID)
		if err != nil {
			return Issued{}, err
		}
		if in.Seen != nil && *in.Seen != d.Credited {
			return Issued{}, apperr.New(apperr.Conflict, "this bill was credited meanwhile: look at what is left of it")
		}
		sum, err := d.credit(in)
		if err != nil {
			return Issued{}, err
		}
		set, terms, err := house(ctx, tx)
		if err != nil {
			return Issued{}, err
		}
		c := d.creditNote(sum, in.Why, set.Today(tx.At))
		if lacks := c.lacks("numbered when issued"); len(lacks) > 0 {
			return Issued{}, apperr.New(apperr.Conflict, "the credit note cannot be issued: %s", lacks[0].Says)
		}
		if err := insert(ctx, tx, &c, terms.CreditSeries); err != nil {
			return Issued{}, err
		}
		// What was credited whole may be billed again.
		_, err = tx.Exec(ctx, `
			delete from billed d using bill_line l where d.bill_id = $1 and l.bill_id = d.bill_id and l.position = d.position and exists (
				select from bill n join bill_line c on c.bill_id = n.id where n.of_bill = $1 and c.key = l.key group by l.qty_milli having sum(c.qty_milli) = -l.qty_milli)`, d.ID)
		if err != nil {
			return Issued{}, fmt.Errorf("let go of what was credited: %w", err)
		}
		tx.Record("credit note issued", int64(c.CardID), c.Number, map[string]any{
			"bill": d.Number, "net": c.Sum.Totals.Net, "VAT": c.Sum.Totals.VAT, "gross": c.Sum.Totals.Gross, "why": c.Why,
		})
		return Issued{ID: c.ID, Number: c.Number, Gross: c.Sum.Totals.Gross}, nil
	})
}

// credit works out what is credited of a bill.
func (d Document) credit(in CreditInput) (pricing.Sum, error) {
	take, already := in.Lines, map[string]int64{}
	if in.Whole {
		take = map[string]int64{}
	}
	for _, i := range d.Items {
		if i.Credited != 0 {
			already[i.Key] = i.Credited
		}
		if in.Whole && i.Left() != 0 {
			take[i.Key] = i.Left()
		}
	}
	if len(take) == 0 {
		return pricing.Sum{}, apperr.New(apperr.Conflict, "the whole of this bill is credited already")
	}
	sum, err := d.Sum.CreditPart(take, already)
	switch {
	case err != nil:
		return sum, apperr.Field("lines", "%s", err)
	case sum.Totals.Gross > 0:
		return sum, apperr.Field("lines", "this would raise what is owed: credit the lines that it was given back for as well")
	}
	return sum, nil
}

// creditNote is the document of a credit of the bill.
func (d Document) creditNote(sum pricing.Sum, why string, today workday.Day) Document {
	c := d
	c.Kind, c.Form, c.Of, c.OfNumber, c.OfIssued, c.Why = CreditNote, CreditForm, d.ID, d.Number, d.Issued, why
	if !d.Registered {
		c.Form = WithoutVAT
	}
	c.Issued, c.TaxPoint, c.Due, c.Sum, c.Items, c.Words, c.Credited, c.Paid = today, today, today, sum, nil, "", 0, 0
	at := map[string]Item{}
	for _, i := range d.Items {
		at[i.Key] = i
	}
	for _, l := range sum.Lines {
		c.Items = append(c.Items, Item{LineSum: l, LineID: at[l.Key].LineID, PartID: at[l.Key].PartID})
	}
	return c
}

// lockBill takes the card of a bill, its customer and the bill for this
// transaction and reads it. Errors: NotFound; Conflict for a credit note.
func lockBill(ctx context.Context, tx *change.Tx, id ID) (Document, error) {
	var card jobcard.CardID
	var kind Kind
	if err := tx.QueryRow(ctx, `select card_id, kind from bill where id = $1`, id).Scan(&card, &kind); err != nil {
		return Document{}, pg.Explain(err, "bill", nil)
	}
	if kind == CreditNote {
		return Document{}, apperr.New(apperr.Conflict, "this is a credit note: it is the bill that is paid or credited")
	}
	if _, err := jobcard.Lock(ctx, tx, card); err != nil {
		return Document{}, err
	}
	d, err := Read(ctx, tx, id)
	if err != nil {
		return d, err
	}
	if err := lockCustomer(ctx, tx, d.CustomerID); err != nil {
		return d, err
	}
	return Read(ctx, tx, id)
}
