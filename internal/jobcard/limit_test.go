package jobcard_test

import (
	"context"
	"errors"
	"sync"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
)

func asError(err error, into **apperr.Error) bool { return errors.As(err, into) }

// dearer sets the fixed price of a line.
func dearer(t *testing.T, g *cardtest.Garage, card jobcard.CardID, id jobcard.LineID, net money.Minor) jobcard.Line {
	t.Helper()
	l, _ := g.Sheet(card).Line(id)
	_, err := g.Cards.EditLine(t.Context(), g.Desk, jobcard.EditLineInput{LineID: id, Version: l.Version, LineTerms: jobcard.LineTerms{
		Title: l.Title, MustDo: true, Estimate: l.Estimate, FixedPrice: &net, VATCode: l.VATCode,
	}})
	g.OK(err)
	l, _ = g.Sheet(card).Line(id)
	return l
}

func agreeUpTo(t *testing.T, g *cardtest.Garage, card jobcard.CardID, most money.Minor, forCard bool) {
	t.Helper()
	_, err := g.Cards.Answer(t.Context(), g.Desk, jobcard.ConsentInput{
		CardID: card, Answer: jobcard.Agreed, SaidBy: "Odette Marlowe", How: "by phone", UpTo: &most, UpToForCard: forCard,
	})
	g.OK(err)
}

func TestARiseWithinALimitStaysAgreedAndOneBeyondItAsks(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Exhaust", 100_00), fixed("Wipers", 20_00))
	id := s.Lines[0].ID
	agreeUpTo(t, g, s.ID, 150_00, false) // 125.00 net
	if l := dearer(t, g, s.ID, id, 125_00); l.Consent != jobcard.Agreed || *l.AgreedNet != 125_00 {
		t.Errorf("at the limit it is %s, agreed at %v", l.Consent, *l.AgreedNet)
	}
	if l := dearer(t, g, s.ID, id, 125_01); l.Consent != jobcard.Asked || *l.AgreedNet != 125_00 {
		t.Errorf("a penny beyond it is %s, agreed at %v", l.Consent, *l.AgreedNet)
	}
	given := g.Sheet(s.ID).Consents
	if c := given[0]; c.UpTo == nil || *c.UpTo != 150_00 || c.Net != 100_00 {
		t.Errorf("the record says %+v", c)
	}
	// A yes without a limit has none.
	g.Agree(s.ID)
	if l := dearer(t, g, s.ID, id, 125_02); l.Consent != jobcard.Asked {
		t.Errorf("without a limit it is %s", l.Consent)
	}
}

func TestTheCardsLimitIsForAllThatIsAgreed(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Exhaust", 100_00), fixed("Wipers", 20_00))
	agreeUpTo(t, g, s.ID, 180_00, true) // 150.00 net, of which 120.00 are agreed
	if l := dearer(t, g, s.ID, s.Lines[0].ID, 125_00); l.Consent != jobcard.Agreed {
		t.Errorf("within the card's limit it is %s", l.Consent)
	}
	up := amount(5_00)
	up.Up = true
	id := adjustOn(t, g, s.ID, 0, up)
	if q := g.Sheet(s.ID).Quote; q.Agreed.Gross != 180_00 {
		t.Errorf("with a surcharge up to the limit %v is agreed", q.Agreed.Gross)
	}
	more := amount(5_01)
	more.Up = true
	_, err := g.Cards.EditAdjustment(t.Context(), g.Desk, jobcard.EditAdjustInput{ID: id, Version: 1, AdjustTerms: more})
	g.OK(err)
	for _, l := range g.Sheet(s.ID).Lines {
		if l.Consent != jobcard.Asked {
			t.Errorf("the card is beyond its limit, and %s is %s", l.Title, l.Consent)
		}
	}
	_, err = g.Cards.Answer(t.Context(), g.Desk, jobcard.ConsentInput{
		CardID: s.ID, Answer: jobcard.Declined, SaidBy: "Odette Marlowe", How: "by phone", UpTo: new(money.Minor),
	})
	wantFields(t, err, "up_to")
}

