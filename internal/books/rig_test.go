package books_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/books"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// rig is a garage that bills, registered for VAT.
type rig struct {
	*cardtest.Garage
	bills  *bill.Service
	books  *books.Service
	clocks *clocking.Service
	loc    *time.Location
	rand   *rand.Rand
	t      *testing.T
	cars   []vehicle.ID
	// later is what happens after a card is billed, by when.
	later []event
}

type event struct {
	at time.Time
	do func()
}

func newRig(t *testing.T, seed uint64) *rig {
	t.Helper()
	g := cardtest.Open(t)
	r := &rig{Garage: g, bills: bill.New(g.DB), books: books.New(g.DB), clocks: clocking.New(g.DB), t: t, rand: rand.New(rand.NewPCG(seed, 1))}
	var err error
	r.loc, err = workday.Zone("Europe/London")
	g.OK(err)
	set, err := garage.Load(t.Context(), g.DB.Pool)
	g.OK(err)
	// GB 100 0001 32 is a number that the check digits allow and nobody has.
	set.Address, set.Email, set.Phone, set.VATNumber = "3 Saltmarsh Lane\nSedgeholm\nSG1 1AA", "desk@saltmarsh.example", "01632 960400", "100000132"
	_, err = g.Settings.SaveSettings(t.Context(), g.Owner, set)
	g.OK(err)
	terms, err := r.bills.Terms(t.Context(), g.Owner)
	g.OK(err)
	terms.PayDays, terms.AccountName, terms.IBAN = 14, "Saltmarsh Lane Garage", "GB33BUKB20201555555555"
	_, err = r.bills.SaveTerms(t.Context(), g.Owner, terms)
	g.OK(err)
	return r
}

// car books a new car of a new customer in, today and here, with lines.
func (r *rig) car(i int, lines ...jobcard.NewLine) jobcard.CardID {
	r.t.Helper()
	done, err := r.Cards.Book(r.t.Context(), r.Desk, jobcard.Booking{
		NewVehicle: &vehicle.Input{Mark: fmt.Sprintf("BD%02d SMR", 10+i), Make: "Brisling", Model: "Tern"}, Here: true, Lines: lines, Visit: r.visit(),
		NewCustomer: &customer.Input{
			Name: fmt.Sprintf("Customer %02d", i), Phone: "01632 960123", Email: fmt.Sprintf("c%d@example.org", i), Address: fmt.Sprintf("%d Quay Street\nNorthhaven\nNH2 2BB", i+1),
		},
	})
	r.OK(err)
	s := r.Sheet(done.CardID)
	r.cars = append(r.cars, s.VehicleID)
	return done.CardID
}

func (r *rig) visit() jobcard.Visit {
	return jobcard.Visit{BookedFor: workday.Of(r.Clock, r.loc), ArrivesAt: r.Clock, PromisedAt: r.Clock.Add(8 * time.Hour)}
}

// pence is an amount between two.
func (r *rig) pence(low, high int64) money.Minor { return money.Minor(low + r.rand.Int64N(high-low+1)) }

func (r *rig) chance(percent int) bool { return r.rand.IntN(100) < percent }

// line is a line of any sort.
func (r *rig) line(n int) jobcard.NewLine {
	rate := r.pence(30_00, 120_00)
	l := jobcard.NewLine{LineTerms: jobcard.LineTerms{
		Title: fmt.Sprintf("Job %d", n), MustDo: true, Rate: &rate, Estimate: hours.One(time.Duration(1+r.rand.IntN(50)) * 6 * time.Minute), VATCode: money.Standard,
	}}
	switch r.rand.IntN(10) {
	case 0:
		l.VATCode = money.Zero
	case 1:
		l.VATCode = money.Reduced
	}
	if r.chance(30) {
		fixed := r.pence(1, 600_00)
		l.FixedPrice = &fixed
	}
	return l
}

