package app_test

import (
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/app/apptest"
	"rampside/internal/clocking"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/roster"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// What sets the stage for the forms, again and again. None of it goes through
// the pages under test.

// session signs somebody in without the form, which takes a hash's time.
func (w *world) session(who actor.Actor) *http.Cookie {
	w.t.Helper()
	token := rand.Text()
	sum := sha256.Sum256([]byte(token))
	_, err := w.DB.Pool.Exec(w.t.Context(), `
		insert into session (token_sha256, staff_id, created_at, last_seen_at, expires_at, user_agent) values ($1, $2, $3, $3, $4, 'Firefox')`,
		sum[:], who.StaffID, w.Now(), w.Now().Add(24*time.Hour))
	w.OK(err)
	return &http.Cookie{Name: "rampside", Value: token, Path: "/"}
}

// quickly is a browser with such a session.
func (w *world) quickly(who actor.Actor) *apptest.Client {
	w.t.Helper()
	c := w.Nobody()
	at, err := url.Parse(w.At)
	w.OK(err)
	c.Jar.SetCookies(at, []*http.Cookie{w.session(who)})
	return c
}

// browser is the browser of whoever an entry names. Most are kept.
func (w *world) browser(by string) *apptest.Client {
	w.t.Helper()
	switch by {
	case "nobody":
		return w.Nobody()
	case "new":
		return w.quickly(w.Owner)
	}
	if c := w.browsers[by]; c != nil {
		return c
	}
	var c *apptest.Client
	switch by {
	case "":
		c = w.quickly(w.Owner)
	case "posy":
		c = w.quickly(w.Posy)
	case "spare":
		c = w.quickly(w.Spare)
	case "tablet":
		w.spareSecrets()
		c = w.enrolled()
	case "spare at the tablet":
		c = w.enrolled()
		a := c.Post("/sign-in/"+ui.Itoa(w.Spare.StaffID), url.Values{"pin": {cardtest.PIN}})
		if a.Status != http.StatusSeeOther {
			w.t.Fatalf("the PIN: %d %s", a.Status, a.Says())
		}
	default:
		w.t.Fatalf("who is %q?", by)
	}
	w.browsers[by] = c
	return c
}

// enrolled is a browser that is a tablet, with nobody at it.
func (w *world) enrolled() *apptest.Client {
	w.t.Helper()
	c := w.quickly(w.Desk)
	a := c.Post("/tablets", url.Values{"key": {apptest.Key()}, "name": {"Ramp " + apptest.Key()[:6]}})
	if a.Status != http.StatusSeeOther {
		w.t.Fatalf("enrol: %d %s", a.Status, a.Says())
	}
	return c
}

func (w *world) spareActive() {
	w.t.Helper()
	_, err := w.Accounts.SetActive(w.t.Context(), w.Owner, w.Spare.StaffID, true)
	w.OK(err)
}

func (w *world) spareSecrets() {
	w.t.Helper()
	w.spareActive()
	real := account.New(w.DB, account.Options{})
	_, err := real.SetPassword(w.t.Context(), w.Owner, w.Spare.StaffID, cardtest.Password)
	w.OK(err)
	_, err = real.SetPIN(w.t.Context(), w.Owner, w.Spare.StaffID, cardtest.PIN)
	w.OK(err)
	delete(w.browsers, "spare") // their sessions have ended
	delete(w.browsers, "spare at the tablet")
}

func (w *world) spareSignedIn() {
	w.spareActive()
	w.session(w.Spare)
}

// ownerSecret ends the sessions that the owner has.
func (w *world) ownerSecret() {
	w.Secret(w.Owner)
	delete(w.browsers, "")
}

func (w *world) ownerElsewhere() { w.session(w.Owner) }

// freshCard is a card that nobody agreed to yet, with a part on order.
func (w *world) freshCard() {
	w.t.Helper()
	w.spareActive()
	card, line := w.card()
	w.at["part"] = ui.Itoa(w.part(card, line))
}

// priced is one with a discount on the card, and a menu and a test fee on its
// line.
func (w *world) priced() {
	w.t.Helper()
	w.freshCard()
	number := func(name string) int64 {
		n, err := strconv.ParseInt(w.at[name], 10, 64)
		w.OK(err)
		return n
	}
	card, line := jobcard.CardID(number("card")), jobcard.LineID(number("line"))
	percent := money.Rate(500)
	done, err := w.Cards.Adjust(w.t.Context(), w.Desk, jobcard.AdjustInput{CardID: card, AdjustTerms: jobcard.AdjustTerms{What: "for the wait", Percent: &percent}})
	w.OK(err)
	w.at["adjustment"] = ui.Itoa(done.ExtraID)
	done, err = w.Cards.AddFee(w.t.Context(), w.Desk, jobcard.FeeInput{CardID: card, LineID: line, FeeTerms: jobcard.FeeTerms{What: "MOT test", Class: "4", Charged: 40_00, Own: true}})
	w.OK(err)
	w.at["fee"] = ui.Itoa(done.ExtraID)
	done, err = w.Cards.AddMenu(w.t.Context(), w.Desk, jobcard.MenuInput{CardID: card, MenuTerms: jobcard.MenuTerms{What: "All in one", Net: 120_00, Lines: []jobcard.LineID{line}}})
	w.OK(err)
	w.at["menu"] = ui.Itoa(done.ExtraID)
}

// agreedCard is one that may be worked on, with nobody at work.
func (w *world) agreedCard() (jobcard.CardID, jobcard.LineID) {
	w.t.Helper()
	card, line := w.card()
	w.at["part"] = ui.Itoa(w.part(card, line))
	w.Agree(card)
	return card, line
}

func (w *world) agreed() { w.agreedCard() }

// inDoubtCard is one whose part nobody has found to fit, whatever was put on
// its number before: what that asks of the car is not known.
func (w *world) inDoubtCard() (jobcard.CardID, jobcard.LineID) {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `delete from vehicle_fact where key = 'engine_layout'`)
	w.OK(err)
	return w.agreedCard()
}

