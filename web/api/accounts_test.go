package api

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// billed issues a bill of £100.00 and VAT, for the garage's customer.
func (s *site) billed() bill.Issued {
	s.t.Helper()
	ctx := s.t.Context()
	set, err := garage.Load(ctx, s.DB.Pool)
	s.OK(err)
	set.Address, set.VATNumber = "3 Saltmarsh Lane\nSedgeholm", "100000132"
	_, err = s.Settings.SaveSettings(ctx, s.Owner, set)
	s.OK(err)
	price := money.Minor(100_00)
	line := jobcard.NewLine{LineTerms: jobcard.LineTerms{Title: "Weld the bracket", MustDo: true, Estimate: hours.One(time.Hour), FixedPrice: &price}}
	c := s.Garage.Book(line)
	s.Agree(c.ID)
	_, err = clocking.New(s.DB).Tick(ctx, s.Posy, clocking.LineInput{LineID: c.Lines[0].ID})
	s.OK(err)
	b, err := bill.New(s.DB).Issue(ctx, s.Desk, bill.IssueInput{CardID: c.ID})
	s.OK(err)
	return b
}

// accounting goes through the accounts.
func (s *site) accounting() {
	t := s.t
	t.Helper()
	b := s.billed()
	_, err := bill.New(s.DB).Take(t.Context(), s.Desk, bill.TakeInput{BillID: b.ID, Amount: 40_00, Method: "card"})
	s.OK(err)
	got := as[AccountsView](s.get("desk", "/accounts"), 200)
	if got.Owed.Aged.NotDue != 80_00 || got.Owed.Aged.Total != 80_00 || len(got.Owed.Debtors) != 1 || got.Owed.Debtors[0].Bills[0].Number != b.Number || got.Currency != "GBP" {
		t.Errorf("%+v", got)
	}
	if len(got.Taken) == 0 || got.Taken[0] != (TakenView{"card", 40_00, 0, 40_00}) {
		t.Errorf("taken %+v", got.Taken)
	}
	day := got.Today.String()
	if owed := as[OwedView](s.get("owner", "/accounts/owed?on="+day), 200); owed.Aged.Total != 80_00 {
		t.Errorf("owed %+v", owed)
	}
	if owed := as[OwedView](s.get("owner", "/accounts/owed?on=2026-01-01"), 200); owed.Aged.Total != 0 || len(owed.Debtors) != 0 {
		t.Errorf("owed before %+v", owed)
	}
	at := fmt.Sprintf("/accounts/customers/%d", s.Keeper)
	st := as[StatementView](s.get("desk", at+"?from="+day+"&to="+day), 200)
	if st.Closing != 80_00 || len(st.Rows) != 2 || st.Rows[0].Number != b.Number || st.Rows[1].Balance != 80_00 {
		t.Errorf("statement %+v", st)
	}
	if pdf := s.get("desk", at+"/pdf"); pdf.Status != 200 || !bytes.HasPrefix(pdf.Raw, []byte("%PDF-")) {
		t.Errorf("the statement on paper: %d", pdf.Status)
	}
	if m := as[StatementMailed](s.post("desk", at+"/mail", obj{"mail": "odette@example.org", "text": "Here it is."}), 200); m.LetterID == 0 {
		t.Error("no letter")
	}
	period := "?from=" + day + "&to=" + day
	v := as[VATView](s.get("desk", "/accounts/vat"+period), 200)
	if v.VAT != 20_00 || v.Supplies != 100_00 || v.Basis != books.ByBill || len(v.Boxes) != 9 || *v.Boxes[0].Amount != 20_00 || v.Boxes[3].Amount != nil {
		t.Errorf("VAT %+v", v)
	}
	// A third of the bill came: a sixth of £40.00 is VAT (VAT fraction at 20 %).
	if v := as[VATView](s.get("desk", "/accounts/vat"+period+"&by=cash"), 200); v.VAT != 6_67 || v.Supplies != 33_33 || v.Rates[0].Behind[0].About != b.Number {
		t.Errorf("VAT by cash %+v", v)
	}
	if set := as[CashFromBody](s.put("owner", "/accounts/vat/cash-from", obj{"by": "cash", "from": day}), 200); set.From.String() != day {
		t.Errorf("set %+v", set)
	}
	if v := as[VATView](s.get("desk", "/accounts/vat"+period), 200); v.Basis != books.ByCash || v.VAT != 6_67 {
		t.Errorf("VAT as the garage does %+v", v)
	}
	as[CashFromBody](s.put("owner", "/accounts/vat/cash-from", obj{"by": "bill"}), 200)
	for _, table := range books.Tables() {
		got := as[BooksTable](s.get("desk", "/accounts/tables/"+table.Name+period), 200)
		if len(got.Columns) != len(table.Columns) || len(got.Rows) != 1 || len(got.Rows[0]) != len(table.Columns) || len(got.Totals) != len(table.Totals) {
			t.Errorf("table %+v", got)
		}
	}
}

func TestTheAccountsAddUpForPrograms(t *testing.T) { newSite(t).accounting() }

func TestTheAccountsRefuseWhatIsNoPeriodAtItsPlace(t *testing.T) {
	s := newSite(t)
	for path, place := range map[string]string{
		"/accounts/vat?from=2026-10-05&to=2026-10-01": "to", "/accounts/vat?from=2026-10-05": "to", "/accounts/vat?from=soon": "from",
		"/accounts/tables/documents?from=2020-01-01&to=2026-01-01": "to", "/accounts/owed?on=1066-01-01": "on", "/accounts?day=nothing": "day",
	} {
		if p := s.get("desk", path).problem(422, "invalid"); p.at(place)+p.at("#/"+place) == "" {
			t.Errorf("%s says %+v", path, p)
		}
	}
	s.get("desk", "/accounts/tables/secrets").problem(404, "not-found")
	s.get("desk", "/accounts/customers/99999").problem(404, "not-found")
	s.get("posy", "/accounts").problem(403, "forbidden")
	s.put("desk", "/accounts/vat/cash-from", obj{"by": "bill"}).problem(403, "forbidden")
	if p := s.post("desk", fmt.Sprintf("/accounts/customers/%d/mail", s.Keeper), obj{"mail": "not an address", "text": "x"}).problem(422, "invalid"); len(p.Errors) == 0 {
		t.Errorf("%+v", p)
	}
}
