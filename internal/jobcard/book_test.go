package jobcard_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/vehicle"
)

func TestAKnownCarIsBookedWithItsKeeperAndTheOperationsHours(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Brakes), cardtest.Free("Fit the customer's own mat", 6*time.Minute))
	if s.CustomerID != g.Keeper || s.Stage != jobcard.OnSite || len(s.Lines) != 2 {
		t.Fatalf("booked for customer %d at stage %s with %d lines", s.CustomerID, s.Stage, len(s.Lines))
	}
	brakes := s.Lines[0]
	if brakes.Title != "Front brake pads" || brakes.Estimate.Likely != 72*time.Minute || !brakes.Safety || !brakes.WheelsOff || len(brakes.Cautions) != 1 {
		t.Errorf("the operation's terms did not come along: %+v", brakes)
	}
	if got := s.Quote.ByLine[brakes.ID].Net(); got != 7200 { // 1.2 h at 60.00
		t.Errorf("the line comes to %d, want 7200", got)
	}
	if s.Quote.All.Gross != (7200+600)*6/5 { // and 0.1 h, with 20 % on both
		t.Errorf("the card comes to %d", s.Quote.All.Gross)
	}
}

func TestALineNamedLikeAnOperationIsThatOperation(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(jobcard.NewLine{LineTerms: jobcard.LineTerms{Title: "annual SERVICE", MustDo: true}})
	if s.Lines[0].OperationID != g.Service || s.Lines[0].Estimate.Likely != 96*time.Minute {
		t.Errorf("got %+v", s.Lines[0])
	}
}

func TestABookingWithMistakesSaysThemAllAndLeavesNothing(t *testing.T) {
	g := cardtest.Open(t)
	miles := -5
	_, err := g.Cards.Book(t.Context(), g.Desk, jobcard.Booking{
		NewVehicle:  &vehicle.Input{Mark: "", VIN: "short", Make: ""},
		NewCustomer: &customer.Input{Name: ""},
		Visit:       jobcard.Visit{BookedFor: g.Day, Mileage: &miles, CustomerWords: strings.Repeat("x", 2001)},
		Lines:       []jobcard.NewLine{{}, cardtest.Free("ok", time.Hour)},
	})
	wantFields(t, err, "mileage", "customer_words", "line.0.title")
	_, err = g.Cards.Book(t.Context(), g.Desk, jobcard.Booking{
		NewVehicle:  &vehicle.Input{Mark: "", VIN: "short", Make: ""},
		NewCustomer: &customer.Input{Name: ""},
		Visit:       jobcard.Visit{BookedFor: g.Day},
		Lines:       []jobcard.NewLine{cardtest.Free("ok", time.Hour)},
	})
	wantFields(t, err, "vehicle.vin", "vehicle.make", "customer.name")
	var cards, cars int
	if err := g.DB.Pool.QueryRow(t.Context(), `select (select count(*) from card), (select count(*) from vehicle)`).Scan(&cards, &cars); err != nil {
		t.Fatal(err)
	}
	if cards != 1 || cars != 1 { // those of the garage itself
		t.Errorf("%d cards and %d cars are left behind", cards, cars)
	}
}

func TestTheSameBookingTwiceIsOneCard(t *testing.T) {
	g := cardtest.Open(t)
	in := jobcard.Booking{VehicleID: g.Car, Visit: jobcard.Visit{BookedFor: g.Day}, Lines: []jobcard.NewLine{cardtest.Op(g.Service)}}
	who := g.Desk.WithKey("one-press-of-the-button")
	one, err := g.Cards.Book(t.Context(), who, in)
	g.OK(err)
	two, err := g.Cards.Book(t.Context(), who, in)
	g.OK(err)
	if one != two {
		t.Errorf("two cards came of one press: %d and %d", one.CardID, two.CardID)
	}
}

func TestWhatWasLeftOverLastTimeIsOfferedAndTakenBackOnce(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service), cardtest.Op(g.Brakes))
	_, err := g.Cards.Answer(t.Context(), g.Desk, jobcard.ConsentInput{
		CardID: s.ID, Lines: []jobcard.LineID{s.Lines[1].ID}, Answer: jobcard.Declined, SaidBy: "Odette Marlowe", How: "in person",
	})
	g.OK(err)
	if left := leftOvers(t, g); len(left) != 0 {
		t.Fatalf("%d lines are offered while the car is still here", len(left))
	}
	finish(t, g, s)
	left := leftOvers(t, g)
	if len(left) != 1 || left[0].Title != "Front brake pads" || !left[0].Declined {
		t.Fatalf("left over: %+v", left)
	}
	again := jobcard.Booking{VehicleID: g.Car, Visit: jobcard.Visit{BookedFor: g.Day.AddDays(30)}, TakeBack: []jobcard.LineID{left[0].ID}}
	done, err := g.Cards.Book(t.Context(), g.Desk, again)
	g.OK(err)
	if n := g.Sheet(done.CardID).Lines; len(n) != 1 || n[0].CarriedFrom != left[0].ID || !n[0].Safety || n[0].Consent != jobcard.Asked {
		t.Errorf("taken back as %+v", n)
	}
	if _, err := g.Cards.Book(t.Context(), g.Desk, again); !apperr.Is(err, apperr.Invalid) {
		t.Errorf("taken back a second time: %v", err)
	}
	if left := leftOvers(t, g); len(left) != 0 {
		t.Errorf("still offered: %+v", left)
	}
}

