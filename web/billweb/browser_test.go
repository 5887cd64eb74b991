package billweb_test

import (
	"bytes"
	"testing"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/web/ui"
	"rampside/web/webtest"
)

// TestACardBecomesABillThatIsPaid is a card as the desk has it when the work is
// done: something was done that nobody agreed to, an address is missing, and
// then there is a bill, paid in cash with a few keys, and credited in part.
func TestACardBecomesABillThatIsPaid(t *testing.T) {
	s := newSite(t)
	card := s.Book(fixed("Exhaust, replace", 280_00), fixed("Sensor, replace", 60_00))
	_, err := s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{CardID: card.ID, PartTerms: jobcard.PartTerms{
		LineID: card.Lines[0].ID, Name: "Hanger", Qty: 4000, Price: new(money.Minor(8_75)), VATCode: money.Standard, Supply: jobcard.Arrived,
	}})
	s.OK(err)
	s.Fits(card.ID)
	_, err = s.Cards.Answer(t.Context(), s.Desk, jobcard.ConsentInput{CardID: card.ID, Lines: []jobcard.LineID{card.Lines[0].ID}, Answer: jobcard.Agreed, SaidBy: "Odette", How: "by phone"})
	s.OK(err)
	_, err = s.Cards.GoAhead(t.Context(), s.Desk, jobcard.AheadInput{LineID: card.Lines[1].ID, Reason: "she cannot be reached"})
	s.OK(err)
	s.tick(card.Lines[0])
	s.tick(card.Lines[1])

	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	b.Size(1280, 900)

	b.Go("/cards/" + ui.Itoa(card.ID) + "/deposit")
	b.Fill("Amount", "60")
	b.Audit(24)
	b.Click("Card")
	b.See("Receipt R-00001")
	b.See("£10.00")
	b.Audit(24)
	b.Dump("bill-receipt")

	path := "/cards/" + ui.Itoa(card.ID) + "/bill"
	b.Go(path)
	b.See("“Sensor, replace” was done and the customer has not agreed to it")
	b.See("The bill lacks the customer's address")
	b.Audit(24)
	b.Dump("bill-stops")
	b.Click("Do not charge for it: Sensor, replace")
	b.Fill("Why it is not charged for", "our mistake")
	b.Click("Do not charge for it")
	b.See("No charge: our mistake")
	s.lives("4 Quay Steps\nSaltmarsh\nZZ9 4AB")
	b.Go(path)
	b.Audit(24)
	b.Dump("bill-preview")
	b.Click("Issue the bill, £378.00")
	b.See("VAT invoice B-00001")
	b.See("£318.00")
	b.Audit(24)
	b.Dump("bill")
	b.PrintPDF("bill")
	b.Size(390, 844)
	b.Reflow()
	b.Dump("bill-phone")
	b.Size(1280, 900)

	// Cash in full: the amount stands there and the field has the focus.
	b.Recount()
	b.Press("Tab", "Tab", "Enter")
	b.See("Payment noted, receipt R-00002")
	if b.Keys() > 6 {
		t.Errorf("%d keys to take cash in full", b.Keys())
	}
	b.See("Paid by cash")

	b.Click("Credit it")
	b.Audit(24)
	b.Click("Only what is ticked below")
	b.Click("Hanger, £35.00")
	b.Fill("How much of 4 of Hanger", "1")
	b.Fill("Why", "one was bent")
	b.Dump("bill-credit")
	b.Click("Issue the credit note")
	b.See("VAT credit note C-00001")
	b.See("Corrects B-00001 of 5 October 2026: one was bent")
	b.Dump("bill-credit-note")
	b.Click("Bill B-00001")
	b.See("£10.50")
	b.See("Give back what was paid too much")
	b.Audit(24)

	b.Go("/bills")
	b.See("B-00001")
	b.Audit(24)
	b.Dump("bills")
	b.SetCookie("rampside", "owner")
	for _, at := range []string{"/bills/owed", "/bills/terms", "/bills/customers/" + ui.Itoa(s.Keeper)} {
		b.Go(at)
		b.Audit(24)
	}
	b.Dump("bill-party")

	if pdf := s.get("desk", "/bills/1.pdf"); pdf.status != 200 || !bytes.HasPrefix([]byte(pdf.body), []byte("%PDF-")) {
		t.Errorf("the PDF: %d", pdf.status)
	}
	if xml := s.get("desk", "/bills/1.xml"); xml.status != 200 || !bytes.Contains([]byte(xml.body), []byte("<cbc:ID>B-00001</cbc:ID>")) {
		t.Errorf("electronically: %d", xml.status)
	}
}
