package quote_test

import (
	"testing"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/quote"
)

func TestWhatChangedBetweenTwoVersions(t *testing.T) {
	r := open(t)
	c := r.Book(cardtest.Op(r.Brakes), cardtest.Op(r.Service), free("Wash", 20_00), free("Trim", 15_00))
	pads := r.part(c, 0, jobcard.PartTerms{Name: "Pad set", SupplierID: r.Supplier, Cost: 26_50})
	a := r.make(c.ID)
	same, err := r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{CardID: c.ID, Kind: quote.Estimate})
	r.OK(err)
	cmp, err := r.quotes.Compare(t.Context(), r.Desk, c.ID, 1, same.No)
	r.OK(err)
	if !cmp.Alike() {
		t.Errorf("two versions of one card differ: %+v", cmp)
	}

	// The pads go up, the wash goes, the trim is called otherwise, a wax comes.
	set := func(line int, terms jobcard.LineTerms) {
		t.Helper()
		l := r.Sheet(c.ID).Lines[line]
		terms.MustDo = true
		_, err := r.Cards.EditLine(t.Context(), r.Desk, jobcard.EditLineInput{LineID: l.ID, Version: l.Version, LineTerms: terms})
		r.OK(err)
	}
	part, _ := r.Sheet(c.ID).Part(pads)
	_, err = r.Cards.EditPart(t.Context(), r.Desk, jobcard.EditPartInput{PartID: pads, Version: part.Version, PartTerms: jobcard.PartTerms{
		LineID: c.Lines[0].ID, Name: "Pad set", Qty: 1000, SupplierID: r.Supplier, Cost: 30_00,
	}})
	r.OK(err)
	price := money.Minor(15_00)
	set(3, jobcard.LineTerms{Title: "Refit the trim", FixedPrice: &price})
	_, err = r.Cards.Answer(t.Context(), r.Desk, jobcard.ConsentInput{CardID: c.ID, Lines: []jobcard.LineID{c.Lines[2].ID}, Answer: jobcard.Declined, SaidBy: "x", How: "by phone"})
	r.OK(err)
	_, err = r.Cards.AddLine(t.Context(), r.Desk, jobcard.AddLineInput{CardID: c.ID, NewLine: free("Wax", 30_00)})
	r.OK(err)
	b := r.make(c.ID)
	cmp = quote.Compare(a, b)
	want := map[string]quote.Change{
		"Front brake pads": quote.Dearer, "Annual service": quote.Same, "Wash": quote.Gone, "Refit the trim": quote.Reworded, "Wax": quote.Added,
	}
	var by money.Minor
	for _, j := range cmp.Jobs {
		if want[j.Title()] != j.Change {
			t.Errorf("%s: %s, want %s", j.Title(), j.Change, want[j.Title()])
		}
		delete(want, j.Title())
		by += j.By
	}
	if len(want) > 0 || by != cmp.By || by != b.Totals.Gross-a.Totals.Gross {
		t.Errorf("left %v; the changes come to %v, the totals to %v", want, by, cmp.By)
	}
	// 3.50 more for the pads with 30 % on it and 20 % VAT: 4.55 net, 5.46.
	if p := cmp.Jobs[0]; p.By != 5_46 || p.Lines[0].Change != quote.Same || p.Lines[1].Change != quote.Dearer || p.Lines[1].By != 4_55 {
		t.Errorf("%+v", p)
	}
	_, err = r.quotes.Compare(t.Context(), r.Desk, c.ID, 1, 99)
	r.kind(err, apperr.NotFound)
	_, err = r.quotes.Compare(t.Context(), r.Posy, c.ID, 1, 2)
	r.kind(err, apperr.Forbidden)
}
