package fitment_test

import (
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

const housing = "engine layout is V and displacement from 1500 to 1700"

func TestAVerdictFollowsFromConditionsAndFactsAndSaysWhatIsMissing(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	b.put(id, housing)
	p := b.is(id, jobcard.CannotTell, jobcard.Reasoned)
	var keys []string
	for _, r := range p.Last.Settle {
		keys = append(keys, r.Key)
	}
	// The logbook lies on the desk; the engine is under the bonnet.
	if strings.Join(keys, " ") != "displacement_cc engine_layout" {
		t.Errorf("to be settled by %v", keys)
	}
	b.know("displacement_cc", "1598", vehicle.FromLogbook)
	if p = b.is(id, jobcard.CannotTell, jobcard.Reasoned); len(p.Last.Settle) != 1 || p.Last.Settle[0].Key != "engine_layout" {
		t.Errorf("still to be settled: %+v", p.Last.Settle)
	}
	_, err := b.fit.Measure(t.Context(), b.Posy, fitment.MeasureInput{PartID: id, Key: "engine_layout", Value: "v"})
	b.OK(err)
	p = b.is(id, jobcard.Fits, jobcard.Reasoned)
	if p.Last.Rule == nil || len(p.Last.Rule.Conditions()) != 2 || p.VerdictBy != b.Posy.StaffID {
		t.Errorf("proof %+v, by %d", p.Last.Rule, p.VerdictBy)
	}
	if f := p.Last.Rule.Conditions()[0]; f.Source != vehicle.FromCar.Words() {
		t.Errorf("the layout comes from %q", f.Source)
	}
}

func TestAChangedFactTurnsTheVerdictInTheSameMomentAndBackAgain(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	b.put(id, "engine layout is V")
	b.know("engine_layout", "V", vehicle.FromSupplier)
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	b.know("engine_layout", "inline", vehicle.FromSupplier)
	p := b.is(id, jobcard.DoesNotFit, jobcard.Reasoned)
	if !strings.Contains(p.Last.Why, "inline") {
		t.Errorf("why: %s", p.Last.Why)
	}
	n := b.checks(id)
	// What has no bearing on it leaves no new verdict on record.
	b.know("doors", "5", vehicle.FromCar)
	b.is(id, jobcard.DoesNotFit, jobcard.Reasoned)
	if b.checks(id) != n {
		t.Errorf("%d verdicts on record, then %d", n, b.checks(id))
	}
	_, err := b.Vehicles.RemoveFact(t.Context(), b.Desk, vehicle.FactEdit{
		VehicleID: b.Car, FactInput: vehicle.FactInput{Key: "engine_layout", Source: vehicle.FromSupplier}, Was: "inline",
	})
	b.OK(err)
	b.is(id, jobcard.CannotTell, jobcard.Reasoned)
}

func TestSourcesThatContradictOneAnotherLeaveItOpenUntilSomebodyHasLooked(t *testing.T) {
	b := newBench(t)
	id := b.part("Front discs", "FD-280")
	b.put(id, "front disc diameter is 280 mm")
	b.know("front_disc_mm", "280", vehicle.FromSupplier)
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	b.know("front_disc_mm", "256", vehicle.Assumed)
	p := b.is(id, jobcard.CannotTell, jobcard.Reasoned)
	if len(p.Last.Settle) != 1 || p.Last.Settle[0].Key != "front_disc_mm" || !strings.Contains(p.Last.Why, "contradict") {
		t.Errorf("%s: %+v", p.Last.Why, p.Last.Settle)
	}
	b.know("front_disc_mm", "280", vehicle.FromCar)
	p = b.is(id, jobcard.Fits, jobcard.Reasoned)
	if len(p.Last.Rule.Disputed) != 1 {
		t.Errorf("the contradiction is not shown any more: %+v", p.Last.Rule.Disputed)
	}
}

func TestAHandDecidesWhatReasoningLeavesOpenAndDoesNotOverruleAProof(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	hand := func(v jobcard.Verdict, note string) error {
		_, err := b.Cards.SetVerdict(t.Context(), b.Posy, jobcard.VerdictInput{PartID: id, Version: b.look(id).Version, Verdict: v, Note: note})
		return err
	}
	b.put(id, "engine layout is V")
	b.OK(hand(jobcard.Fits, "offered up to the block"))
	b.is(id, jobcard.Fits, jobcard.ByHand)
	// It stands while nothing speaks against it, and no longer.
	b.know("doors", "5", vehicle.FromCar)
	b.is(id, jobcard.Fits, jobcard.ByHand)
	b.know("engine_layout", "inline", vehicle.FromCar)
	b.is(id, jobcard.DoesNotFit, jobcard.Reasoned)
	if err := hand(jobcard.Fits, "I say so"); !apperr.Is(err, apperr.Invalid) {
		t.Errorf("a hand overruled a proof: %v", err)
	}
	b.know("engine_layout", "V", vehicle.FromCar)
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	b.OK(hand(jobcard.DoesNotFit, "the flange is cracked"))
	b.is(id, jobcard.DoesNotFit, jobcard.ByHand)
	b.OK(hand(jobcard.Unchecked, ""))
	b.is(id, jobcard.Fits, jobcard.Reasoned)
}

func TestAnotherNumberIsNotJudgedByTheWordsOfTheOldOne(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	b.know("engine_layout", "V", vehicle.FromCar)
	b.put(id, "engine layout is V")
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	edit := func(number string) {
		p := b.look(id)
		_, err := b.Cards.EditPart(t.Context(), b.Desk, jobcard.EditPartInput{PartID: id, Version: p.Version, PartTerms: jobcard.PartTerms{
			LineID: p.LineID, Name: p.Name, Number: number, Qty: p.Qty, Supply: p.Supply,
		}})
		b.OK(err)
	}
	edit("TH-1404")
	if p := b.is(id, jobcard.Unchecked, jobcard.Reasoned); p.Put == nil || p.Put.Holds {
		t.Errorf("the words still hold: %+v", p.Put)
	}
	edit("th 1604")
	b.is(id, jobcard.Fits, jobcard.Reasoned)
}

func TestWordsOfANumberGoWithItToTheNextCar(t *testing.T) {
	b := newBench(t)
	first := b.part("Thermostat housing", "TH-1604")
	b.put(first, "engine layout is V")
	b.know("engine_layout", "V", vehicle.FromCar)
	old := b.card
	b.visit()
	id := b.part("Housing", "th1604")
	p := b.is(id, jobcard.Fits, jobcard.Reasoned)
	if p.Put.TakenFrom != first || p.Put.TakenCard != old {
		t.Errorf("taken from %d on card %d", p.Put.TakenFrom, p.Put.TakenCard)
	}
	_, err := b.fit.LinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "TH-1604", Other: "88-031", Kind: fitment.SameAs})
	b.OK(err)
	b.is(b.part("Housing", "88 031"), jobcard.Fits, jobcard.Reasoned)
	b.is(b.part("Housing", "88 032"), jobcard.Unchecked, jobcard.ByHand)
}

