package quote_test

import (
	"context"
	"strconv"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/quote"
)

// rig is a garage with quotes.
type rig struct {
	*cardtest.Garage
	quotes *quote.Service
	mail   outbox
	t      *testing.T
}

// outbox is a server that sends letters, or none.
type outbox struct{ off bool }

func (m *outbox) Sends() bool { return !m.off }

func (m *outbox) WhyNot() string { return "This server sends no mail." }

func public(path string) string { return "https://jobs.garage.test" + path }

func open(t *testing.T) *rig {
	t.Helper()
	r := &rig{Garage: cardtest.Open(t), t: t}
	r.quotes = quote.New(r.DB, public, &r.mail)
	return r
}

func (r *rig) ctx() context.Context { return r.t.Context() }

// card is a card with brakes and pads, a service, and a customer's own part.
func (r *rig) card() *jobcard.Sheet {
	r.t.Helper()
	c := r.Book(cardtest.Op(r.Brakes), cardtest.Op(r.Service))
	r.part(c, 0, jobcard.PartTerms{Name: "Pad set", Number: "EM 12-34", SupplierID: r.Supplier, Cost: 26_50})
	r.part(c, 1, jobcard.PartTerms{Name: "Wiper blades", Source: jobcard.FromCustomer})
	return r.Sheet(c.ID)
}

func (r *rig) part(c *jobcard.Sheet, line int, terms jobcard.PartTerms) jobcard.PartID {
	r.t.Helper()
	if line >= 0 {
		terms.LineID = c.Lines[line].ID
	}
	if terms.Qty == 0 {
		terms.Qty = 1000
	}
	done, err := r.Cards.AddPart(r.ctx(), r.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: terms})
	r.OK(err)
	return done.PartID
}

func (r *rig) make(card jobcard.CardID) *quote.Version {
	r.t.Helper()
	m, err := r.quotes.Make(r.ctx(), r.Desk, quote.MakeInput{CardID: card, Kind: quote.Estimate})
	r.OK(err)
	return r.read(m.VersionID)
}

func (r *rig) read(id quote.VersionID) *quote.Version {
	r.t.Helper()
	v, err := r.quotes.Read(r.ctx(), r.Desk, id)
	r.OK(err)
	return v
}

func yes(v *quote.Version, lines ...int) []quote.JobAnswer { return say(v, jobcard.Agreed, lines) }

func no(v *quote.Version, lines ...int) []quote.JobAnswer { return say(v, jobcard.Declined, lines) }

func say(v *quote.Version, a jobcard.Consent, lines []int) []quote.JobAnswer {
	var out []quote.JobAnswer
	for _, i := range lines {
		out = append(out, quote.JobAnswer{LineID: v.Jobs[i].LineID, Answer: a})
	}
	return out
}

// answer records an answer in person.
func (r *rig) answer(v *quote.Version, jobs []quote.JobAnswer) (quote.Done, error) {
	return r.quotes.Answer(r.ctx(), r.Desk, quote.AnswerInput{VersionID: v.ID, Jobs: jobs, SaidBy: "Odette Marlowe", How: "in person"})
}

func (r *rig) kind(err error, want apperr.Kind) {
	r.t.Helper()
	if !apperr.Is(err, want) {
		r.t.Fatalf("%v is not of kind %d", err, want)
	}
}

func (r *rig) field(err error, name string) {
	r.t.Helper()
	f := apperr.Fields{}
	if !f.Merge("", err) || f[name] == "" {
		r.t.Fatalf("no message at %s: %v", name, err)
	}
}

func (r *rig) exec(sql string, args ...any) error {
	_, err := r.DB.Pool.Exec(r.ctx(), sql, args...)
	return err
}

func amount(m money.Minor) *money.Minor { return &m }

// customer is whoever holds the link that was made for a version.
func customer(v *quote.Version) actor.Actor {
	who := actor.CustomerOf("Odette Marlowe", "link")
	who.Opens = actor.Opened{Purpose: "quote", Target: int64(v.ID), Card: int64(v.CardID)}
	return who
}

const day = 24 * time.Hour

func itoa(n int64) string { return strconv.FormatInt(n, 10) }
