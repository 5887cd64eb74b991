package demo

import (
	"context"

	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/internal/workday"
)

// writtenDays is how many days back cards have a quote in writing and a
// handover: enough to look at, and the past is made sooner without.
const writtenDays = 10

func (m *maker) written(day workday.Day) bool { return day.DaysUntil(m.today) <= writtenDays }

// papers sets when the work of some operations is due again.
func (m *maker) papers(ctx context.Context) error {
	for _, in := range []handover.IntervalInput{
		{OperationID: m.ops["Service, small"], Months: 12, Distance: 9000},
		{OperationID: m.ops["Service, full"], Months: 24, Distance: 18_000},
		{OperationID: m.ops["Brake fluid change"], Months: 24},
	} {
		if _, err := m.hands.SetInterval(ctx, m.wren, in); err != nil {
			return err
		}
	}
	return nil
}

// quoted issues a card's quote and hands it over on paper.
func (m *maker) quoted(ctx context.Context, card jobcard.CardID, kind quote.Kind, way quote.Way, to, note string) (quote.VersionID, error) {
	v, err := m.quotes.Make(ctx, m.ida, quote.MakeInput{CardID: card, Kind: kind, Note: note})
	if err != nil {
		return 0, err
	}
	_, err = m.quotes.Send(ctx, m.ida, quote.SendInput{VersionID: v.VersionID, Way: way, ToName: to})
	return v.VersionID, err
}

// answered is a quote on paper that the customer answered at the desk: yes to
// all but the line that was declined.
func (m *maker) answered(ctx context.Context, s *jobcard.Sheet, c *car, declined jobcard.LineID) error {
	v, err := m.quoted(ctx, s.ID, quote.Fixed, quote.OnPaper, c.keeper.Name, "")
	if err != nil {
		return err
	}
	in := quote.AnswerInput{VersionID: v, SaidBy: c.keeper.Name, How: "in person"}
	for _, l := range s.Lines {
		answer := jobcard.Agreed
		if l.ID == declined {
			answer = jobcard.Declined
		}
		in.Jobs = append(in.Jobs, quote.JobAnswer{LineID: l.ID, Answer: answer})
	}
	_, err = m.quotes.Answer(ctx, m.ida, in)
	return err
}

// handOver gives a finished car back.
func (m *maker) handOver(ctx context.Context, card jobcard.CardID, c *car) error {
	p, err := m.hands.Plan(ctx, m.ida, card)
	if err != nil {
		return err
	}
	miles := *p.Sheet.Mileage + 3 // the test drive
	in := handover.Input{CardID: card, Seen: p.Seen, GivenTo: c.keeper.Name, Keys: "one key", MileageOut: &miles, Returned: p.OldParts[:min(len(p.OldParts), 2)]}
	if len(p.Soft()) > 0 {
		in.Anyway = "known at the desk for years: pays when the bill comes by post"
	}
	for _, d := range p.Due {
		in.Due = append(in.Due, handover.DueInput{What: d.What, On: d.DueOn, At: d.DueAt})
	}
	_, err = m.hands.Make(ctx, m.ida, in)
	return err
}
