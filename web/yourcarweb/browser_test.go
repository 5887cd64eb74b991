package yourcarweb_test

import (
	"strings"
	"testing"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/quote"
	"rampside/internal/signature"
	"rampside/web/ui"
	"rampside/web/webtest"
	"rampside/web/yourcarweb"
)

// TestACustomerAnswersOnTheirPhone is what somebody does who has the message
// in front of them: reads, looks at the photo, chooses, signs, sends; opens
// the link again, changes their mind; and has it in two tabs.
func TestACustomerAnswersOnTheirPhone(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	m := v.Garage.Money()
	b := webtest.Open(t, s.server.URL)
	b.Size(390, 844)
	b.Go(path)
	b.See("For Odette Marlowe: Estimate 2001/1 for your Brisling Tern")
	b.See("Do not drive the car until it is put right.")
	b.Reflow()
	b.Screenshot("yourcar-390", 390, 844)
	b.Dump("yourcar-asking")
	b.Audit(24)
	b.Size(390, 844)

	sum := func(jobs ...int) string { return m.Format(s.chosen(v, jobs...)) }
	b.See("What you have said yes to, with VAT: " + sum(0))
	b.Tap("Yes, do it (Front brake pads)")
	b.Tap("Yes, do it (Wiper blades)")
	b.See("What you have said yes to, with VAT: " + m.Format(v.Totals.Gross))
	b.Tap("No, leave it (Wiper blades)")
	some := sum(0, 1)
	b.See("What you have said yes to, with VAT: " + some)
	if webtest.Eval[bool](b, `document.querySelector("[data-total-button]").checkVisibility()`) {
		t.Error("the button for browsers without the script is shown")
	}

	// A finger draws; what is sent is what the server draws again.
	draw(b)
	ink := webtest.Eval[string](b, `document.querySelector("[data-strokes]").value`)
	if d, err := signature.Parse(ink); err != nil || d.Empty() || strings.Count(ink, ";") != 1 || !strings.HasPrefix(ink, "60,140 ") {
		t.Fatalf("two strokes, the first from (60,140), are %q: %v", ink, err)
	}
	b.Screenshot("yourcar-signed", 390, 844)
	b.Click("Clear the signature")
	if left := webtest.Eval[string](b, `document.querySelector("[data-strokes]").value + document.querySelector("[data-ink]").getAttribute("d")`); left != "" {
		t.Errorf("after clearing: %q", left)
	}
	draw(b)
	b.DoubleClick("Send my answer")
	b.See("Thank you. This is what we have noted")
	b.See("Agreed, with VAT: " + some)
	if n := s.consents(); n != 1 {
		t.Errorf("a double press made %d answers", n)
	}
	if c := s.Sheet(s.card.ID).Lines[1].Consent; c != jobcard.Agreed {
		t.Errorf("on the card: %s", c)
	}
	b.Dump("yourcar-answered")
	b.Audit(24)
	b.Size(390, 844)

	// A second tab from before says the same and adds nothing.
	two := webtest.Open(t, s.server.URL)
	two.Size(390, 844)
	two.Go(path)
	two.See("This is what you told us")
	two.Click("Change an answer, or give one that is missing")
	if !two.Ticked("No, leave it (Wiper blades)") || !two.Ticked("Yes, do it (Front brake pads)") {
		t.Error("what was said is not shown as chosen")
	}
	two.Click("Send my answer")
	two.See("Thank you.")
	if n := s.consents(); n != 1 {
		t.Errorf("the second tab made it %d answers", n)
	}
	two.Go(path + "?do=answer")
	two.Tap("Yes, do it (Wiper blades)")
	two.Click("Send my answer")
	two.See("Agreed, with VAT: " + m.Format(v.Totals.Gross))
	b.Reload()
	b.See("Agreed, with VAT: " + m.Format(v.Totals.Gross))
}