// card is a card with anything on it that has a price, done and agreed.
func (r *rig) card(i int) jobcard.CardID {
	r.t.Helper()
	ctx := r.t.Context()
	var lines []jobcard.NewLine
	for n := range 1 + r.rand.IntN(3) {
		lines = append(lines, r.line(n+1))
	}
	var id jobcard.CardID
	if i < 12 {
		id = r.car(i, lines...)
	} else {
		done, err := r.Cards.Book(ctx, r.Desk, jobcard.Booking{VehicleID: r.cars[r.rand.IntN(len(r.cars))], Here: true, Lines: lines, Visit: r.visit()})
		r.OK(err)
		id = done.CardID
	}
	s := r.Sheet(id)
	for range r.rand.IntN(3) {
		r.part(s)
	}
	if r.chance(40) {
		r.adjust(s, 0)
	}
	if r.chance(25) {
		r.adjust(s, s.Lines[0].ID)
	}
	if r.chance(20) {
		fee := jobcard.FeeTerms{What: "Test of the year", Charged: 54_85, Own: r.chance(50)}
		if !fee.Own {
			fee.Charged, fee.Paid = 45_00, 45_00
		}
		_, err := r.Cards.AddFee(ctx, r.Desk, jobcard.FeeInput{CardID: id, LineID: s.Lines[len(s.Lines)-1].ID, FeeTerms: fee})
		r.OK(err)
	}
	if r.chance(30) {
		_, err := r.Cards.SetSundries(ctx, r.Desk, jobcard.SundriesInput{CardID: id, Version: r.Sheet(id).Version, Sundries: &jobcard.OwnSundries{Percent: money.Rate(50 + r.rand.IntN(400))}})
		r.OK(err)
	}
	if r.chance(25) {
		r.take(bill.TakeInput{CardID: id, Amount: r.pence(5_00, 150_00)})
	}
	r.Agree(id)
	for _, l := range s.Lines {
		_, err := r.clocks.Tick(ctx, r.Posy, clocking.LineInput{LineID: l.ID})
		r.OK(err)
	}
	return id
}

// part puts a part that is here and fits on the first line.
func (r *rig) part(s *jobcard.Sheet) {
	r.t.Helper()
	price := r.pence(10, 250_00)
	terms := jobcard.PartTerms{
		LineID: s.Lines[0].ID, Name: "Part", Qty: 1000 * (1 + r.rand.Int64N(4)), Cost: price / 2, Price: &price, VATCode: money.Standard, SupplierID: r.Supplier, Supply: jobcard.Arrived,
	}
	if r.chance(30) {
		terms.Qty = 1 + r.rand.Int64N(9_999) // 4.237 litres
	}
	done, err := r.Cards.AddPart(r.t.Context(), r.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: terms})
	r.OK(err)
	_, err = r.Cards.SetVerdict(r.t.Context(), r.Posy, jobcard.VerdictInput{PartID: done.PartID, Version: done.Version, Verdict: jobcard.Fits, Note: "beside the old one"})
	r.OK(err)
}

func (r *rig) adjust(s *jobcard.Sheet, line jobcard.LineID) {
	r.t.Helper()
	in := jobcard.AdjustInput{CardID: s.ID, LineID: line, AdjustTerms: jobcard.AdjustTerms{What: "Regular customer", Up: r.chance(30)}}
	if r.chance(60) {
		p := money.Rate(100 + r.rand.IntN(2_000))
		in.Percent = &p
	} else {
		m := r.pence(1, 4_00)
		in.Amount = &m
	}
	_, err := r.Cards.Adjust(r.t.Context(), r.Desk, in)
	// A discount may not come to more than what it is on.
	if err != nil && !apperr.Is(err, apperr.Invalid) {
		r.t.Fatal(err)
	}
}

func (r *rig) take(in bill.TakeInput) bill.Taken {
	r.t.Helper()
	in.Method = []string{"card", "cash", "bank transfer", "cheque"}[r.rand.IntN(4)]
	got, err := r.bills.Take(r.t.Context(), r.Desk, in)
	r.OK(err)
	return got
}

// bill issues the bill of a card.
func (r *rig) bill(id jobcard.CardID) bill.Issued {
	r.t.Helper()
	got, err := r.bills.Issue(r.t.Context(), r.Desk, bill.IssueInput{CardID: id})
	r.OK(err)
	return got
}

// at has something happen some days on, at an hour at which the garage's day
// and that of UTC may differ.
func (r *rig) at(days int, do func()) {
	at := r.Clock.AddDate(0, 0, days)
	r.later = append(r.later, event{at, do})
}

// until lets everything happen down to a moment, in its order.
func (r *rig) until(at time.Time) {
	for {
		slices.SortStableFunc(r.later, func(a, b event) int { return a.at.Compare(b.at) })
		if len(r.later) == 0 || r.later[0].at.After(at) {
			break
		}
		next := r.later[0]
		r.later = r.later[1:]
		if next.at.After(r.Clock) {
			r.Clock = next.at
		}
		next.do()
	}
	if at.After(r.Clock) {
		r.Clock = at
	}
}
