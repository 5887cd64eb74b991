package demo

import (
	"context"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/internal/workday"
)

// ahead books cars for the days to come.
func (m *maker) ahead(ctx context.Context) error {
	m.say("booking the days ahead")
	m.at = m.now.Add(-26 * time.Hour)
	day := m.today
	for range 4 {
		for day = day.AddDays(1); day.Weekday() == time.Saturday || day.Weekday() == time.Sunday; {
			day = day.AddDays(1)
		}
		for i := range 1 + m.rand.IntN(3) {
			// Not the cars that are here today.
			c := &m.fleet[dart+1+m.rand.IntN(len(m.fleet)-dart-1)]
			if !c.lastSeen.Before(m.today) {
				continue
			}
			c.lastSeen = day
			in := jobcard.Booking{VehicleID: c.id, Visit: jobcard.Visit{
				BookedFor: day, ArrivesAt: workday.At(day, 8*60+30+workday.Clock(i)*15, m.loc), PromisedAt: workday.At(day, 16*60+30, m.loc),
				ContactName: c.keeper.Name, ContactPhone: c.keeper.Phone,
			}}
			for _, n := range m.pickLines() {
				in.Lines = append(in.Lines, jobcard.NewLine{OperationID: m.ops[n], LineTerms: jobcard.LineTerms{MustDo: true}})
			}
			done, err := m.cards.Book(ctx, m.ida, in)
			if err != nil {
				return err
			}
			if err := m.aheadParts(ctx, done.CardID, day, i); err != nil {
				return err
			}
			if i == 1 { // asked, and not answered yet
				if _, err := m.quoted(ctx, done.CardID, quote.Estimate, quote.ByLink, c.keeper.Name, ""); err != nil {
					return err
				}
			}
			if i == 0 {
				if _, err := m.cards.Answer(ctx, m.ida, jobcard.ConsentInput{
					CardID: done.CardID, Answer: jobcard.Agreed, SaidBy: c.keeper.Name, How: "by phone",
				}); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// aheadParts puts on a card of the days to come what its lines take, still to
// be ordered; and on the first, a part that the customer brings.
func (m *maker) aheadParts(ctx context.Context, card jobcard.CardID, day workday.Day, n int) error {
	s, err := m.cards.Sheet(ctx, m.ida, card)
	if err != nil {
		return err
	}
	for i, l := range s.Lines {
		for _, p := range stock[l.Title] {
			_, err := m.cards.AddPart(ctx, m.ida, jobcard.AddPartInput{CardID: card, PartTerms: jobcard.PartTerms{
				LineID: l.ID, Name: p.name, Number: partNumber(p.name, p.cost), SupplierID: m.supplier((i + n) % 2), Qty: p.qty, Cost: p.cost,
			}})
			if err != nil {
				return err
			}
		}
	}
	if n > 0 || day != m.workingDayAfter(m.today) {
		return nil
	}
	_, err = m.cards.AddPart(ctx, m.ida, jobcard.AddPartInput{CardID: card, PartTerms: jobcard.PartTerms{
		LineID: s.Lines[0].ID, Name: "Roof aerial", Qty: 1000, Source: jobcard.FromCustomer,
	}})
	return err
}