// draw signs with two strokes: of a finger, and of the mouse.
func draw(b *webtest.Browser) {
	b.DrawByFinger("Sign here, if you like", webtest.Point{X: .1, Y: .7}, webtest.Point{X: .2, Y: .2}, webtest.Point{X: .3, Y: .7}, webtest.Point{X: .4, Y: .3})
	b.Draw("Sign here, if you like", webtest.Point{X: .5, Y: .5}, webtest.Point{X: .8, Y: .45})
}

func TestItWorksWithoutAScriptAndByKeyAlone(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	b := webtest.Open(t, s.server.URL)
	b.Size(320, 640)
	b.Scripts(false)
	b.Go(path)
	b.Screenshot("yourcar-no-script", 320, 640)
	b.Click("Yes, do it (Front brake pads)")
	b.Click("No, leave it (Wiper blades)")
	b.Click("Work out the total")
	b.See("What you have said yes to, with VAT: " + v.Garage.Money().Format(s.chosen(v, 0, 1)))
	if !b.Ticked("Yes, do it (Front brake pads)") {
		t.Error("the choice is lost")
	}
	b.Click("Send my answer")
	b.See("Thank you.")
	if s.consents() != 1 {
		t.Error("nothing was noted")
	}

	// With the script, and keys only: the typed name is the signature.
	b.Scripts(true)
	b.Go(path + "?do=answer")
	webtest.Eval[bool](b, `(document.querySelector("input[value=agreed][name='answer.`+ui.Itoa(v.Jobs[2].LineID)+`']").focus(), true)`)
	b.Type(" ")
	seen := map[string]bool{}
	for range 14 {
		name := b.Focused()
		seen[name] = true
		if strings.Contains(name, "Send my answer") {
			break
		}
		b.Press("Tab")
	}
	b.Press("Enter")
	b.See("Thank you.")
	if c := s.Sheet(s.card.ID).Lines[2].Consent; c != jobcard.Agreed {
		t.Errorf("by key alone: %s; passed %v", c, seen)
	}
}

func TestEveryStateOfThePageIsFitToBeRead(t *testing.T) {
	s := newSite(t)
	v, path := s.issue()
	s.views[link.Bill] = yourcarweb.View{Show: note("Bill 3001", "Nothing is owed.")}
	_, bill := s.mint(link.Bill, 7, time.Hour)
	b := webtest.Open(t, s.server.URL)
	look := func(name, at, see string, status string) {
		t.Helper()
		if status != "" {
			b.Allow(status)
		}
		b.Go(at)
		b.See(see)
		b.Dump("yourcar-" + name)
		b.Audit(24)
	}
	token := strings.TrimPrefix(path, link.Path)
	look("bill", bill, "Nothing is owed.", "")
	look("tampered", link.Path+token[:20]+strings.ToUpper(token[20:40])+token[40:], "This link leads nowhere", "404")
	m, err := s.quotes.Make(t.Context(), s.Desk, quote.MakeInput{CardID: s.card.ID, Kind: quote.Estimate})
	s.OK(err)
	look("superseded", path, "This can be answered no more.", "")
	_, _ = s.send(m.VersionID)
	look("newer", path, "Something has changed.", "")
	b.Go(path)
	b.Click("No, leave it (Front brake pads)")
	b.Fill("Your name", "")
	webtest.Eval[bool](b, `(document.querySelector("form.answer-form").noValidate = true)`)
	b.Allow("422")
	b.Click("Send my answer")
	b.See("Please tick that you have read this")
	b.Dump("yourcar-bad-input")
	b.Audit(24)
	all, err := s.links.OfCard(t.Context(), s.Desk, s.card.ID)
	s.OK(err)
	for _, l := range all {
		if l.Purpose == link.Quote && l.Target == int64(v.ID) {
			_, err = s.links.Revoke(t.Context(), s.Desk, l.ID)
			s.OK(err)
		}
	}
	look("withdrawn", path, "This link was withdrawn", "410")
	s.Clock = s.Clock.AddDate(0, 3, 0)
	look("expired", bill, "This link has expired", "410")
}
