package quote_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/quote"
	"rampside/internal/workday"
)

func TestAVersionHoldsTheCardAsItStood(t *testing.T) {
	r := open(t)
	c := r.card()
	v := r.make(c.ID)
	if v.No != 1 || v.Number != 2001 || v.Name() != "2001/1" || v.Kind != quote.Estimate {
		t.Fatalf("%+v", v)
	}
	if len(v.Jobs) != 2 || v.Jobs[0].Title != "Front brake pads" || len(v.Jobs[0].Lines) != 2 || len(v.Jobs[1].Lines) != 2 {
		t.Fatalf("jobs: %+v", v.Jobs)
	}
	// 1.2 h at 60.00 and a pad set at 26.50 with 30 % on it (34.45), 20 % VAT.
	if j := v.Jobs[0]; j.Net != 72_00+34_45 || j.Gross != 106_45+21_29 || j.Time != 72*time.Minute {
		t.Errorf("%v, %v with VAT, %v", j.Net, j.Gross, j.Time)
	}
	if own := v.Jobs[1].About[1]; !own.CustomersOwn || v.Jobs[1].Lines[1].Net != 0 {
		t.Errorf("the customer's own part: %+v", own)
	}
	if v.Customer.Name != "Odette Marlowe" || v.Car.Mark != "BD51 SMR" || v.Car.Name != "Brisling Tern" || v.Garage.Name != "Saltmarsh Lane Garage" {
		t.Errorf("%+v %+v %+v", v.Customer, v.Car, v.Garage)
	}
	// The usual fortnight, to the end of the day in the garage's zone, which is
	// an hour before midnight UTC in summer.
	if want := time.Date(2026, 10, 19, 23, 0, 0, 0, time.UTC); !v.ValidUntil.Equal(want) || v.LastDay() != workday.Must(2026, time.October, 19) {
		t.Errorf("until %v, last day %v", v.ValidUntil, v.LastDay())
	}
}

func TestTotalsEqualThoseOfPricingToThePenny(t *testing.T) {
	r := open(t)
	c := r.card()
	r.part(c, 0, jobcard.PartTerms{Name: "Grease", Qty: 333, Cost: 7_77})
	r.part(c, -1, jobcard.PartTerms{Name: "Screws", Qty: 7000, Cost: 13})
	p, err := jobcard.LoadPriced(t.Context(), r.DB.Pool, c.ID)
	r.OK(err)
	for _, rounding := range money.Roundings() {
		p.Settings.Rounding = rounding
		r.OK(r.exec(`update garage set vat_rounding = $1`, rounding))
		want, err := pricing.Work(p.Only(nil))
		r.OK(err)
		v := r.make(c.ID)
		if v.Totals.Net != want.Totals.Net || v.Totals.VAT != want.Totals.VAT || v.Totals.Gross != want.Totals.Gross || v.Rounding != rounding {
			t.Errorf("%s: %+v, want %+v", rounding, v.Totals, want.Totals)
		}
		var net, gross money.Minor
		for _, j := range append(v.Jobs, v.Rest) {
			net, gross = net+j.Net, gross+j.Gross
		}
		if net != want.Totals.Net || gross != want.Totals.Gross {
			t.Errorf("%s: the jobs come to %v and %v with VAT, the whole to %+v", rounding, net, gross, want.Totals)
		}
		lines := 0
		for _, j := range append(v.Jobs, v.Rest) {
			lines += len(j.Lines)
		}
		if lines != len(want.Lines) {
			t.Errorf("%d lines of %d", lines, len(want.Lines))
		}
	}
}

// Three times £0.33 at 20 %: rounding on each line gives £0.21 VAT, once for
// the document £0.20 (vectors of HMRC's VAT Notice 700, 17.5, worked by hand).
func TestWhatRoundingMakesOfTheWholeStandsInARowOfItsOwn(t *testing.T) {
	r := open(t)
	c := r.Book(free("A", 33), free("B", 33), free("C", 33))
	v := r.make(c.ID)
	if v.Totals.VAT != 20 || v.Jobs[0].Gross != 40 || v.Rest.Gross != -1 || v.Rest.Title != "Rounding of VAT" {
		t.Errorf("VAT %v, a job %v, the rest %+v", v.Totals.VAT, v.Jobs[0].Gross, v.Rest)
	}
}

func free(title string, net money.Minor) jobcard.NewLine {
	return jobcard.NewLine{LineTerms: jobcard.LineTerms{Title: title, MustDo: true, FixedPrice: &net}}
}

