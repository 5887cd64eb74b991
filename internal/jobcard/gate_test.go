package jobcard_test

import (
	"context"
	"strings"
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
)

// partOn puts a part that is here on the first line of a card.
func partOn(t *testing.T, g *cardtest.Garage, s *jobcard.Sheet, name, number string) jobcard.PartID {
	t.Helper()
	done, err := g.Cards.AddPart(t.Context(), g.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: jobcard.PartTerms{
		LineID: s.Lines[0].ID, Name: name, Number: number, Qty: 1000, Supply: jobcard.Arrived,
	}})
	g.OK(err)
	return done.PartID
}

func partIn(t *testing.T, g *cardtest.Garage, s *jobcard.Sheet, id jobcard.PartID) jobcard.Part {
	t.Helper()
	p, ok := g.Sheet(s.ID).Part(id)
	if !ok {
		t.Fatalf("part %d is gone", id)
	}
	return p
}

func say(t *testing.T, g *cardtest.Garage, s *jobcard.Sheet, id jobcard.PartID, v jobcard.Verdict, note string) {
	t.Helper()
	_, err := g.Cards.SetVerdict(t.Context(), g.Posy, jobcard.VerdictInput{
		PartID: id, Version: partIn(t, g, s, id).Version, Verdict: v, Note: note,
	})
	g.OK(err)
}

func TestALineIsNotTickedNorStrippedWhileAPartOfItIsNotFoundToFit(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	g.Agree(s.ID)
	id := partOn(t, g, s, "Thermostat housing", "TH-1404")
	l := s.Lines[0].ID
	for _, step := range []struct {
		verdict jobcard.Verdict
		note    string
		words   string
	}{
		{jobcard.Unchecked, "", "Thermostat housing TH-1404 is unchecked: check it at the bench"},
		{jobcard.CannotTell, "no number on it", "Whether Thermostat housing TH-1404 fits cannot be told: look at the car"},
		{jobcard.DoesNotFit, "three bolts, not four", "Thermostat housing TH-1404 does not fit: send it back"},
	} {
		say(t, g, s, id, step.verdict, step.note)
		_, err := g.Cards.Strip(t.Context(), g.Posy, jobcard.StripInput{LineID: l})
		c, ok := jobcard.ClosedOf(err)
		if !ok || !apperr.Is(err, apperr.Conflict) || len(c.Holds) != 1 || c.Holds[0].PartID != id || c.LineID != l || c.CardID != s.ID {
			t.Errorf("%s: the old parts came off: %+v, %v", step.verdict, c, err)
		} else if !strings.Contains(err.Error(), step.words) || !strings.Contains(err.Error(), "take the old parts off") {
			t.Errorf("%s: %v", step.verdict, err)
		}
		err = in(t, g, g.Posy, l, jobcard.Tick)
		if _, ok := jobcard.ClosedOf(err); !ok || !strings.Contains(err.Error(), "you cannot tick it yet") {
			t.Errorf("%s: ticked: %v", step.verdict, err)
		}
		if holds := g.Sheet(s.ID).HoldsOf(l); len(holds) != 1 || holds[0].Verdict != step.verdict {
			t.Errorf("%s: the sheet holds %+v", step.verdict, holds)
		}
	}
	say(t, g, s, id, jobcard.Fits, "beside the old one")
	_, err := g.Cards.Strip(t.Context(), g.Posy, jobcard.StripInput{LineID: l})
	g.OK(err)
	if !g.Sheet(s.ID).Lines[0].Stripped() {
		t.Error("the sheet does not say that the old parts are off")
	}
	tick(t, g, g.Posy, l)
}