func TestATechnicianSeesTheWorkButNoMoneyAndNoTelephone(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Brakes))
	price := money.Minor(4000)
	_, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: jobcard.PartTerms{
		LineID: s.Lines[0].ID, Name: "Pads", Qty: 1000, Cost: 2500, Price: &price,
	}})
	g.OK(err)
	g.Agree(s.ID)
	seen, err := g.Cards.Sheet(t.Context(), g.Posy, s.ID)
	g.OK(err)
	l, p := seen.Lines[0], seen.Parts[0]
	if l.Rate != 0 || l.AgreedNet != nil || p.Cost != 0 || p.Price != nil || p.QuotedCost != nil || seen.Quote.All.Net != 0 || seen.Consents[0].Net != 0 {
		t.Errorf("money shows: %+v %+v", l, p)
	}
	if seen.Customer.Phone != "" || seen.ContactPhone != "" {
		t.Errorf("the telephone shows: %+v", seen.Customer)
	}
	if l.Title == "" || l.Estimate.Likely == 0 || p.Name == "" {
		t.Errorf("the work does not show: %+v %+v", l, p)
	}
}

func TestWhoMayNotIsRefusedByTheServiceItself(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	l := s.Lines[0]
	ctx := t.Context()
	for name, do := range map[string]func(actor.Actor) error{
		"book":  func(a actor.Actor) error { _, err := g.Cards.Book(ctx, a, jobcard.Booking{}); return err },
		"visit": func(a actor.Actor) error { _, err := g.Cards.EditVisit(ctx, a, jobcard.EditVisitInput{}); return err },
		"stage": func(a actor.Actor) error { _, err := g.Cards.SetStage(ctx, a, jobcard.StageInput{}); return err },
		"add":   func(a actor.Actor) error { _, err := g.Cards.AddLine(ctx, a, jobcard.AddLineInput{}); return err },
		"edit": func(a actor.Actor) error {
			_, err := g.Cards.EditLine(ctx, a, jobcard.EditLineInput{LineID: l.ID})
			return err
		},
		"strike":  func(a actor.Actor) error { _, err := g.Cards.StrikeLine(ctx, a, jobcard.StrikeInput{}); return err },
		"order":   func(a actor.Actor) error { _, err := g.Cards.SetOrder(ctx, a, jobcard.OrderInput{}); return err },
		"move":    func(a actor.Actor) error { _, err := g.Cards.MoveLine(ctx, a, jobcard.MoveInput{}); return err },
		"answer":  func(a actor.Actor) error { _, err := g.Cards.Answer(ctx, a, jobcard.ConsentInput{}); return err },
		"part":    func(a actor.Actor) error { _, err := g.Cards.AddPart(ctx, a, jobcard.AddPartInput{}); return err },
		"re-part": func(a actor.Actor) error { _, err := g.Cards.EditPart(ctx, a, jobcard.EditPartInput{}); return err },
	} {
		if err := do(g.Posy); !apperr.Is(err, apperr.Forbidden) {
			t.Errorf("%s: a technician got %v", name, err)
		}
		if err := do(actor.Actor{}); !apperr.Is(err, apperr.Unsigned) {
			t.Errorf("%s: nobody got %v", name, err)
		}
	}
}

func leftOvers(t *testing.T, g *cardtest.Garage) []jobcard.LeftOver {
	t.Helper()
	left, err := g.Cards.LeftOvers(t.Context(), g.Desk, g.Car)
	g.OK(err)
	return left
}

// wantFields checks that err names exactly these fields.
func wantFields(t *testing.T, err error, want ...string) {
	t.Helper()
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid {
		t.Fatalf("got %v, want messages at %v", err, want)
	}
	for _, f := range want {
		if e.Fields[f] == "" {
			t.Errorf("nothing at %s: %v", f, e.Fields)
		}
	}
	if len(e.Fields) != len(want) {
		t.Errorf("messages at %v, want %v", e.Fields, want)
	}
}

func TestAYesAtTheDeskIsOnTheCardFromTheStart(t *testing.T) {
	g := cardtest.Open(t)
	in := jobcard.Booking{VehicleID: g.Car, Here: true, Lines: []jobcard.NewLine{cardtest.Op(g.Service)}, Yes: "by phone", Visit: jobcard.Visit{BookedFor: g.Day}}
	done, err := g.Cards.Book(t.Context(), g.Desk, in)
	g.OK(err)
	s := g.Sheet(done.CardID)
	if l, c := s.Lines[0], s.Consents; l.Consent != jobcard.Agreed || len(c) != 1 || c[0].SaidBy != "Odette Marlowe" || c[0].How != "by phone" || c[0].Net != 96_00 {
		t.Errorf("%s; %+v", l.Consent, c)
	}
	in.Yes = "by pigeon"
	_, err = g.Cards.Book(t.Context(), g.Desk, in)
	wantFields(t, err, "yes")
}
