package bill

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/einvoice"
	"rampside/internal/ledger"
	"rampside/internal/pg"
)

// SeriesName names a series of numbers.
type SeriesName string

// The series.
const (
	Bills    SeriesName = "bill"
	Credits  SeriesName = "credit"
	Receipts SeriesName = "receipt"
)

// Terms is what stands on every bill besides the garage's settings.
type Terms struct {
	PayDays        int // from issue until it is due; 0 is at once
	Words          string
	AccountName    string
	IBAN, BIC      string
	CompanyNumber  string
	Country        string // ISO 3166-1 alpha-2
	EndpointScheme string
	Endpoint       string
	CreditSeries   SeriesName // Credits or Bills
	// The prefixes of the series; once a number was given out they stay.
	Prefix  map[SeriesName]string
	Given   map[SeriesName]int64 // the last number given out in each
	Version int
}

// PartyTerms is what one customer's bills need besides name and address.
type PartyTerms struct {
	CustomerID     customer.ID
	VATNumber      string
	Reference      string
	Country        string
	EndpointScheme string
	Endpoint       string
	Version        int // 0 while nothing was given yet
}

// ErrIBAN says that an account number is none.
var ErrIBAN = errors.New("this is no IBAN: two letters, two digits and up to thirty letters and digits; look for a slip in it")

// IBAN checks an account number by its two check digits and gives it without
// blanks: ISO 13616 and its MOD 97-10 (ISO 7064). Empty is fine.
func IBAN(s string) (string, error) {
	s = strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(s))
	if s == "" {
		return "", nil
	}
	if len(s) < 15 || len(s) > 34 {
		return "", ErrIBAN
	}
	mod := 0
	for i, c := range s[4:] + s[:4] {
		switch {
		case c >= '0' && c <= '9':
			mod = (mod*10 + int(c-'0')) % 97
		case c >= 'A' && c <= 'Z':
			mod = (mod*100 + int(c-'A') + 10) % 97
		default:
			return "", ErrIBAN
		}
		if at := (i + 4) % len(s); at < 2 && (c < 'A' || c > 'Z') || at >= 2 && at < 4 && (c < '0' || c > '9') {
			return "", ErrIBAN
		}
	}
	if mod != 1 {
		return "", ErrIBAN
	}
	return s, nil
}

func (t Terms) clean() (Terms, error) {
	f := apperr.Fields{}
	if t.PayDays < 0 || t.PayDays > 365 {
		f.Add("pay_days", "between 0 and 365 days, please")
	}
	t.Words = f.Prose("words", t.Words, MaxWords)
	t.AccountName = f.Line("account_name", t.AccountName, MaxShort)
	iban, err := IBAN(f.Line("iban", t.IBAN, 60))
	if err != nil {
		f.Add("iban", "%s", err)
	}
	t.IBAN = iban
	t.BIC = strings.ToUpper(f.Line("bic", t.BIC, 11))
	t.CompanyNumber = f.Line("company_number", t.CompanyNumber, 40)
	t.Country = country(f, t.Country)
	t.EndpointScheme, t.Endpoint = endpoint(f, t.EndpointScheme, t.Endpoint)
	if t.AccountName != "" && t.IBAN == "" {
		f.Add("iban", "please give the account's IBAN with its name")
	}
	if t.CreditSeries != Credits && t.CreditSeries != Bills {
		f.Add("credit_series", "please choose one from the list")
	}
	seen := map[string]SeriesName{}
	for _, name := range []SeriesName{Bills, Credits, Receipts} {
		field := string(name) + "_prefix"
		if (ledger.Series{Prefix: t.Prefix[name], Width: seriesWidth}).Check() != nil {
			f.Add(field, "%s", ledger.ErrSeries)
		}
		if _, twice := seen[t.Prefix[name]]; twice {
			f.Add(field, "two series cannot begin alike")
		}
		seen[t.Prefix[name]] = name
	}
	return t, f.Err()
}

// seriesWidth is how many digits a number has at least.
const seriesWidth = 5

func country(f apperr.Fields, s string) string {
	s = strings.ToUpper(f.Line("country", s, 2))
	if len(s) != 2 || s[0] < 'A' || s[0] > 'Z' || s[1] < 'A' || s[1] > 'Z' {
		f.Add("country", "a country by its two letters, please, such as GB")
	}
	return s
}

