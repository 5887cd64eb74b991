package dayendweb

import (
	"strings"

	"rampside/internal/dayend"
	"rampside/internal/hours"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// cardView is the whole of a card's life against its quote.
type cardView struct {
	Title, Printed  string
	Path            string
	Plate, Car, Who string
	Stage, Words    string
	Rows            []costRow
	// Going says what was put into lines that have not ended.
	Going string
}

func newCardView(c dayend.Whole) *cardView {
	p := newPen(c.Garage, workday.Day{})
	v := &cardView{
		Title: strings.TrimSpace(cardWords(c.ID)+" "+c.Mark) + ": cost against quote", Path: cardPath(c.ID),
		Plate: c.Mark, Car: c.Car, Who: c.Customer, Stage: string(c.Stage),
		Printed: workday.Of(c.Now, p.loc).Long() + ", " + workday.FormatClock(workday.ClockOf(c.Now, p.loc)),
	}
	var ended []costRow
	for _, a := range c.Accounts {
		row := p.account(a)
		v.Rows = append(v.Rows, row)
		if a.In {
			ended = append(ended, row)
		}
	}
	if len(ended) > 0 {
		v.Rows = append(v.Rows, p.total("What has ended", c.Totals, ended, " of card "+ui.Itoa(c.ID)))
	}
	if c.Totals.Going.Time > 0 {
		v.Going = hours.Format(c.Totals.Going.Time) + " and " + p.money(c.Totals.Going.Cost) +
			" of labour have gone into lines that are still going on; they are compared when they end."
	}
	return v
}
