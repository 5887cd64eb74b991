package booksweb_test

import (
	"bytes"
	"fmt"
	"testing"

	"rampside/web/webtest"
)

// TestTheAccountsAreForEverybodysEyesAndPaper goes through the accounts as the
// owner at the end of a week has them: who owes, open a figure, a statement by
// mail, the VAT of the quarter, the tables.
func TestTheAccountsAreForEverybodysEyesAndPaper(t *testing.T) {
	s := newSite(t)
	late, _ := s.aQuarter()
	var id int64
	s.OK(s.DB.Pool.QueryRow(t.Context(), `select customer_id from bill where id = $1`, late.ID).Scan(&id))
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "owner")
	b.Size(1280, 900)
	for _, p := range []struct{ path, name, see string }{
		{"/accounts", "accounts", "£496.00 is owed on 3 bills"},
		{fmt.Sprintf("/accounts/customers/%d", id), "statement", "Brought forward"},
		{fmt.Sprintf("/accounts/customers/%d?do=mail", id), "statement-mail", "What the letter says"},
		{"/accounts/vat?from=2026-10-01&to=2026-12-31", "vat", "Boxes of form VAT100"},
		{"/accounts/vat?do=cash", "vat-cash", "If when money comes, from"},
		{"/accounts/vat?from=soon", "vat-wrong", "enter a date"},
		{"/accounts/export?from=2026-10-01&to=2026-12-31", "export", "Tables of the period"},
		{"/accounts/columns", "columns", "What the columns mean"},
	} {
		b.Go(p.path)
		b.See(p.see)
		b.Audit(24)
		b.Dump(p.name)
	}
	b.Go("/accounts")
	b.Click("£360.00 (what Peregrine Lowe owes, 31 to 60 days: how it came about)")
	b.See("due 19 Oct 2026")
	b.Axe()
	b.Screenshot("accounts-open", 1280, 900)
	b.Screenshot("accounts-tablet", 834, 1112)
	b.Screenshot("accounts-phone", 390, 844)
	if pages := bytes.Count(b.PrintPDF("accounts-paper"), []byte("/Type /Page\n")); pages > 3 {
		t.Errorf("the accounts are printed on %d sheets", pages)
	}

	b.Size(1280, 900)
	b.Go(fmt.Sprintf("/accounts/customers/%d", id))
	b.Click("Send it by mail")
	b.Fill("Mail address", "lowe@example.org")
	b.Click("Send the statement")
	b.See("The statement goes out by mail")
	b.See("to lowe@example.org: waiting")

	// Without a script, by the address alone.
	b.Scripts(false)
	b.Go("/accounts/vat")
	b.Fill("First day", "2026-10-01")
	b.Fill("Last day", "2026-12-31")
	b.Click("Show it")
	b.See("£110.00")
}
