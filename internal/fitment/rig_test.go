package fitment_test

import (
	"testing"

	"rampside/internal/actor"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/vehicle"
)

// bench is the garage with a card of one line, and its parts.
type bench struct {
	*cardtest.Garage
	fit  *fitment.Service
	card jobcard.CardID
	line jobcard.LineID
	t    testing.TB
}

func newBench(t testing.TB) *bench {
	t.Helper()
	g := cardtest.Open(t)
	b := &bench{Garage: g, fit: fitment.New(g.DB), t: t}
	b.visit()
	return b
}

// visit books the car in anew; parts go on that card from here on.
func (b *bench) visit() {
	b.t.Helper()
	s := b.Book(cardtest.Op(b.Service))
	b.Agree(s.ID)
	b.card, b.line = s.ID, s.Lines[0].ID
}

func (b *bench) part(name, number string) jobcard.PartID {
	b.t.Helper()
	done, err := b.Cards.AddPart(b.t.Context(), b.Desk, jobcard.AddPartInput{CardID: b.card, PartTerms: jobcard.PartTerms{
		LineID: b.line, Name: name, Number: number, Qty: 1000, Supply: jobcard.Arrived,
	}})
	b.OK(err)
	return done.PartID
}

func (b *bench) put(id jobcard.PartID, rule string) {
	b.t.Helper()
	p := b.look(id)
	_, err := b.fit.Put(b.t.Context(), b.Posy, fitment.PutInput{PartID: id, Version: p.PutVersion(), Rule: rule})
	b.OK(err)
}

func (b *bench) look(id jobcard.PartID) fitment.PartFit {
	b.t.Helper()
	c, err := b.fit.Card(b.t.Context(), b.Desk, b.cardOf(id))
	b.OK(err)
	p, ok := c.Part(id)
	if !ok {
		b.t.Fatalf("part %d is not among the card's", id)
	}
	return p
}

func (b *bench) cardOf(id jobcard.PartID) jobcard.CardID {
	b.t.Helper()
	var card jobcard.CardID
	b.OK(b.DB.Pool.QueryRow(b.t.Context(), `select card_id from part where id = $1`, id).Scan(&card))
	return card
}

// know notes a fact of the car, over what the source said before.
func (b *bench) know(key, value string, source vehicle.Source) {
	b.t.Helper()
	b.OK(b.try(b.Desk, key, value, source))
}

func (b *bench) try(who actor.Actor, key, value string, source vehicle.Source) error {
	var was string
	err := b.DB.Pool.QueryRow(b.t.Context(), `select coalesce((select value from vehicle_fact
		where vehicle_id = $1 and key = $2 and source = $3), '')`, b.Car, key, source).Scan(&was)
	if err != nil {
		return err
	}
	_, err = b.Vehicles.SetFact(b.t.Context(), who, vehicle.FactEdit{
		VehicleID: b.Car, FactInput: vehicle.FactInput{Key: key, Value: value, Source: source}, Was: was,
	})
	return err
}

// is wants a part to have a verdict.
func (b *bench) is(id jobcard.PartID, want jobcard.Verdict, how jobcard.How) fitment.PartFit {
	b.t.Helper()
	p := b.look(id)
	if p.Verdict != want || p.VerdictHow != how {
		b.t.Fatalf("%s is %s (%s), not %s (%s); %s", p.Name, p.Verdict, p.VerdictHow, want, how, p.VerdictNote)
	}
	return p
}

func (b *bench) checks(id jobcard.PartID) int {
	b.t.Helper()
	var n int
	b.OK(b.DB.Pool.QueryRow(b.t.Context(), `select count(*) from fit_check where part_id = $1`, id).Scan(&n))
	return n
}
