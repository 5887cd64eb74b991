package api

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rampside/internal/customer"
	"rampside/internal/jobcard/cardtest"
)

// billing takes a card to a bill that is paid, credited and given back.
func (s *site) billing() {
	t := s.t
	set := as[obj](s.get("owner", "/garage/settings"), 200)
	set["vat_number"], set["address"], set["email"] = "350983637", "2 Saltmarsh Lane", "desk@saltmarsh.example"
	s.put("owner", "/garage/settings", set)
	c, err := customer.Get(t.Context(), s.DB.Pool, s.Keeper)
	s.OK(err)
	_, err = customer.New(s.DB).Edit(t.Context(), s.Desk, customer.EditInput{ID: c.ID, Version: c.Version, Input: customer.Input{Name: c.Name, Phone: c.Phone, Email: "odette@marlowe.example", Address: "4 Quay Steps"}})
	s.OK(err)
	// What is owed from before is paid, so that what is kept is kept.
	for _, b := range as[BillList](s.get("desk", "/bills?unpaid=true"), 200).Bills {
		as[MoneyMade](s.post("desk", "/payments", obj{"bill_id": b.ID, "amount_minor": b.Open, "method": "cash"}), 201)
	}
	before := len(as[PaymentList](s.get("desk", "/payments"), 200).Payments)
	sheet := s.Book(cardtest.Free("Annual service", 96*time.Minute))
	at := fmt.Sprintf("/cards/%d/bill", sheet.ID)
	dep := as[MoneyMade](s.post("desk", "/payments", obj{"card_id": sheet.ID, "amount_minor": 1200, "method": "card"}), 201)
	if p := as[PaymentDoc](s.get("desk", fmt.Sprintf("/payments/%d", dep.ID)), 200); p.Left != 1200 || len(p.VAT) != 1 || p.VAT[0].VAT != 200 {
		t.Errorf("the deposit %+v", p)
	}
	s.Agree(sheet.ID)
	s.post("posy", fmt.Sprintf("/lines/%d/tick", sheet.Lines[0].ID), nil)
	seen := as[BillPreview](s.get("desk", at), 200)
	if !seen.Ready || seen.Bill.Totals.Net != 9600 || len(seen.Bill.Lines) != 1 {
		t.Fatalf("the preview %+v", seen)
	}
	s.post("desk", at+"/no-charge", obj{"line_id": sheet.Lines[0].ID, "reason": "goodwill"}).problem(409, "conflict")
	as[Changed](s.post("desk", at+"/no-charge", obj{"line_id": sheet.Lines[0].ID, "undo": true}), 200)
	s.post("desk", at, obj{"seen_gross_minor": 1}).problem(409, "conflict")
	made := as[BillMade](s.post("desk", at, obj{"seen_gross_minor": seen.Bill.Totals.Gross}), 201)
	one := fmt.Sprintf("/bills/%d", made.ID)
	if d := as[BillDoc](s.get("desk", one), 200); d.Number != made.Number || d.Deposits != 1200 || d.Open != 11520-1200 || len(d.Payments) != 1 {
		t.Errorf("the bill %+v", d)
	}
	if all := as[BillList](s.get("desk", "/bills?unpaid=true&find="+made.Number), 200); len(all.Bills) != 1 || all.Bills[0].Open != made.Open {
		t.Errorf("the list %+v", all)
	}
	if xml := s.get("desk", one+"/electronic"); xml.Status != 200 || !strings.Contains(string(xml.Raw), "<cbc:ID>"+made.Number+"</cbc:ID>") {
		t.Errorf("electronically: %d %s", xml.Status, xml.Raw)
	}
	if pdf := s.get("desk", one+"/pdf"); pdf.Status != 200 || !strings.HasPrefix(string(pdf.Raw), "%PDF-") {
		t.Errorf("the PDF: %d", pdf.Status)
	}
	if p := s.post("desk", one+"/letters", obj{"to": "nobody"}).problem(422, "invalid"); p.at("#/to") == "" {
		t.Errorf("a letter to nobody: %+v", p)
	}
	letter := as[BillLetter](s.post("desk", one+"/letters", obj{"to": "odette@marlowe.example", "with_electronic": true}), 201)
	if n := s.count(`select count(*) from letter_file where letter_id = $1`, letter.LetterID); n != 2 {
		t.Errorf("%d files go with the letter", n)
	}
	s.get("desk", one+"/electronic/outside").problem(404, "not-found")
	s.done.Store("get-electronic-bill-outside", true) // only a bill that mixes the two has a second part
	paid := as[MoneyMade](s.post("desk", "/payments", obj{"bill_id": made.ID, "amount_minor": made.Open, "method": "cash", "day": s.Day.String()}), 201)
	as[MoneyMade](s.post("desk", fmt.Sprintf("/payments/%d/reverse", paid.ID), obj{"why": "it was by card"}), 201)
	as[MoneyMade](s.post("desk", "/payments", obj{"bill_id": made.ID, "amount_minor": made.Open, "method": "card"}), 201)
	credit := as[BillMade](s.post("desk", one+"/credit-notes", obj{"lines": obj{seen.Bill.Lines[0].Key: 800}, "why": "half of it was done again"}), 201)
	if credit.Gross != -5760 {
		t.Errorf("the credit note %+v", credit)
	}
	s.post("desk", one+"/use-credit", nil).problem(409, "conflict")
	kept := as[MoneyMade](s.post("desk", "/payments", obj{"customer_id": s.Keeper, "amount_minor": 500, "method": "cash", "keep": true}), 201)
	as[MoneyMade](s.post("desk", "/refunds", obj{"payment_id": kept.ID, "amount_minor": 100, "method": "cash", "why": "too much"}), 201)
	next := s.Book(cardtest.Free("Annual service", 96*time.Minute))
	s.Agree(next.ID)
	s.post("posy", fmt.Sprintf("/lines/%d/tick", next.Lines[0].ID), nil)
	again := as[BillMade](s.post("desk", fmt.Sprintf("/cards/%d/bill", next.ID), obj{}), 201)
	used := as[MoneyMade](s.post("desk", fmt.Sprintf("/bills/%d/use-credit", again.ID), nil), 200)
	if used.Open != again.Gross-5760-400 {
		t.Errorf("%s open after the credit was used", used.Open)
	}
	if all := as[PaymentList](s.get("desk", "/payments"), 200); len(all.Payments) != before+6 {
		t.Errorf("%d entries", len(all.Payments))
	}
	for _, n := range as[NumberChecks](s.get("desk", "/bill-numbers"), 200).Series {
		if !n.Holds {
			t.Errorf("%+v", n)
		}
	}
}

func TestAProgramTakesACardToABillThatIsPaid(t *testing.T) {
	newSite(t).billing()
}