func TestAPartThatIsNotForTheCarAnyMoreHoldsNothingUp(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	g.Agree(s.ID)
	struck, back, loose := partOn(t, g, s, "Filter", "F-1"), partOn(t, g, s, "Gasket", "G-1"), partOn(t, g, s, "Rag", "")
	_, err := g.Cards.StrikePart(t.Context(), g.Desk, jobcard.StrikeInput{PartID: struck, Version: 1, Reason: "not needed"})
	g.OK(err)
	_, err = g.Cards.SetSupply(t.Context(), g.Posy, jobcard.SupplyInput{PartID: back, Version: 1, Supply: jobcard.GoingBack})
	g.OK(err)
	p := partIn(t, g, s, loose)
	_, err = g.Cards.EditPart(t.Context(), g.Desk, jobcard.EditPartInput{PartID: loose, Version: p.Version, PartTerms: jobcard.PartTerms{
		Name: p.Name, Qty: p.Qty, Supply: p.Supply, // for the card as a whole
	}})
	g.OK(err)
	if holds := g.Sheet(s.ID).HoldsOf(s.Lines[0].ID); len(holds) != 0 {
		t.Errorf("held by %+v", holds)
	}
	tick(t, g, g.Posy, s.Lines[0].ID)
}

func TestOldPartsComeOffOnceAndGoOnAgain(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	g.Agree(s.ID)
	l := s.Lines[0].ID
	strip := func(back bool) error {
		_, err := g.Cards.Strip(t.Context(), g.Posy, jobcard.StripInput{LineID: l, Back: back})
		return err
	}
	if err := strip(true); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("put back on what was never off: %v", err)
	}
	g.OK(strip(false))
	if err := strip(false); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("taken off twice: %v", err)
	}
	g.OK(strip(true))
	g.OK(strip(false))
	tick(t, g, g.Posy, l)
	if err := strip(false); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("taken off a line that is done: %v", err)
	}
	// Opened again it has been put together since.
	g.OK(in(t, g, g.Posy, l, func(ctx context.Context, tx *change.Tx, c jobcard.Card, l jobcard.Line) error {
		return jobcard.OpenAgain(ctx, tx, c, l, "it drips")
	}))
	if g.Sheet(s.ID).Lines[0].Stripped() {
		t.Error("a line that was done and is opened again counts as stripped down")
	}
}

func TestEveryVerdictStaysOnRecordWithTheFactsOfTheMoment(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	id := partOn(t, g, s, "Oil filter", "of 11-2")
	say(t, g, s, id, jobcard.CannotTell, "box without a number")
	say(t, g, s, id, jobcard.Fits, "thread and seal beside the old one")
	rows, err := g.DB.Pool.Query(t.Context(), `select verdict, how, number_key, note, by_staff from fit_check where part_id = $1 order by id`, id)
	g.OK(err)
	var got []string
	for rows.Next() {
		var verdict, how, key, note string
		var by int64
		g.OK(rows.Scan(&verdict, &how, &key, &note, &by))
		got = append(got, strings.Join([]string{verdict, how, key, note}, " / "))
		if by != int64(g.Posy.StaffID) {
			t.Errorf("given by %d", by)
		}
	}
	g.OK(rows.Err())
	want := []string{"cannot tell / by hand / OF112 / box without a number", "fits / by hand / OF112 / thread and seal beside the old one"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("on record:\n%s", strings.Join(got, "\n"))
	}
	if _, err := g.DB.Pool.Exec(t.Context(), `update fit_check set verdict = 'fits'`); err == nil {
		t.Error("a verdict on record was changed")
	}
	if _, err := g.DB.Pool.Exec(t.Context(), `delete from fit_check`); err == nil {
		t.Error("a verdict was taken off the record")
	}
}

func TestTheSameNumberSpeltOtherwiseKeepsItsVerdictAndAnotherLosesIt(t *testing.T) {
	g := cardtest.Open(t)
	s := g.Book(cardtest.Op(g.Service))
	id := partOn(t, g, s, "Oil filter", "OF-11.2")
	say(t, g, s, id, jobcard.Fits, "beside the old one")
	edit := func(number string) jobcard.Verdict {
		p := partIn(t, g, s, id)
		_, err := g.Cards.EditPart(t.Context(), g.Desk, jobcard.EditPartInput{PartID: id, Version: p.Version, PartTerms: jobcard.PartTerms{
			LineID: p.LineID, Name: p.Name, Number: number, Qty: p.Qty, Supply: p.Supply,
		}})
		g.OK(err)
		return partIn(t, g, s, id).Verdict
	}
	if v := edit("of 112"); v != jobcard.Fits {
		t.Errorf("the same number in another spelling is %s", v)
	}
	if v := edit("OF-11.3"); v != jobcard.Unchecked {
		t.Errorf("another number is %s", v)
	}
}
