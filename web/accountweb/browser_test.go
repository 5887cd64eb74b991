package accountweb_test

import (
	"strings"
	"testing"

	"rampside/web/webtest"
)

func TestThePagesAreFitForEverybody(t *testing.T) {
	s := open(t)
	b := webtest.Open(t, s.URL)
	b.Go("/welcome")
	b.Audit(24)
	b.Dump("welcome")
	b.Fill("The garage", "Saltmarsh Lane Garage")
	b.Fill("Your name", "Orla Penhale")
	b.Fill("Sign-in", "Or la")
	b.Fill("Password", "short")
	b.Click("Open the garage")
	b.See("At least 8 characters")
	b.Audit(24)
	b.Fill("Sign-in", "orla")
	b.Fill("Password", password)
	b.Click("Open the garage")
	b.See("front of Orla Penhale")

	b.Go("/staff/new")
	b.Audit(24)
	b.Fill("Name", "Tamsin Roe")
	b.Click("Technician")
	b.Fill("Costs an hour", "17.50")
	b.Fill("PIN", pin)
	b.Click("Add to the staff")
	b.See("Added to the staff")
	for _, path := range []string{"/staff", "/staff/2", "/my-sessions", "/tokens", "/tablets"} {
		b.Go(path)
		b.Audit(24)
		b.Dump(strings.ReplaceAll(path[1:], "/", "-"))
	}
	b.Fill("Its name", "Ramp 2")
	b.Click("Enrol this tablet")
	b.See("This is Ramp 2")
	b.Audit(48)
	b.Dump("names")
	b.Tap("Tamsin Roe")
	b.Audit(48)
	b.Dump("pin")
	b.Type("0000")
	b.Press("Enter")
	b.See("That is not your PIN")
	b.Audit(48)
	b.Fill("PIN", pin)
	b.Tap("Sign in")
	b.See("front of Tamsin Roe")
}

// A tablet whose browser runs no scripts is as good, and gloves need few
// touches.
func TestATechnicianSignsInWithoutScripts(t *testing.T) {
	s := staffed(t)
	b := webtest.Open(t, s.URL)
	b.Scripts(false)
	b.Go("/sign-in")
	b.Fill("Sign-in", "dov")
	b.Fill("Password", password)
	b.Press("Enter")
	b.See("front of Dov Larkin")
	b.Go("/tablets")
	b.Fill("Its name", "Ramp 2")
	b.Click("Enrol this tablet")
	b.See("This is Ramp 2")
	b.Recount()
	b.Tap("Tamsin Roe")
	b.Type(pin)
	b.Tap("Sign in")
	b.See("front of Tamsin Roe")
	if b.Taps() != 2 || b.Keys() != len(pin) {
		t.Errorf("%d taps and %d keys", b.Taps(), b.Keys())
	}
}

// The desk needs the keyboard only: the cursor is where the typing begins.
func TestTheDeskSignsInFromTheKeyboard(t *testing.T) {
	s := staffed(t)
	b := webtest.Open(t, s.URL)
	b.Go("/sign-in?next=/diary")
	b.Type("dov")
	b.Press("Tab")
	b.Type(password)
	b.Press("Enter")
	b.See("front of Dov Larkin")
	if b.Path() != "/diary" {
		t.Errorf("it leads to %s", b.Path())
	}
}
