package fitment_test

import (
	"context"
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

func (b *bench) tick() error {
	_, err := change.Do(b.t.Context(), b.DB, b.Posy, "test", b.line, func(ctx context.Context, tx *change.Tx) (int, error) {
		c, l, err := jobcard.LockLine(ctx, tx, b.line)
		if err != nil {
			return 0, err
		}
		return 0, jobcard.Tick(ctx, tx, c, l)
	})
	return err
}

func (b *bench) waive(who actor.Actor, id jobcard.PartID, reason string) error {
	_, err := b.fit.Waive(b.t.Context(), who, fitment.WaiveInput{PartID: id, Verdict: b.look(id).Verdict, Reason: reason})
	return err
}

func TestTheOwnerOrTheDeskLetsAPartThroughWithAReasonAndATechnicianDoesNot(t *testing.T) {
	b := newBench(t)
	id := b.part("Wheel bearing", "WB-7")
	if err := b.waive(b.Posy, id, "it looks right"); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("a technician: %v", err)
	}
	if err := b.waive(b.Owner, id, " "); !apperr.Is(err, apperr.Invalid) {
		t.Errorf("without a reason: %v", err)
	}
	if _, ok := jobcard.ClosedOf(b.tick()); !ok {
		t.Error("the gate is open")
	}
	b.OK(b.waive(b.Owner, id, "only one was ever made"))
	s := b.Sheet(b.card)
	if len(s.Waivers) != 1 || s.Waivers[0].Reason != "only one was ever made" || s.Waivers[0].By != b.Owner.StaffID || s.Waivers[0].Verdict != jobcard.Unchecked {
		t.Errorf("on the card: %+v", s.Waivers)
	}
	if err := b.waive(b.Desk, id, "again"); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("twice: %v", err)
	}
	events, err := change.Events(t.Context(), b.DB.Pool, change.Filter{})
	b.OK(err)
	if events[0].Kind != "part let through" || events[0].CardID != int64(b.card) {
		t.Errorf("the record ends with %+v", events[0])
	}
	b.OK(b.tick())
}

func TestAWaiverCoversNoWorseThanWasKnownAndNoOtherNumber(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	b.put(id, "engine layout is V")
	b.OK(b.waive(b.Desk, id, "the car is in the next town"))
	if len(b.Sheet(b.card).HoldsOf(b.line)) != 0 {
		t.Fatal("held although it was let through")
	}
	b.know("engine_layout", "inline", vehicle.FromCar)
	if h := b.Sheet(b.card).HoldsOf(b.line); len(h) != 1 || h[0].Verdict != jobcard.DoesNotFit {
		t.Errorf("let through although it is proved not to fit: %+v", h)
	}
	if _, err := b.fit.Waive(t.Context(), b.Desk, fitment.WaiveInput{PartID: id, Verdict: jobcard.CannotTell, Reason: "as I saw it"}); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("let through as something else than it is: %v", err)
	}
	b.OK(b.waive(b.Owner, id, "we machine the flange"))
	if len(b.Sheet(b.card).HoldsOf(b.line)) != 0 {
		t.Error("held although it was let through as what it is")
	}
	read, err := b.fit.ReadBox(t.Context(), b.Posy, fitment.BoxInput{PartID: id, Number: "TH-9", Take: true})
	b.OK(err)
	if !read.Taken || len(b.Sheet(b.card).HoldsOf(b.line)) != 1 {
		t.Error("another number went through on the old one's waiver")
	}
}

func TestWaiversOnlyGrow(t *testing.T) {
	b := newBench(t)
	id := b.part("Wheel bearing", "WB-7")
	b.OK(b.waive(b.Owner, id, "only one was ever made"))
	for _, sql := range []string{`update fit_waiver set reason = 'x'`, `delete from fit_waiver`, `truncate fit_waiver`} {
		if _, err := b.DB.Pool.Exec(t.Context(), sql); err == nil {
			t.Errorf("%s was taken", sql)
		}
	}
}
