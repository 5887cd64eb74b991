// Package wholeday works one day through in real browsers: the desk, two
// technicians and the owner, each in their own.
package wholeday

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/app/apptest"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// at signs somebody in at a browser of their own.
func at(t *testing.T, s *apptest.Site, who actor.Actor, w, h int) *webtest.Browser {
	t.Helper()
	s.SignIn(who) // makes sure that the password works
	b := webtest.Open(t, s.At)
	b.Size(w, h)
	b.Go("/sign-in")
	b.Fill("Sign-in", apptest.SignInName(who))
	b.Fill("Password", cardtest.Password)
	b.Click("Sign in")
	b.See(who.Name)
	return b
}

// The sums, worked by hand. Labour is 60.00 an hour, VAT is left out:
//
//	brake pads   1.2 h  72.00   and a pad set  39.00    111.00
//	service      1.6 h  96.00                            96.00
//	brake hose   0.5 h  30.00                            30.00
//	done and agreed                                     237.00
//
// The pad set cost 33.00 where the quote counted on 30.00.
const (
	priceDone = "£237.00"
	partsCost = "£33.00"
	partsOver = "£3.00 (adverse, Parts price"
	soldHours = "3.3 h"
)

// checkAtTheBench compares the right pads before the old ones come off: the
// gate of the line is closed until then.
func checkAtTheBench(t *testing.T, posy *webtest.Browser) {
	t.Helper()
	posy.See("up to strip-down only")
	posy.Tap("Check Pad set")
	posy.Fill("Number on the box", "em 2202")
	posy.Tap("See if it fits")
	posy.Click("Say it by hand")
	posy.Click("Fits")
	posy.Fill("By what you can tell", "shape and thickness beside the old ones")
	posy.Tap("Note it")
	posy.SeeNot("up to strip-down only")
}

func TestADayFromTheTelephoneCallToTheOwnersFigures(t *testing.T) {
	s := apptest.Start(t)
	desk := at(t, s, s.Desk, 1280, 800)
	posy := at(t, s, s.Posy, 768, 1024)
	bram := at(t, s, s.Bram, 1280, 800)

	card := bookIn(t, desk)
	watching := at(t, s, s.Owner, 1280, 800)
	watching.Go(card)

	// The wrong part comes off the shelf: two taps, and everybody sees it.
	posy.Go("/floor")
	posy.Audit(44)
	posy.Click("Front brake pads")
	posy.Tap("I have read these: clock on to Front brake pads")
	row(watching, "Front brake pads").See("in hand")
	s.Pass(30 * time.Minute)
	posy.Recount()
	posy.Tap("Snag")
	posy.Tap("Wrong part: Pad set")
	if posy.Taps() != 2 {
		t.Errorf("a wrong part took %d taps, want 2", posy.Taps())
	}
	row(watching, "Front brake pads").See("waiting on parts")
	watching.See("going back")
	watching.See("needed")

	// The desk orders the right one, dearer to the garage and not to the customer.
	desk.Go(card)
	desk.In("needed").Click("Change Pad set")
	desk.Fill("Number", "EM-2202")
	desk.Fill("Cost each, net", "33.00")
	desk.Fill("Mark-up %", "")
	desk.Fill("Price each, net", "39.00")
	desk.Choose("Supply", "Ordered")
	desk.Click("Save the part")
	desk.See("EM-2202")

	// Meanwhile the service is done, with one tap on and one to tick.
	posy.Go("/floor")
	posy.Tap("Clock on to Annual service")
	s.Pass(90 * time.Minute)
	posy.Tap("Tick it done Annual service")
	row(watching, "Annual service").See("done")

	desk.Click("Now arrived: Pad set")
	row(watching, "Front brake pads").See("open")
	posy.Go("/floor")
	posy.Click("Front brake pads")
	checkAtTheBench(t, posy)
	posy.Tap("Clock on")
	photo(t, posy)
	s.Pass(40 * time.Minute)

	// A fault turns up, and is asked before it is done.
	posy.Tap("Snag")
	posy.Click("Found a fault")
	posy.Fill("What was found", "Front brake hose")
	posy.Fill("Hours as a rule", "0.5")
	posy.Click("Major")
	posy.Fill("Measured", "cracked to the cord")
	posy.Tap("Report it")
	watching.See("Front brake hose")
	desk.Go(card)
	row(desk, "Front brake hose").See("asked")
	desk.Click("They agreed")
	posy.Go("/floor")
	s.Pass(20 * time.Minute)
	posy.Tap("Tick it done Front brake pads")

	// The late part: the noise waits for another day, as the customer decides.
	desk.Go(card)
	desk.Click("Defer Look for the noise")
	desk.Fill("Why is it deferred?", "the drop links come tomorrow")
	desk.Click("Defer the line")
	row(desk, "Look for the noise").See("Decided by Odette Marlowe")

	bram.Go("/floor")
	bram.Tap("Clock on to Front brake hose")
	s.Pass(24 * time.Minute)
	bram.Tap("Tick it done Front brake hose")

	// A photo that shows nothing comes off the card again.
	desk.Go(card)
	desk.Click("Take off: Photo of Front brake pads")
	desk.See("Photo taken off the card")
	desk.SeeNot("Take off")

	// Not ready before a second person has checked the brakes.
	desk.Go(card)
	desk.Click("Ready for the customer")
	desk.See("needs a second person's check")
	bram.Go("/floor")
	bram.Click("Check it Front brake pads")
	bram.Fill("Wheel torque, Nm", "110")
	bram.Tap("I have checked it")
	desk.Go(card)
	desk.Click("Ready for the customer")
	desk.See("The card is ready")
	desk.Click("Collected")
	desk.See("The card is collected")

	daysEnd(t, s)
}

