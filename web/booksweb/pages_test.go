package booksweb_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"rampside/internal/books"
)

// section is a part of a page by its heading's id.
func (a answer) section(id string) string {
	return text(a.Find(`section[aria-labelledby="` + id + `"]`))
}

func TestTheAccountsShowWhatIsOwedByAgeWithTheBillsBehindIt(t *testing.T) {
	s := newSite(t)
	late, _ := s.aQuarter()
	a := s.get("desk", "/accounts")
	if a.status != http.StatusOK {
		t.Fatalf("%d %s", a.status, text(a.Find("main")))
	}
	// £360.00 of 5 October was due on the 19th and £96.00 of 14 November on the
	// 28th: on 4 December they are 46 and 6 days late. £40.00 is not yet due.
	owed := a.section("owed")
	for _, want := range []string{"Peregrine Lowe", "£360.00", late.Number + ", due 19 Oct 2026", "£96.00", "£40.00", "£496.00"} {
		if !strings.Contains(owed, want) {
			t.Errorf("%q is not in %s", want, owed)
		}
	}
	if strings.Contains(owed, "Calder") || strings.Contains(owed, "Ottoline") {
		t.Errorf("who owes nothing is in %s", owed)
	}
	if got := a.section("unpaid"); !strings.Contains(got, "46 days") || strings.Contains(got, "<") {
		t.Errorf("not paid: %s", got)
	}
	if got := a.section("taken"); !strings.Contains(got, "cash £20.00") || !strings.Contains(got, "card £144.00") || !strings.Contains(got, "All together £164.00") {
		t.Errorf("taken: %s", got)
	}
	if n := a.Find(fmt.Sprintf(`a[href="/bills/%d"]`, late.ID)).Length(); n < 2 {
		t.Errorf("the late bill is linked %d times", n)
	}
	for _, path := range []string{"/accounts", "/accounts/vat", "/accounts/export", "/accounts/export/books.zip", "/accounts/columns", fmt.Sprintf("/accounts/customers/%d", s.Keeper)} {
		if a := s.get("technician", path); a.status != http.StatusForbidden || strings.Contains(a.body, "£") {
			t.Errorf("a technician gets %s: %d", path, a.status)
		}
	}
}

func TestAStatementRunsOnAndOpensItsBills(t *testing.T) {
	s := newSite(t)
	late, _ := s.aQuarter()
	var id int64
	s.OK(s.DB.Pool.QueryRow(t.Context(), `select customer_id from bill where id = $1`, late.ID).Scan(&id))
	path := fmt.Sprintf("/accounts/customers/%d", id)
	a := s.get("desk", path+"?from=2026-11-01&to=2026-12-04")
	main := text(a.Find("main"))
	for _, want := range []string{"Brought forward £360.00", "Owed on 4 Dec 2026 £360.00"} {
		if !strings.Contains(main, want) {
			t.Errorf("%q is not in %s", want, main)
		}
	}
	pdf := s.get("desk", path+"/pdf?from=2026-10-01&to=2026-12-04")
	if pdf.status != http.StatusOK || pdf.header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.body, "%PDF-") || pdf.header.Get("Cache-Control") != "no-store" {
		t.Errorf("on paper: %d %v", pdf.status, pdf.header)
	}
	a = s.post("desk", path+"/mail", "from", "2026-10-01", "to", "2026-12-04", "address", "not <an> address", "text", "Dear <b>")
	if a.status != http.StatusUnprocessableEntity || a.Find(`[name="address"][aria-invalid="true"]`).AttrOr("value", "") != "not <an> address" || text(a.Find("textarea")) != "Dear <b>" {
		t.Errorf("a letter to nowhere: %d %s", a.status, text(a.Find(".problems")))
	}
	if a := s.post("desk", path+"/mail", "from", "2026-10-01", "to", "2026-12-04", "address", "lowe@example.org", "text", "Here it is."); a.status != http.StatusSeeOther {
		t.Fatalf("a letter: %d %s", a.status, text(a.Find("main")))
	}
	if got := s.get("desk", path).section("letters"); !strings.Contains(got, "to lowe@example.org: waiting") {
		t.Errorf("letters: %s", got)
	}
	for path, want := range map[string]int{path + "?from=soon": 422, path + "?from=2026-12-01&to=2026-11-01": 422, path + "/pdf?from=soon": 422, "/accounts/customers/999999": 404, "/accounts/customers/x": 404} {
		if a := s.get("desk", path); a.status != want {
			t.Errorf("%s: %d", path, a.status)
		}
	}
}

