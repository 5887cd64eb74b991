package fitment_test

import (
	"slices"
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

func TestANumberIsOneInAnySpellingHereAndInTheDatabase(t *testing.T) {
	b := newBench(t)
	for _, number := range []string{"TH-1404", "th 1404", "Th.14/04_", "~`{}[]^\\@:;<=>?!\"#$%&'()*+,-./", "ДТ-55 é", "", "\t7\u00a07"} {
		var key string
		b.OK(b.DB.Pool.QueryRow(t.Context(), `select number_key($1)`, number).Scan(&key))
		if got := fitment.NumberKey(number); got != key {
			t.Errorf("%q is %q here and %q in the database", number, got, key)
		}
	}
	if a, b := fitment.NumberKey("th 14-04"), fitment.NumberKey("TH1404"); a != b || a != "TH1404" {
		t.Errorf("%q and %q", a, b)
	}
}

func TestNumbersThatBelongTogetherAreFollowedOverEveryStepInTheirDirection(t *testing.T) {
	b := newBench(t)
	for _, l := range []fitment.Link{
		{Number: "A-1", Other: "B-1", Kind: fitment.SameAs},
		{Number: "b1", Other: "C-2", Kind: fitment.ReplacedBy},
		{Number: "C-2", Other: "D-2", Kind: fitment.SameAs},
		{Number: "Z-0", Other: "A-1", Kind: fitment.ReplacedBy},
		{Number: "Z-0", Other: "Y-9", Kind: fitment.ReplacedBy}, // a sibling, and no kin of A-1
		{Number: "Q-1", Other: "Q-2", Kind: fitment.SameAs},
	} {
		_, err := b.fit.LinkNumbers(t.Context(), b.Desk, l)
		b.OK(err)
	}
	k, err := fitment.KinOf(t.Context(), b.DB.Pool, "a 1")
	b.OK(err)
	sorted := func(s []string) string { return strings.Join(slices.Sorted(slices.Values(s)), " ") }
	if sorted(k.Same) != "A1 B1" || sorted(k.Newer) != "C2 D2" || sorted(k.Older) != "Z0" {
		t.Errorf("same %v, newer %v, older %v", k.Same, k.Newer, k.Older)
	}
	for _, l := range []fitment.Link{
		{Number: "D-2", Other: "A 1", Kind: fitment.ReplacedBy}, {Number: "d2", Other: "z-0", Kind: fitment.ReplacedBy},
	} { // round in a circle
		if _, err = b.fit.LinkNumbers(t.Context(), b.Desk, l); !apperr.Is(err, apperr.Invalid) || !strings.Contains(err.Error(), "in the end by") {
			t.Errorf("%s replaced by %s: %v", l.Number, l.Other, err)
		}
	}
	_, err = b.fit.LinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "B-1", Other: "C-2", Kind: fitment.ReplacedBy}) // once more, the same
	b.OK(err)
	_, err = b.fit.UnlinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "B 1", Other: "A 1"})
	b.OK(err)
	if k, err = fitment.KinOf(t.Context(), b.DB.Pool, "A-1"); err != nil || sorted(k.Same) != "A1" || len(k.Newer) != 0 {
		t.Errorf("%+v, %v", k, err)
	}
	if _, err = b.fit.UnlinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "B 1", Other: "A 1"}); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("unlinked twice: %v", err)
	}
	if _, err = b.fit.LinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "A-1", Other: "a1", Kind: fitment.SameAs}); !apperr.Is(err, apperr.Invalid) {
		t.Errorf("linked with itself: %v", err)
	}
	if _, err = b.fit.LinkNumbers(t.Context(), b.Posy, fitment.Link{Number: "A-1", Other: "E1", Kind: fitment.SameAs}); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("linked by a technician: %v", err)
	}
}

func TestTheNumberOnTheBoxIsTheCardsOrIsPutRight(t *testing.T) {
	b := newBench(t)
	b.know("engine_layout", "V", vehicle.FromCar)
	id := b.part("Thermostat housing", "TH-1604")
	b.put(id, "engine layout is V")
	read := func(number string, take bool) fitment.BoxRead {
		t.Helper()
		r, err := b.fit.ReadBox(t.Context(), b.Posy, fitment.BoxInput{PartID: id, Number: number, Take: take})
		b.OK(err)
		return r
	}
	if r := read("th 1604", false); r.Other || r.Taken {
		t.Errorf("the card's own number: %+v", r)
	}
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	if r := read("TH-1404", false); !r.Other {
		t.Errorf("another number: %+v", r)
	}
	if p := b.is(id, jobcard.CannotTell, jobcard.Reasoned); !p.BoxOther || !strings.Contains(p.Last.Why, "TH-1404") {
		t.Errorf("box %q, why %s", p.Box, p.Last.Why)
	}
	// The desk finds out that the maker renumbered it.
	_, err := b.fit.LinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "TH-1604", Other: "TH-1404", Kind: fitment.ReplacedBy})
	b.OK(err)
	if r := read("TH-1404", false); r.Other {
		t.Errorf("what replaced it: %+v", r)
	}
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	if r := read("TH-9", true); !r.Taken {
		t.Errorf("taken: %+v", r)
	}
	if p := b.is(id, jobcard.Unchecked, jobcard.Reasoned); p.Number != "TH-9" {
		t.Errorf("the number is %q", p.Number)
	}
	// A part without a number takes the one on its box.
	bare := b.part("Gasket", "")
	r, err := b.fit.ReadBox(t.Context(), b.Posy, fitment.BoxInput{PartID: bare, Number: "G-77"})
	b.OK(err)
	if p := b.look(bare); !r.Taken || p.Number != "G-77" {
		t.Errorf("%+v, number %q", r, p.Number)
	}
	if _, err := b.fit.ReadBox(t.Context(), b.Posy, fitment.BoxInput{PartID: id, Number: " - "}); !apperr.Is(err, apperr.Invalid) {
		t.Errorf("no number at all: %v", err)
	}
}

func TestAHandsWordIsVoidWhenTheBoxTurnsOutToBeAnothers(t *testing.T) {
	b := newBench(t)
	id := b.part("Oil filter", "OF-1")
	_, err := b.Cards.SetVerdict(t.Context(), b.Posy, jobcard.VerdictInput{PartID: id, Version: 1, Verdict: jobcard.Fits, Note: "from the list"})
	b.OK(err)
	_, err = b.fit.ReadBox(t.Context(), b.Posy, fitment.BoxInput{PartID: id, Number: "OF-2"})
	b.OK(err)
	b.is(id, jobcard.CannotTell, jobcard.Reasoned)
}