func TestWorkWaitsForTheCustomerOrForAReason(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Exhaust", 100_00))
	id := s.Lines[0].ID
	start := func() error {
		_, err := change.Do(t.Context(), g.DB, g.Posy, "start", id, func(ctx context.Context, tx *change.Tx) (int, error) {
			c, l, err := jobcard.LockLine(ctx, tx, id)
			if err != nil {
				return 0, err
			}
			return 0, jobcard.Start(ctx, tx, c, l)
		})
		return err
	}
	refused := func(again bool) {
		t.Helper()
		if n, ok := jobcard.NotAgreedOf(start()); !ok || n.Again != again {
			t.Errorf("it may be started, or says otherwise: %+v", n)
		}
	}
	refused(false)
	_, err := g.Cards.GoAhead(t.Context(), g.Posy, jobcard.AheadInput{LineID: id, Reason: "I like to"})
	if !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("a technician let a line go ahead: %v", err)
	}
	_, err = g.Cards.GoAhead(t.Context(), g.Desk, jobcard.AheadInput{LineID: id})
	wantFields(t, err, "reason")
	g.GoAhead(id)
	_, err = g.Cards.GoAhead(t.Context(), g.Desk, jobcard.AheadInput{LineID: id, Back: true})
	g.OK(err)
	refused(false)
	g.GoAhead(id)
	g.OK(start())
	// An answer ends it, and a dearer price asks again although it is in hand.
	g.Agree(s.ID)
	if l := g.Sheet(s.ID).Lines[0]; l.AheadWhy != "" {
		t.Errorf("it goes ahead because %q, and is agreed", l.AheadWhy)
	}
	dearer(t, g, s.ID, id, 100_01)
	refused(true)
	if _, err := g.Cards.GoAhead(t.Context(), g.Desk, jobcard.AheadInput{LineID: 999_999, Reason: "x"}); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("%v", err)
	}
}

// One makes the line dearer while the other starts it: whichever comes first,
// nobody is at work on what was not agreed without the line saying so.
func TestADearerPriceAndAStartAtOnceComeOneAfterTheOther(t *testing.T) {
	g := cardtest.Open(t)
	for range 8 {
		s := g.Book(fixed("Exhaust", 100_00))
		g.Agree(s.ID)
		id := s.Lines[0].ID
		up := amount(10_00)
		up.Up = true
		var wg sync.WaitGroup
		var started error
		wg.Go(func() {
			_, started = change.Do(t.Context(), g.DB, g.Posy, "start", id, func(ctx context.Context, tx *change.Tx) (int, error) {
				c, l, err := jobcard.LockLine(ctx, tx, id)
				if err != nil {
					return 0, err
				}
				return 0, jobcard.Start(ctx, tx, c, l)
			})
		})
		wg.Go(func() {
			_, err := g.Cards.Adjust(t.Context(), g.Desk, jobcard.AdjustInput{CardID: s.ID, LineID: id, AdjustTerms: up})
			g.OK(err)
		})
		wg.Wait()
		l := g.Sheet(s.ID).Lines[0]
		_, stopped := jobcard.NotAgreedOf(started)
		if l.Consent != jobcard.Asked || started != nil && !stopped || (started == nil) != (l.WorkState == jobcard.InHand) {
			t.Errorf("the line is %s and %s after %v", l.Consent, l.WorkState, started)
		}
	}
}

func TestAnAnswerToAQuoteIsKeptWithItsVersionAndSignature(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(fixed("Exhaust", 100_00), fixed("Wipers", 20_00))
	net := money.Minor(90_00) // the quote was cheaper than the line is by now
	drawn := []byte("M 0 0 L 10 10")
	_, err := change.Do(t.Context(), g.DB, g.Desk, "answer", s.ID, func(ctx context.Context, tx *change.Tx) (int, error) {
		return 0, jobcard.RecordAnswer(ctx, tx, s.ID, []jobcard.LineAnswer{
			{LineID: s.Lines[0].ID, Answer: jobcard.Agreed, Net: &net}, {LineID: s.Lines[1].ID, Answer: jobcard.Declined},
		}, jobcard.AnswerDetails{SaidBy: "Odette Marlowe", How: jobcard.ByLink, Signature: drawn})
	})
	g.OK(err)
	l := g.Sheet(s.ID).Lines
	if l[0].Consent != jobcard.Asked || *l[0].AgreedNet != 90_00 || l[1].Consent != jobcard.Declined {
		t.Errorf("%s, agreed at %v; %s", l[0].Consent, *l[0].AgreedNet, l[1].Consent)
	}
	var how string
	var kept []byte
	g.OK(g.DB.Pool.QueryRow(t.Context(), `select how, signature from consent where line_id = $1`, l[0].ID).Scan(&how, &kept))
	if how != jobcard.ByLink || string(kept) != string(drawn) {
		t.Errorf("%s, %q", how, kept)
	}
}
