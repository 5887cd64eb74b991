package billweb_test

import (
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/link"
	"rampside/web/billweb"
	"rampside/web/ui"
)

func TestACustomerSeesTheirBillBehindALinkAndNothingElse(t *testing.T) {
	s := newSite(t)
	s.lives("4 Quay Steps\nSaltmarsh")
	sheet := s.Book(fixed("Exhaust, replace", 100_00))
	s.Agree(sheet.ID)
	s.tick(sheet.Lines[0])
	d, err := s.bills.Issue(t.Context(), s.Desk, bill.IssueInput{CardID: sheet.ID})
	s.OK(err)
	at := billweb.Path + "/" + ui.Itoa(d.ID)
	if a := s.post("technician", at+"/links"); a.status != 403 {
		t.Errorf("a technician makes a link: %d", a.status)
	}
	if a := s.post("desk", at+"/links"); a.status != 303 || a.location != at+"#links" {
		t.Fatalf("a link is made: %d to %s", a.status, a.location)
	}
	page := s.get("desk", at)
	if v, _ := page.Find("#links").Parent().Find("input.quote-link").Attr("value"); !strings.Contains(v, link.Path) {
		t.Errorf("the address of the link is %q", v)
	}
	all, err := s.bills.Links(t.Context(), s.Desk, d.ID)
	s.OK(err)
	if len(all) != 1 || all[0].Target != int64(d.ID) || all[0].GivenTo != "Odette Marlowe" || all[0].CardID != sheet.ID {
		t.Fatalf("%+v", all)
	}
	c := billweb.ForCustomer(s.bills)
	title, body, err := c.Show(t.Context(), all[0])
	s.OK(err)
	var out strings.Builder
	s.OK(body.Render(t.Context(), &out))
	if title != "VAT invoice "+d.Number || !strings.Contains(out.String(), "£120.00") || strings.Contains(out.String(), "<form") {
		t.Errorf("%s: %s", title, out.String())
	}
	name, pdf, err := c.Paper(t.Context(), all[0])
	s.OK(err)
	if name != "bill-"+d.Number+".pdf" || !strings.HasPrefix(string(pdf), "%PDF-") {
		t.Errorf("%s of %d bytes", name, len(pdf))
	}
	other := all[0]
	other.Purpose = link.Handover
	if _, _, err := c.Show(t.Context(), other); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a link to a handover opens a bill: %v", err)
	}
}