// row is the ruled row of a line on the card.
func row(b *webtest.Browser, title string) webtest.Scope { return b.In(title + " must do") }

// bookIn takes the known car in with three lines, prices it and gets a yes. It
// gives the card's address.
func bookIn(t *testing.T, desk *webtest.Browser) string {
	t.Helper()
	desk.Go("/book-in")
	desk.Fill("Car or keeper", "bd51 smr")
	desk.Press("Enter")
	desk.See("Odette Marlowe")
	desk.Fill("Line 1", "Front brake pads")
	desk.Fill("Line 2", "Annual service")
	desk.Fill("Line 3", "Look for the noise")
	desk.Audit(24)
	desk.Click("Book it in")
	desk.See("Card ")
	card := strings.Split(desk.Path(), "?")[0]

	desk.Click("Add a part to Front brake pads")
	desk.Fill("Part", "Pad set")
	desk.Fill("Number", "EM-2201")
	desk.Fill("Cost each, net", "30.00")
	desk.Choose("Supply", "Arrived")
	desk.Audit(24)
	desk.Click("Add the part")
	desk.See("£111.00")
	desk.Click("Add a part to Look for the noise")
	desk.Fill("Part", "Drop link")
	desk.Fill("Quantity", "2")
	desk.Fill("Cost each, net", "12.00")
	desk.Fill("Price each, net", "20.00")
	desk.Choose("Supply", "Ordered")
	desk.Click("Add the part")
	desk.Click("They agreed")
	desk.See("£332.40") // 277.00 and 20 % VAT
	desk.Night(true)
	desk.Axe()
	desk.Night(false)
	return card
}

// photo takes one with the tablet's camera.
func photo(t *testing.T, b *webtest.Browser) {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for i := range img.Pix {
		img.Pix[i] = byte(i * 7)
	}
	img.Set(0, 0, color.Black)
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, img, nil); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "pads.jpg")
	if err := os.WriteFile(path, buf.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	b.Attach("Photo", path)
	b.Tap("Keep the photo")
	b.See("Photo kept")
	wide := webtest.Eval[int](b, `[...document.querySelectorAll("main img")].filter(i => i.complete && i.naturalWidth > 0).length`)
	if wide != 1 {
		t.Errorf("%d photos are to be seen", wide)
	}
}

// daysEnd reads the figures as the owner does.
func daysEnd(t *testing.T, s *apptest.Site) {
	t.Helper()
	owner := at(t, s, s.Owner, 1280, 800)
	owner.Go("/days-end")
	owner.Audit(24)
	owner.In("The day " + soldHours).See(priceDone)
	owner.See(partsOver)
	owner.See("the drop links come tomorrow")
	owner.See("Odette Marlowe")

	// Labour cost, worked out again from the clockings themselves: each at its
	// own person's rate, to the nearest penny.
	var labour int64
	err := s.DB.Pool.QueryRow(t.Context(), `select sum(round(extract(epoch from upper(during) - lower(during)) / 3600 * cost_rate_minor))::bigint
		from clocking where not voided`).Scan(&labour)
	s.OK(err)
	row := owner.In("The day " + soldHours).Text()
	profit := money.Minor(23700 - 3300 - labour)
	for what, want := range map[string]string{
		"hours sold": soldHours, "labour": money.Format(money.Minor(labour)), "parts": partsCost, "profit": money.Format(profit),
	} {
		if !strings.Contains(row, want) {
			t.Errorf("%s: %s is not in the day's row: %s", what, want, row)
		}
	}
	owner.Dump("days-end")
	pdf := owner.PrintPDF("days-end")
	if !bytes.HasPrefix(pdf, []byte("%PDF")) {
		t.Error("the page does not print")
	}
	fmt.Fprintln(t.Output(), row)
}