func endpoint(f apperr.Fields, scheme, id string) (string, string) {
	scheme, id = strings.ToUpper(f.Line("endpoint_scheme", scheme, 4)), f.Line("endpoint", id, 100)
	switch {
	case scheme == "" && id != "":
		f.Add("endpoint_scheme", "please give the scheme that the address belongs to, such as 0088")
	case scheme != "" && id == "":
		f.Add("endpoint", "please give the address, or leave the scheme empty")
	case scheme != "" && !einvoice.KnownScheme(scheme):
		f.Add("endpoint_scheme", "this is no scheme of electronic addresses, such as 0088, 9932 or EM")
	}
	return scheme, id
}

func (in PartyTerms) clean() (PartyTerms, error) {
	f := apperr.Fields{}
	in.VATNumber = strings.ToUpper(strings.ReplaceAll(f.Line("vat_number", in.VATNumber, 20), " ", ""))
	in.Reference = f.Line("reference", in.Reference, MaxShort)
	in.Country = country(f, in.Country)
	in.EndpointScheme, in.Endpoint = endpoint(f, in.EndpointScheme, in.Endpoint)
	return in, f.Err()
}

const termsColumns = `pay_days, words, account_name, iban, bic, company_number, country, endpoint_scheme, endpoint, credit_series, version,
	(select json_object_agg(name, prefix) from bill_series), (select json_object_agg(name, last) from bill_series)`

func scanTerms(row pgx.Row) (t Terms, err error) {
	err = row.Scan(&t.PayDays, &t.Words, &t.AccountName, &t.IBAN, &t.BIC, &t.CompanyNumber, &t.Country, &t.EndpointScheme, &t.Endpoint,
		&t.CreditSeries, &t.Version, &t.Prefix, &t.Given)
	if err != nil {
		return t, fmt.Errorf("terms of bills: %w", err)
	}
	return t, nil
}

// Terms reads what stands on every bill.
func (s *Service) Terms(ctx context.Context, who actor.Actor) (Terms, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return Terms{}, err
	}
	return loadTerms(ctx, s.db.Pool)
}

func loadTerms(ctx context.Context, q pg.Querier) (Terms, error) {
	return scanTerms(q.QueryRow(ctx, `select `+termsColumns+` from bill_terms where id = 1`))
}

// SaveTerms changes what stands on every bill from now on. Errors: Invalid at
// the fields, Conflict when it was changed meanwhile.
func (s *Service) SaveTerms(ctx context.Context, who actor.Actor, in Terms) (Terms, error) {
	if err := who.Need(actor.ManageGarage); err != nil {
		return Terms{}, err
	}
	in, err := in.clean()
	if err != nil {
		return Terms{}, err
	}
	return change.Do(ctx, s.db, who, "save the terms of bills", in, func(ctx context.Context, tx *change.Tx) (Terms, error) {
		was, err := scanTerms(tx.QueryRow(ctx, `select `+termsColumns+` from bill_terms where id = 1 for update`))
		if err != nil {
			return Terms{}, err
		}
		if was.Version != in.Version {
			return Terms{}, apperr.Stale("page of terms", was)
		}
		var b pgx.Batch
		for name, prefix := range in.Prefix {
			if prefix == was.Prefix[name] {
				continue
			}
			if was.Given[name] > 0 {
				return Terms{}, apperr.Field(string(name)+"_prefix", "numbers were given out in this series: it goes on as it began")
			}
			b.Queue(`update bill_series set prefix = $2 where name = $1`, name, prefix)
		}
		b.Queue(`update bill_terms set pay_days = $1, words = $2, account_name = $3, iban = $4, bic = $5, company_number = $6, country = $7,
				endpoint_scheme = $8, endpoint = $9, credit_series = $10, version = version + 1 where id = 1`,
			in.PayDays, in.Words, in.AccountName, in.IBAN, in.BIC, in.CompanyNumber, in.Country, in.EndpointScheme, in.Endpoint, in.CreditSeries)
		if err := tx.SendBatch(ctx, &b).Close(); err != nil {
			return Terms{}, pg.Explain(err, "terms of bills", map[string]*apperr.Error{
				"bill_series_prefix_once": apperr.Field("bill_prefix", "two series cannot begin alike"),
			})
		}
		tx.Record("terms of bills changed", 0, "garage", map[string]any{"pay days": in.PayDays, "IBAN": in.IBAN, "account": in.AccountName, "credit notes numbered as": in.CreditSeries})
		in.Version, in.Given = was.Version+1, was.Given
		return in, nil
	})
}