// VAT of the quarter by bill: 20 % of £300.00, £80.00, £120.00, £50.00 and
// £200.00 less £200.00 is £110.00; by cash £144.00 and £20.00 came, and a sixth
// of that is £27.33 (the VAT fraction at 20 %: VAT Notice 700, 7.3).
func TestTheVATOfAPeriodStandsOnThePageBothWays(t *testing.T) {
	s := newSite(t)
	s.aQuarter()
	span := "?from=2026-10-01&to=2026-12-31"
	a := s.get("desk", "/accounts/vat"+span)
	if got := a.section("rates"); !strings.Contains(got, "All together £550.00 £110.00") {
		t.Errorf("by bill: %s", got)
	}
	if got := a.section("boxes"); !strings.Contains(got, "sales and other outputs £110.00") || !strings.Contains(got, "£550.00") {
		t.Errorf("boxes: %s", got)
	}
	if got := s.get("desk", "/accounts/vat"+span+"&by=cash").section("rates"); !strings.Contains(got, "All together £136.67 £27.33") {
		t.Errorf("by cash: %s", got)
	}
	if a := s.post("desk", "/accounts/vat/cash", "how", "cash", "cash_from", "2026-10-01"); a.status != http.StatusForbidden {
		t.Errorf("the desk changes it: %d", a.status)
	}
	if a := s.post("owner", "/accounts/vat/cash", "how", "cash", "cash_from", ""); a.status != http.StatusUnprocessableEntity || a.Find(`[name="cash_from"][aria-invalid="true"]`).Length() != 1 {
		t.Errorf("without a day: %d", a.status)
	}
	// From 1 December on: what has a tax point before stays as it was.
	if a := s.post("owner", "/accounts/vat/cash", "how", "cash", "cash_from", "2026-12-01"); a.status != http.StatusSeeOther {
		t.Fatalf("set: %d %s", a.status, text(a.Find("main")))
	}
	// £300.00 and £80.00 by bill, £76.00, and what came for December's bills.
	if got := s.get("desk", "/accounts/vat"+span).section("rates"); !strings.Contains(got, "All together £516.67 £103.33") {
		t.Errorf("from December on: %s", got)
	}
	for path, want := range map[string]int{"?from=1&to=2": 422, "?by=guess": 422, "?from=2020-01-01&to=2026-12-31": 422} {
		if a := s.get("desk", "/accounts/vat"+path); a.status != want || a.Find(".problems").Length() != 1 {
			t.Errorf("%s: %d", path, a.status)
		}
	}
}

func TestTheTablesGoOutAsFilesThatAgreeWithThePage(t *testing.T) {
	s := newSite(t)
	s.aQuarter()
	span := "?from=2026-10-01&to=2026-12-31"
	page := text(s.get("desk", "/accounts/export"+span).Find("main"))
	if !strings.Contains(page, "6 rows") || !strings.Contains(page, "net £550.00") || !strings.Contains(page, "open £496.00") {
		t.Errorf("the page: %s", page)
	}
	book := s.get("desk", "/accounts/export/books.xlsx"+span)
	f, err := excelize.OpenReader(strings.NewReader(book.body))
	s.OK(err)
	defer f.Close()
	rows, err := f.GetRows("documents")
	if err != nil || len(rows) != 7 || rows[5][7] != "Calder & Sons <Haulage>" {
		t.Errorf("%q, %v", rows, err)
	}
	packed := s.get("desk", "/accounts/export/books.zip"+span)
	z, err := zip.NewReader(bytes.NewReader([]byte(packed.body)), int64(len(packed.body)))
	if err != nil || len(z.File) != len(books.Tables())+2 {
		t.Fatalf("%v, %v", z, err)
	}
	csv := s.get("desk", "/accounts/export/payments.csv"+span)
	if csv.header.Get("Content-Type") != "text/csv; charset=utf-8" || csv.header.Get("Content-Disposition") != `attachment; filename="payments-2026-10-01-2026-12-31.csv"` || strings.Count(csv.body, "\r\n") != 3 {
		t.Errorf("%v %q", csv.header, csv.body)
	}
	for path, want := range map[string]int{"/accounts/export/secrets.csv": 404, "/accounts/export/documents.xlsx": 404, "/accounts/export/books.csv": 404, "/accounts/export/books.zip?from=x": 422, "/accounts/export?to=2026-01-01": 422} {
		if a := s.get("desk", path); a.status != want {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	columns := text(s.get("desk", "/accounts/columns").Find("main"))
	for _, table := range books.Tables() {
		for _, c := range table.Columns {
			if !strings.Contains(columns, c.Name+" "+string(c.Kind)+" "+c.Says) {
				t.Errorf("%s of %s is not explained", c.Name, table.Name)
			}
		}
	}
}
