package handover_test

import (
	"testing"
	"time"

	"rampside/internal/clocking"
	"rampside/internal/handover"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/post"
)

// rig is a garage with cars to hand over.
type rig struct {
	*cardtest.Garage
	hands  *handover.Service
	clocks *clocking.Service
	t      *testing.T
}

func open(t *testing.T) *rig {
	t.Helper()
	g := cardtest.Open(t)
	return &rig{g, handover.New(g.DB, g.Cards, func(path string) string { return "https://garage.example" + path }, post.New(g.DB, "desk@saltmarsh.example")), clocking.New(g.DB), t}
}

// tick has Posy do a line.
func (r *rig) tick(id jobcard.LineID) {
	r.t.Helper()
	_, err := r.clocks.Tick(r.t.Context(), r.Posy, clocking.LineInput{LineID: id})
	r.OK(err)
}

// check has Bram check a line of Posy's.
func (r *rig) check(id jobcard.LineID, nm float64) {
	r.t.Helper()
	_, err := r.Cards.SecondCheck(r.t.Context(), r.Bram, jobcard.CheckInput{LineID: id, TorqueNm: nm, Note: "by the book"})
	r.OK(err)
}

// found has Posy find a fault on a line; it gives the line that is proposed.
func (r *rig) found(on jobcard.LineID, f jobcard.Found) jobcard.LineID {
	r.t.Helper()
	f.Estimate = hours.One(time.Hour)
	s, err := r.clocks.Snag(r.t.Context(), r.Posy, jobcard.SnagInput{LineID: on, Kind: jobcard.FoundFault, Found: &f})
	r.OK(err)
	return s.LedTo
}

func (r *rig) decline(card jobcard.CardID, lines ...jobcard.LineID) {
	r.t.Helper()
	_, err := r.Cards.Answer(r.t.Context(), r.Desk, jobcard.ConsentInput{CardID: card, Lines: lines, Answer: jobcard.Declined, SaidBy: "Odette Marlowe", How: "by phone"})
	r.OK(err)
}

func (r *rig) plan(card jobcard.CardID) handover.Plan {
	r.t.Helper()
	p, err := r.hands.Plan(r.t.Context(), r.Desk, card)
	r.OK(err)
	return p
}

// input is what is said at the desk of a car with nothing special about it.
func (r *rig) input(card jobcard.CardID) handover.Input {
	r.t.Helper()
	return handover.Input{CardID: card, Seen: r.plan(card).Seen, GivenTo: "Odette Marlowe", Keys: "two keys", Anyway: "account customer, the bill goes out on Friday"}
}

// serviced is a card whose service is agreed and done.
func (r *rig) serviced() *jobcard.Sheet {
	r.t.Helper()
	c := r.Book(cardtest.Op(r.Service))
	r.Agree(c.ID)
	r.tick(c.Lines[0].ID)
	return r.Sheet(c.ID)
}

func waiting(id jobcard.LineID, why string) clocking.ReasonInput {
	return clocking.ReasonInput{LineID: id, Reason: why}
}
