package handoverweb_test

import (
	"bytes"
	"strings"
	"testing"

	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/web/webtest"
)

// TestACarWithABrakeHoseThatIsDangerousIsHandedOver is a handover as the desk
// has it: held up by a missing check, a reason for the bill that is to come,
// the customer's word on the hose, and the copy that goes with them.
func TestACarWithABrakeHoseThatIsDangerousIsHandedOver(t *testing.T) {
	s := newSite(t)
	c := s.squeals()
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	b.Size(1280, 900)

	b.Go(handoverPath(c.ID))
	b.See("Before the car goes, this must be settled:")
	b.See("“Front brake pads” needs a second person's check with the torque of the wheels")
	if b.Has("Hand the car over") {
		t.Error("it can be handed over without the check")
	}
	b.Audit(24)
	b.Dump("handover-held")

	s.check(c.Lines[0].ID)
	b.Reload()
	b.See("I was told that Brisling Tern BD51 SMR is not safe as it is: Brake hose, front left (dangerous: a direct and immediate risk on the road).")
	b.See("No bill has been made")
	b.Audit(24)
	b.Dump("handover-plan")
	if got := b.Value("Given to"); got != "Odette Marlowe" {
		t.Errorf("given to %q", got)
	}

	b.Fill("Keys given back", "two keys, locking-nut key")
	b.Fill("Mileage out, miles", "48200")
	b.Fill("Why the car goes all the same", "The bill is sent on to the firm.")
	b.Fill("Name of who was told", "Odette Marlowe")
	b.Click("In person")
	b.Click("Old Pad set")
	b.Click("Hand the car over")
	b.See("The car came in with 48,210 miles: it cannot leave with less")
	if b.Value("Keys given back") != "two keys, locking-nut key" || !b.Ticked("Old Pad set") {
		t.Error("what was typed is gone")
	}
	b.Dump("handover-refused")
	b.Fill("Mileage out, miles", "48214")
	b.Click("Hand the car over")
	b.See("Handed over to Odette Marlowe")
	b.See("Not safe: please read this first")
	b.See("Checked by Bram Oakes, wheels tightened to 110 Nm")
	b.See("Why it went all the same: The bill is sent on to the firm.")
	if s.Sheet(c.ID).Stage != jobcard.Collected {
		t.Error("the card is not collected")
	}
	b.Click("Give a copy")
	b.See("A link was made")
	b.See("For Odette Marlowe, opened by nobody yet")
	b.Audit(24)
	b.Dump("handover-made")
	b.Size(390, 844)
	b.Audit(24)
	b.Dump("handover-made-phone")
	if pdf := b.PrintPDF("handover-printed"); !bytes.HasPrefix(pdf, []byte("%PDF")) {
		t.Error("it does not print")
	}
}

// The page needs no script.
func TestACarIsHandedOverWithoutScripts(t *testing.T) {
	s := newSite(t)
	c := s.squeals()
	s.check(c.Lines[0].ID)
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "desk")
	b.Size(820, 1180)
	b.Scripts(false)
	b.Go(handoverPath(c.ID))
	b.Fill("Keys given back", "one key")
	b.Fill("Why the car goes all the same", "posted")
	b.Fill("Name of who was told", "Odette Marlowe")
	b.Click("By phone")
	b.Click("Hand the car over")
	b.See("Not safe: please read this first")
	h, err := s.hands.OfCard(t.Context(), s.Desk, c.ID)
	s.OK(err)
	if h.Acknowledged == nil || h.Acknowledged.How != "by phone" || len(h.Of(handover.Photo)) != 1 || len(h.Of(handover.Due)) != 1 {
		t.Errorf("%+v", h)
	}
	if !strings.Contains(h.DueWords(h.Of(handover.Due)[0]), "whichever comes first") {
		t.Error(h.DueWords(h.Of(handover.Due)[0]))
	}
}

func TestIntervalsAreNotedByWhoeverManagesTheGarage(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "owner")
	b.Size(1280, 900)
	b.Go("/garage/intervals")
	b.See("Annual service")
	b.Audit(24)
	b.Dump("intervals")
}
