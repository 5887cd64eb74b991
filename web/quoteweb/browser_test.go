package quoteweb_test

import (
	"testing"

	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/web/ui"
	"rampside/web/webtest"
)

// TestTheDeskQuotesSendsAndTakesAnswersDown is a quote as the desk has it: made,
// passed on as a link, agreed to by telephone up to a limit, and signed for at
// the desk when something dangerous is left.
func TestTheDeskQuotesSendsAndTakesAnswersDown(t *testing.T) {
	s := newSite(t)
	c := s.card()
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	b.Size(1280, 900)
	at := "/cards/" + ui.Itoa(c.ID) + "/quotes"

	b.Go(at)
	b.See("The card comes to £242.94 with VAT as it stands.")
	b.Click("An estimate")
	b.Fill("Words to the customer", "Ring us with any question.")
	b.Fill("Front brake pads", "The discs wear out too, and braking takes longer.")
	b.Audit(24)
	b.Dump("quotes-first")
	b.Click("Issue it")
	b.See("Estimate 2001/1")
	b.See("we stop and ask you first")
	b.See("If it waits: The discs wear out too")
	b.Audit(24)
	b.Dump("quote-version")
	b.PrintPDF("quote-paper")

	b.Click("Send it")
	b.Click("As a link")
	b.Audit(24)
	b.Dump("quote-send")
	b.Click("Send it")
	b.See("The link for Odette Marlowe")
	b.Audit(24)
	b.Dump("quote-link")

	// From the list of those that are out to taking an answer down.
	b.Go("/quotes")
	b.See("Estimate 2001/1")
	b.See("no answer yet")
	b.Audit(24)
	b.Dump("quotes-out")
	b.Click("Take an answer down: Estimate 2001/1")
	b.See("Answers to Estimate 2001/1")

	// By telephone, up to a limit that is too low at first.
	b.Go("/quotes/1/answers")
	b.In("Annual service").Click("Yes")
	b.Click("By phone")
	b.Fill("Up to how much, with VAT", "100")
	b.Click("Take it down")
	b.See("what was agreed comes to £115.20 with VAT, which is more than the limit")
	b.Audit(24)
	b.Dump("quote-answer-wrong")
	b.Fill("Up to how much, with VAT", "120")
	b.Click("Take it down")
	b.See("Taken down: 1 yes, 0 no")
	b.See("up to £120.00 with VAT")

	// In person: what is dangerous is left by whoever was told, and signs.
	b.Go("/quotes/1/answers")
	b.In("Front brake pads, £127.74").Click("No")
	b.Click("In person")
	b.Click("Take it down")
	b.See("was found to be dangerous")
	b.Click("Read out and understood")
	b.Draw("The customer signs here", webtest.Point{X: 0.1, Y: 0.7}, webtest.Point{X: 0.3, Y: 0.2}, webtest.Point{X: 0.5, Y: 0.8}, webtest.Point{X: 0.8, Y: 0.3})
	b.Dump("quote-signing")
	b.Click("Take it down")
	b.See("Taken down: 0 yes, 1 no")
	b.See("the car is not safe on the road until it is put right")
	b.Audit(24)
	b.Dump("quote-answered")
	v, err := s.quotes.Read(t.Context(), s.Desk, 1)
	s.OK(err)
	if n := len(v.Answers); n != 2 || v.Answers[0].How != "by phone" || v.Answers[1].Signature == "" || v.Answers[1].Acknowledged == "" || v.State(s.Clock) != quote.Answered {
		t.Errorf("%+v", v.Answers)
	}
	if now := s.Sheet(c.ID); now.Lines[0].Consent != jobcard.Declined || now.Lines[1].Consent != jobcard.Agreed {
		t.Errorf("%s, %s", now.Lines[0].Consent, now.Lines[1].Consent)
	}

	// A second version, without what was declined, and with a filter more.
	_, err = s.Cards.AddPart(t.Context(), s.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: jobcard.PartTerms{LineID: c.Lines[1].ID, Name: "Filter", Qty: 1000, Cost: 10_00}})
	s.OK(err)
	s.make(c.ID)
	b.Go(at)
	b.See("superseded")
	b.Audit(24)
	b.Dump("quotes-two")
	b.Click("What changed with version 2001/2")
	b.See("£112.14 less")
	b.Audit(24)
	b.Dump("quote-compare")
	b.Go("/quotes/1")
	b.See("There is a newer version of this quote, number 2.")
	b.Dump("quote-superseded")
	b.Go(at + "/record")
	b.See("All times are those of the garage")
	b.Audit(24)
	b.Dump("quote-record")
	b.PrintPDF("quote-record-paper")

	// A hand's width, and the night.
	for _, path := range []string{at, "/quotes/2", "/quotes/2/answers", "/quotes/2/send", at + "/record", at + "/compare?a=1&b=2"} {
		b.Size(390, 844)
		b.Go(path)
		b.Reflow()
		b.Axe()
	}
	b.Night(true)
	b.Go("/quotes/2")
	b.Axe()
	b.Dump("quote-night")
}