func TestTheDatabaseRefusesToChangeWhatWasIssued(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	_, err := r.quotes.Send(t.Context(), r.Desk, quote.SendInput{VersionID: v.ID, Way: quote.OnPaper, ToName: "Odette Marlowe"})
	r.OK(err)
	_, err = r.answer(v, yes(v, 0))
	r.OK(err)
	for _, sql := range []string{
		`update quote_version set gross_minor = 1`, `update quote_version set valid_until = valid_until + interval '1 day'`,
		`delete from quote_version`, `truncate quote_version cascade`, `update quote_job set gross_minor = 1`, `delete from quote_job`,
		`update quote_line set what = 'x'`, `delete from quote_line`, `update quote_vat set vat_minor = 0`, `delete from quote_vat`,
		`update quote_answer set said_by = 'x'`, `delete from quote_answer`, `update quote_answer_job set answer = 'declined'`,
		`delete from quote_answer_job`, `update quote_sending set to_name = 'x'`, `delete from quote_sending`, `delete from quote`,
		`update consent set version_id = null`,
	} {
		if err := r.exec(sql); pg.Code(err) != "23001" { // restrict_violation
			t.Errorf("%s: %v", sql, err)
		}
	}
	for _, sql := range []string{
		`insert into quote_job (version_id, position, title, must_do, minutes, net_minor, gross_minor) values ($1, 9, 'more', true, 0, 0, 0)`,
		`insert into quote_vat (version_id, position, vat_code, vat_bp, net_minor, vat_minor) values ($1, 9, 'zero', 0, 0, 0)`,
	} {
		if err := r.exec(sql, v.ID); pg.Code(err) != "23001" {
			t.Errorf("%s: %v", sql, err)
		}
	}
	if again := r.read(v.ID); again.Totals.Gross != v.Totals.Gross {
		t.Errorf("%v became %v", v.Totals.Gross, again.Totals.Gross)
	}
}

func TestTheDatabaseRefusesAVersionThatDoesNotAddUp(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	err := r.exec(`insert into quote_version select nextval('quote_version_id_seq') from quote_version where false`)
	if err == nil {
		t.Fatal("a row without its columns went in")
	}
	err = r.exec(`
		insert into quote_version (quote_number, card_id, version_no, kind, issued_at, valid_until, garage_name, garage_address, garage_phone,
			garage_email, vat_number, tax_name, currency, zone, customer_id, customer_name, customer_address, customer_phone, customer_email,
			vehicle_id, mark, vin, car, mileage_unit, customer_words, rounding, line_net_minor, allowances_minor, charges_minor, net_minor,
			vat_minor, gross_minor)
		select quote_number, card_id, 2, kind, issued_at, valid_until, garage_name, garage_address, garage_phone, garage_email, vat_number,
			tax_name, currency, zone, customer_id, customer_name, customer_address, customer_phone, customer_email, vehicle_id, mark, vin, car,
			mileage_unit, customer_words, rounding, 100, 0, 0, 100, 20, 120 from quote_version where id = $1`, v.ID)
	if pg.Constraint(err) != "quote_version_adds_up" {
		t.Errorf("a version of 120 with nothing in it: %v", err)
	}
	err = r.exec(`insert into quote_version select * from (select (v).* from (select v from quote_version v where id = $1) x) y`, v.ID)
	if err == nil {
		t.Error("the same version twice")
	}
}

func TestVersionsAreNumberedOnTheCardAndTheQuoteInTheGarage(t *testing.T) {
	r := open(t)
	a, b := r.card(), r.card()
	names := []string{r.make(a.ID).Name(), r.make(b.ID).Name(), r.make(a.ID).Name(), r.make(a.ID).Name()}
	if names[0] != "2001/1" || names[2] != "2001/2" || names[3] != "2001/3" || names[1] == names[0] {
		t.Errorf("%v", names)
	}
	list, err := r.quotes.List(t.Context(), r.Desk, a.ID)
	r.OK(err)
	if len(list) != 3 || list[0].No != 3 || list[0].State != quote.Waiting || list[1].State != quote.Superseded || list[0].Open != 2 {
		t.Errorf("%+v", list)
	}
}

func TestWhatCannotBeQuotedIsSaid(t *testing.T) {
	r := open(t)
	c := r.card()
	_, err := r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{CardID: c.ID})
	r.field(err, "kind")
	_, err = r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{CardID: c.ID, Kind: quote.Fixed, LastDay: r.Day.AddDays(-1)})
	r.field(err, "last_day")
	_, err = r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{CardID: c.ID, Kind: quote.Fixed, LastDay: r.Day.AddDays(quote.MaxDays + 1)})
	r.field(err, "last_day")
	_, err = r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{CardID: 999, Kind: quote.Fixed})
	r.kind(err, apperr.NotFound)
	_, err = r.quotes.Make(t.Context(), r.Posy, quote.MakeInput{CardID: c.ID, Kind: quote.Fixed})
	r.kind(err, apperr.Forbidden)
	empty := r.Book(cardtest.Op(r.Service))
	_, err = r.Cards.Answer(t.Context(), r.Desk, jobcard.ConsentInput{CardID: empty.ID, Answer: jobcard.Declined, SaidBy: "Odette Marlowe", How: "by phone"})
	r.OK(err)
	_, err = r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{CardID: empty.ID, Kind: quote.Fixed})
	r.kind(err, apperr.Conflict)
	_, err = r.quotes.Read(t.Context(), r.Posy, 1)
	r.kind(err, apperr.Forbidden)
	_, err = r.quotes.Read(t.Context(), r.Desk, 999)
	r.kind(err, apperr.NotFound)
}