func (w *world) inDoubt() { w.inDoubtCard() }

// conditioned is one whose part has a condition, and nothing is known of it.
func (w *world) conditioned() {
	w.t.Helper()
	card, line := w.inDoubtCard()
	fits, err := w.Services.Fitment.Card(w.t.Context(), w.Desk, card)
	w.OK(err)
	id := w.Sheet(card).PartsOf(line)[0].ID
	p, _ := fits.Part(id)
	_, err = w.Services.Fitment.Put(w.t.Context(), w.Posy, fitment.PutInput{PartID: id, Version: p.PutVersion(), Rule: "engine layout is V"})
	w.OK(err)
}

// checked is one whose part was found to fit, so that it may be ticked.
func (w *world) checked() {
	w.t.Helper()
	card, _ := w.agreedCard()
	w.Fits(card)
}

func (w *world) doneLine() {
	w.t.Helper()
	card, line := w.agreedCard()
	w.Fits(card)
	_, err := w.Services.Clocks.Tick(w.t.Context(), w.Posy, clocking.LineInput{LineID: line})
	w.OK(err)
}

func (w *world) posyOn() {
	w.t.Helper()
	card, line := w.agreedCard()
	w.Fits(card)
	w.clockOn(w.Posy, line)
}

func (w *world) anotherPhoto() {
	w.t.Helper()
	_, line := w.agreedCard()
	w.at["photo"] = ui.Itoa(w.photo(line, "one more"))
}

var engine = vehicle.FactInput{Key: "engine_code", Value: "KX4", Source: "car"}

func (w *world) fact() {
	w.t.Helper()
	w.factGone()
	_, err := w.Vehicles.SetFact(w.t.Context(), w.Posy, vehicle.FactEdit{VehicleID: w.Car, FactInput: engine})
	w.OK(err)
}

func (w *world) factGone() {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `delete from vehicle_fact where vehicle_id = $1 and key = 'engine_code'`, w.Car)
	w.OK(err)
}

func (w *world) rate() {
	w.t.Helper()
	_, err := w.Settings.SetVATRate(w.t.Context(), w.Owner, garage.VATRateInput{Code: money.Standard, From: w.Day.AddDays(1), Rate: 1750})
	w.OK(err)
}

func (w *world) rateGone() {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `delete from vat_rate where from_day > $1`, w.Day.UTC())
	w.OK(err)
}

func (w *world) spareHere() {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `delete from absence where staff_id = $1`, w.Spare.StaffID)
	w.OK(err)
}

func (w *world) spareAway() {
	w.t.Helper()
	day := w.Day.AddDays(1)
	w.OK(w.Services.Roster.AddAbsence(w.t.Context(), w.Owner, roster.AbsenceInput{StaffID: w.Spare.StaffID, From: day, To: day, Reason: "the dentist"}))
}

func (w *world) spareNeverIn() {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `delete from attendance where staff_id = $1`, w.Spare.StaffID)
	w.OK(err)
}

// putAway takes the cards off the floor that nobody is at work on, so that the
// pages do not grow with every form that was tried.
func (w *world) putAway() {
	w.t.Helper()
	_, err := w.DB.Pool.Exec(w.t.Context(), `
		update card c set stage = 'cancelled', cancel_reason = 'put away' where stage in ('booked', 'on site', 'in work') and not exists (
			select from clocking k join line l on l.id = k.line_id where l.card_id = c.id and upper_inf(k.during))`)
	w.OK(err)
}
