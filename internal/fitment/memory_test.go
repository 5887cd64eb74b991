package fitment_test

import (
	"testing"

	"rampside/internal/change"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

func seen(number string, fitted bool, model string, facts map[string]string) fitment.Before {
	return fitment.Before{Number: number, Name: "Thermostat housing", Fitted: fitted, Model: model, Facts: facts}
}

func TestWhatWasFittedAndRefusedBeforeIsCountedByTheFactsTheCarsShare(t *testing.T) {
	six := map[string]string{"engine_layout": "V", "displacement_cc": "1598", "paint_code": "K7"}
	before := []fitment.Before{
		seen("TH-1604", true, "Brisling Tern", six),
		seen("TH-1604", true, "Brisling Tern", map[string]string{"engine_layout": "V", "displacement_cc": "1598"}),
		seen("th 1604", true, "brisling tern", map[string]string{"engine_layout": "V", "displacement_cc": "1598", "paint_code": "B2"}),
		seen("TH-1604", false, "Brisling Tern", six),
		seen("TH-1604", false, "Brisling Tern", map[string]string{"engine_layout": "inline", "displacement_cc": "1390"}),
		seen("TH-1604", true, "Fenwick Dart", six),
		seen("TH-1404", true, "Brisling Tern", map[string]string{"engine_layout": "inline"}),
	}
	hints := fitment.Remember(before, "Brisling Tern", map[string]string{"engine_layout": "V", "displacement_cc": "1598", "paint_code": "Z1"})
	want := []string{
		"fitted 3 times, refused once on cars of this model with engine layout V, displacement 1598 cc; " +
			"fitted once, refused once on other cars, where engine layout or displacement differs",
		"fitted once on other cars, where engine layout differs",
	}
	if len(hints) != 2 {
		t.Fatalf("%d hints", len(hints))
	}
	for i, h := range hints {
		if h.Words() != want[i] {
			t.Errorf("%s\nwant %s", h.Words(), want[i])
		}
	}
}

func TestNothingKnownOfBothIsNoFactInCommon(t *testing.T) {
	hints := fitment.Remember([]fitment.Before{seen("TH-1604", true, "Brisling Tern", nil)}, "Brisling Tern", map[string]string{"engine_layout": "V"})
	if got := hints[0].Words(); got != "fitted once on cars of this model" {
		t.Errorf("%s", got)
	}
}

func TestAPartThatWasFittedIsRememberedOnTheNextCardAndOneSentBackIsToo(t *testing.T) {
	b := newBench(t)
	b.know("engine_layout", "V", vehicle.FromCar)
	good := b.part("Thermostat housing", "TH-1604")
	_, err := b.Cards.SetVerdict(t.Context(), b.Posy, jobcard.VerdictInput{PartID: good, Version: 1, Verdict: jobcard.Fits, Note: "offered up"})
	b.OK(err)
	b.OK(b.tick())
	b.visit()
	bad := b.part("Thermostat housing", "TH-1404")
	_, err = b.Cards.SetVerdict(t.Context(), b.Posy, jobcard.VerdictInput{PartID: bad, Version: 1, Verdict: jobcard.DoesNotFit, Note: "three bolts"})
	b.OK(err)
	b.visit()
	ask := func(number string) []fitment.Hint {
		t.Helper()
		m, err := b.fit.Memory(t.Context(), b.Posy, fitment.MemoryQuery{Number: number, VehicleID: b.Car, But: b.card})
		b.OK(err)
		return m.Hints
	}
	if h := ask("th1604"); len(h) != 1 || h[0].Words() != "fitted once on cars of this model with engine layout V" {
		t.Errorf("%+v", h)
	}
	if h := ask("th1404"); len(h) != 1 || h[0].Alike != (fitment.Tally{Refused: 1}) {
		t.Errorf("%+v", h)
	}
	_, err = b.fit.LinkNumbers(t.Context(), b.Desk, fitment.Link{Number: "TH-1604", Other: "TH-1704", Kind: fitment.ReplacedBy})
	b.OK(err)
	if h := ask("TH-1704"); len(h) != 1 || h[0].Number != "TH-1604" || h[0].Relation != "it replaced" {
		t.Errorf("%+v", h)
	}
	// What is offered for a part without a number yet.
	id := b.part("Housing, thermostat", "")
	p, err := b.fit.Suggest(t.Context(), b.Posy, id)
	b.OK(err)
	if len(p) != 2 || p[0].Number != "TH-1604" || p[0].Alike.Fitted != 1 || p[1].Number != "TH-1404" {
		t.Errorf("%+v", p)
	}
	// The record only grows: what was remembered is still there in the chain.
	if _, broken, err := change.Verify(t.Context(), b.DB.Pool); err != nil || broken != 0 {
		t.Errorf("the chain: broken at %d, %v", broken, err)
	}
}