func TestAFinishedCardStaysAsItWas(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	b.put(id, "engine layout is V")
	b.know("engine_layout", "V", vehicle.FromCar)
	_, err := b.Cards.SetStage(t.Context(), b.Desk, jobcard.StageInput{CardID: b.card, Stage: jobcard.Cancelled, Reason: "sold"})
	b.OK(err)
	b.know("engine_layout", "inline", vehicle.FromCar)
	b.is(id, jobcard.Fits, jobcard.Reasoned)
	p := b.look(id)
	if _, err := b.fit.Put(t.Context(), b.Posy, fitment.PutInput{PartID: id, Version: p.PutVersion(), Rule: "any car"}); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("changed on a finished card: %v", err)
	}
}

func TestConditionsThatCannotBeReadAreRefusedAtTheirPlace(t *testing.T) {
	b := newBench(t)
	id := b.part("Thermostat housing", "TH-1604")
	_, err := b.fit.Put(t.Context(), b.Posy, fitment.PutInput{PartID: id, Rule: "engine layout is V and fule is diesel"})
	if !apperr.Is(err, apperr.Invalid) || !strings.Contains(err.Error(), "rule") {
		t.Errorf("%v", err)
	}
	b.put(id, "engine layout is V")
	_, err = b.fit.Put(t.Context(), b.Desk, fitment.PutInput{PartID: id, Version: 0, Rule: "any car"})
	if !apperr.Is(err, apperr.Conflict) {
		t.Errorf("a stale edit: %v", err)
	}
}
