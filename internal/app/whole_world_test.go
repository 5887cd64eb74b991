package app_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"testing"
	"time"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/app/apptest"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/photo"
	"rampside/internal/roster"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// world is a whole server whose garage has one of everything that an address
// can name.
type world struct {
	*apptest.Site
	t *testing.T
	// Spare is somebody on the staff whom tests may do anything to.
	Spare actor.Actor
	// at is the number of an existing thing for each parameter of a route.
	at map[string]string

	browsers map[string]*apptest.Client
	n        int      // numbers that were given out
	names    []string // of the tables
}

func openWorld(t *testing.T, kv ...string) *world {
	t.Helper()
	w := &world{Site: apptest.Start(t, kv...), t: t, at: map[string]string{"kind": "wrong-part", "table": "documents", "file": "documents.csv"}, browsers: map[string]*apptest.Client{}}
	ctx := t.Context()
	id, err := w.Accounts.CreateUser(ctx, w.Owner, account.NewStaff{
		Name: "Tilda Quill", SignIn: "tilda", Role: actor.Technician, Password: cardtest.Password, PIN: cardtest.PIN, CostRate: 1700,
	})
	w.OK(err)
	w.Spare = actor.Actor{StaffID: id, Name: "Tilda Quill", Role: actor.Technician, Via: actor.ViaPage, Device: "test"}
	w.at["staff"] = ui.Itoa(id)
	w.at["operation"], w.at["labour"] = ui.Itoa(w.Brakes), ui.Itoa(w.Labour)
	w.at["supplier"], w.at["vehicle"], w.at["customer"] = ui.Itoa(w.Supplier), ui.Itoa(w.Car), ui.Itoa(w.Keeper)

	_, err = w.Vehicles.SetFact(ctx, w.Posy, vehicle.FactEdit{VehicleID: w.Car, FactInput: vehicle.FactInput{Key: "displacement_cc", Value: "1598", Source: "car"}})
	w.OK(err)
	w.OK(w.Services.Roster.AddAbsence(ctx, w.Owner, roster.AbsenceInput{StaffID: w.Bram.StaffID, From: w.Day.AddDays(3), To: w.Day.AddDays(4), Reason: "the fair"}))
	w.tablet()
	w.token()

	w.billedWithMoneyKept()
	w.handedOver()

	card, line := w.card()
	w.at["part"] = ui.Itoa(w.part(card, line))
	w.quote(card)
	w.Agree(card)
	at := w.clockOn(w.Posy, line)
	w.at["clocking"] = ui.Itoa(at.ClockingID)
	var attendance roster.AttendanceID
	w.OK(w.DB.Pool.QueryRow(ctx, `select id from attendance where staff_id = $1`, w.Posy.StaffID).Scan(&attendance))
	w.at["attendance"] = ui.Itoa(attendance)
	w.at["photo"] = ui.Itoa(w.photo(line, "where it leaks"))
	sh := w.Sheet(card)
	_, err = w.Services.Clocks.Snag(ctx, w.Posy, jobcard.SnagInput{LineID: sh.Lines[2].ID, Kind: jobcard.JobGrown, Note: "the bolt is seized",
		Found: &jobcard.Found{Title: "Drill the bolt out", Severity: jobcard.Major}})
	w.OK(err)
	_, err = w.Services.Clocks.Defer(ctx, w.Desk, clocking.DeferInput{LineID: sh.Lines[3].ID, Reason: "no time today", DecidedBy: "Odette Marlowe"})
	w.OK(err)
	w.letter()
	w.goingBack()
	w.ordered()
	w.Pass(2 * time.Hour)
	return w
}

// card books the car in with five lines, and gives the card and its first.
func (w *world) card() (jobcard.CardID, jobcard.LineID) {
	w.t.Helper()
	sh := w.Book(cardtest.Op(w.Brakes), cardtest.Op(w.Service), cardtest.Op(w.Check), cardtest.Free("Wash it", 1800e9), cardtest.Free("Hang the tow bar", 7200e9))
	w.at["card"], w.at["line"] = ui.Itoa(sh.ID), ui.Itoa(sh.Lines[0].ID)
	return sh.ID, sh.Lines[0].ID
}

func (w *world) part(card jobcard.CardID, line jobcard.LineID) jobcard.PartID {
	w.t.Helper()
	done, err := w.Cards.AddPart(w.t.Context(), w.Desk, jobcard.AddPartInput{CardID: card, PartTerms: jobcard.PartTerms{
		LineID: line, Name: "Pad set", Number: "SL-100", SupplierID: w.Supplier, Qty: 1000, Cost: money.Minor(1250), Supply: jobcard.Ordered,
	}})
	w.OK(err)
	return done.PartID
}

// clockOn clocks somebody on, past the cautions.
func (w *world) clockOn(who actor.Actor, line jobcard.LineID) clocking.On {
	w.t.Helper()
	on, err := w.Services.Clocks.ClockOn(w.t.Context(), who, clocking.OnInput{LineID: line, Read: []caution.Key{caution.Brakes, caution.Lifting}})
	w.OK(err)
	return on
}

func (w *world) photo(line jobcard.LineID, caption string) photo.ID {
	w.t.Helper()
	done, err := w.Services.Photos.Add(w.t.Context(), w.Posy, photo.AddInput{LineID: line, Caption: caption}, bytes.NewReader(smallJPEG(w.t)))
	w.OK(err)
	return done.ID
}

func (w *world) tablet() {
	w.t.Helper()
	made, err := w.Accounts.EnrolTablet(w.t.Context(), w.Desk, "Ramp "+apptest.Key()[:6])
	w.OK(err)
	w.at["tablet"] = ui.Itoa(made.ID)
}

func (w *world) token() {
	w.t.Helper()
	made, err := w.Accounts.CreateToken(w.t.Context(), w.Owner, account.NewToken{Name: "the till", StaffID: w.Spare.StaffID})
	w.OK(err)
	w.at["token"] = ui.Itoa(made.ID)
}

// path fills a route's parameters with the things that are there.
func (w *world) path(pattern string) string {
	var pairs []string
	for name, id := range w.at {
		pairs = append(pairs, "{"+name+"}", id)
	}
	return strings.NewReplacer(pairs...).Replace(pattern)
}

func smallJPEG(t testing.TB) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 120, 80))
	for i := range 120 * 80 {
		m.Set(i%120, i/120, color.RGBA{uint8(i), uint8(i / 120), 90, 255})
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