const partyColumns = `customer_id, vat_number, reference, country, endpoint_scheme, endpoint, version`

func loadParty(ctx context.Context, q pg.Querier, id customer.ID) (PartyTerms, error) {
	p := PartyTerms{CustomerID: id, Country: "GB"}
	err := q.QueryRow(ctx, `select `+partyColumns+` from bill_party where customer_id = $1`, id).
		Scan(&p.CustomerID, &p.VATNumber, &p.Reference, &p.Country, &p.EndpointScheme, &p.Endpoint, &p.Version)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return p, fmt.Errorf("terms of a customer: %w", err)
	}
	return p, nil
}

// Party reads what a customer's bills need besides name and address.
func (s *Service) Party(ctx context.Context, who actor.Actor, id customer.ID) (PartyTerms, customer.Customer, error) {
	if err := who.Need(actor.ReadPeople); err != nil {
		return PartyTerms{}, customer.Customer{}, err
	}
	c, err := customer.Get(ctx, s.db.Pool, id)
	if err != nil {
		return PartyTerms{}, c, err
	}
	p, err := loadParty(ctx, s.db.Pool, id)
	return p, c, err
}

// SaveParty changes it. Errors: Invalid at the fields, NotFound, Conflict.
func (s *Service) SaveParty(ctx context.Context, who actor.Actor, in PartyTerms) (PartyTerms, error) {
	if err := who.Need(actor.IssueBill); err != nil {
		return PartyTerms{}, err
	}
	in, err := in.clean()
	if err != nil {
		return PartyTerms{}, err
	}
	return change.Do(ctx, s.db, who, "save a customer's terms", in, func(ctx context.Context, tx *change.Tx) (PartyTerms, error) {
		if err := lockCustomer(ctx, tx, in.CustomerID); err != nil {
			return PartyTerms{}, err
		}
		was, err := loadParty(ctx, tx, in.CustomerID)
		if err != nil {
			return PartyTerms{}, err
		}
		if was.Version != in.Version {
			return PartyTerms{}, apperr.Stale("customer's page of terms", was)
		}
		in.Version++
		_, err = tx.Exec(ctx, `
			insert into bill_party (customer_id, vat_number, reference, country, endpoint_scheme, endpoint, version) values ($1, $2, $3, $4, $5, $6, $7)
			on conflict on constraint bill_party_pk do update set vat_number = $2, reference = $3, country = $4, endpoint_scheme = $5, endpoint = $6, version = $7`,
			in.CustomerID, in.VATNumber, in.Reference, in.Country, in.EndpointScheme, in.Endpoint, in.Version)
		if err != nil {
			return PartyTerms{}, fmt.Errorf("terms of a customer: %w", err)
		}
		tx.Record("customer's terms changed", 0, fmt.Sprintf("customer %d", in.CustomerID), map[string]any{"VAT number": in.VATNumber, "reference": in.Reference})
		return in, nil
	})
}

// lockCustomer keeps two changes to one customer's money from interleaving.
func lockCustomer(ctx context.Context, tx *change.Tx, id customer.ID) error {
	var one int
	err := tx.QueryRow(ctx, `select 1 from customer where id = $1 for no key update`, id).Scan(&one)
	return pg.Explain(err, "customer", nil)
}

// number gives out the next number of a series. The row stays locked until the
// transaction ends.
func number(ctx context.Context, tx *change.Tx, name SeriesName) (text string, n int64, err error) {
	var s ledger.Series
	err = tx.QueryRow(ctx, `update bill_series set last = last + 1 where name = $1 returning prefix, width, last`, name).Scan(&s.Prefix, &s.Width, &n)
	if err != nil {
		return "", 0, fmt.Errorf("next number of %ss: %w", name, err)
	}
	return s.Format(n), n, nil
}
