package billweb

import (
	"net/http"

	"rampside/internal/bill"
	"rampside/internal/customer"
	"rampside/web/ui"
)

type termsView struct {
	Tabs    []tab
	Form    *ui.Form
	T       bill.Terms
	PayDays string
	Version int64
	Fixed   map[bill.SeriesName]bool
}

func (p pages) terms(w http.ResponseWriter, r *http.Request) error {
	return p.termsSheet(w, r, http.StatusOK, nil)
}

func (p pages) termsSheet(w http.ResponseWriter, r *http.Request, status int, f *ui.Form) error {
	who := ui.Who(r.Context())
	t, err := p.bills.Terms(r.Context(), who)
	if err != nil {
		return err
	}
	v := &termsView{Tabs: tabs(who, termsPath), Form: f, T: t, PayDays: ui.Itoa(int64(t.PayDays)), Version: int64(t.Version), Fixed: map[bill.SeriesName]bool{}}
	for name, given := range t.Given {
		v.Fixed[name] = given > 0
	}
	return p.kit.Render(w, r, status, termsPage(p.frame(r, "What stands on every bill"), v))
}

func (p pages) saveTerms(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := bill.Terms{
		PayDays: f.Int("pay_days", 0, 365), Words: f.Text("words", bill.MaxWords), AccountName: f.Str("account_name", bill.MaxShort), IBAN: f.Str("iban", 60), BIC: f.Str("bic", 11),
		CompanyNumber: f.Str("company_number", 40), Country: f.Str("country", 2), EndpointScheme: f.Str("endpoint_scheme", 4), Endpoint: f.Str("endpoint", 100),
		CreditSeries: ui.OneOf(f, "credit_series", bill.Credits, bill.Bills), Version: int(f.Version()), Prefix: map[bill.SeriesName]string{},
	}
	for _, name := range []bill.SeriesName{bill.Bills, bill.Credits, bill.Receipts} {
		in.Prefix[name] = f.Str(string(name)+"_prefix", 12)
	}
	f.Required("country", "credit_series")
	if err = f.Err(); err == nil {
		_, err = p.bills.SaveTerms(r.Context(), who, in)
	}
	return p.reply(w, r, f, termsPath, "Saved: from the next bill on", err, func(status int) error { return p.termsSheet(w, r, status, f) })
}

type partyView struct {
	Form         *ui.Form
	P            bill.PartyTerms
	Name, Path   string
	CustomerPath string
	Version      int64
}

func (p pages) party(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	return p.partySheet(w, r, http.StatusOK, id, nil)
}

func (p pages) partySheet(w http.ResponseWriter, r *http.Request, status int, id customer.ID, f *ui.Form) error {
	t, c, err := p.bills.Party(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	v := &partyView{Form: f, P: t, Name: c.Name, Path: partyPath(id), CustomerPath: "/customers/" + ui.Itoa(id), Version: int64(t.Version)}
	return p.kit.Render(w, r, status, partyPage(p.frame(r, "Bills to "+c.Name), v))
}

func (p pages) saveParty(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := bill.PartyTerms{
		CustomerID: id, VATNumber: f.Str("vat_number", 20), Reference: f.Str("reference", bill.MaxShort), Country: f.Str("country", 2),
		EndpointScheme: f.Str("endpoint_scheme", 4), Endpoint: f.Str("endpoint", 100), Version: int(f.Version()),
	}
	f.Required("country")
	if err = f.Err(); err == nil {
		_, err = p.bills.SaveParty(r.Context(), who, in)
	}
	return p.reply(w, r, f, partyPath(id), "Saved: from the next bill on", err, func(status int) error { return p.partySheet(w, r, status, id, f) })
}
