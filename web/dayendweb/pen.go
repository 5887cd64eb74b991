package dayendweb

import (
	"time"

	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/variance"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// pen writes figures as the garage does: in its currency, by its clock.
type pen struct {
	cur money.Currency
	loc *time.Location
	// day is the one the page is about: times on it stand without a date. Zero
	// on a page about no day.
	day workday.Day
}

func newPen(set garage.Settings, d workday.Day) pen {
	// The settings hold no other currency than one that can be written.
	cur, _ := money.CurrencyOf(set.Currency)
	return pen{cur, set.Location(), d}
}

func (p pen) money(m money.Minor) string { return p.cur.Format(m) }

// variance writes a variance with its word and without a sign.
func (p pen) variance(v money.Minor) string {
	switch {
	case v > 0:
		return p.money(v) + " " + variance.Word(v)
	case v < 0:
		return p.money(-v) + " " + variance.Word(v)
	}
	return variance.Word(v)
}

// differs makes the figure of a variance: the amount, and its word beneath.
func (p pen) differs(v money.Minor, what string, steps []ui.Step) fig {
	f := fig{Value: p.variance(v), What: what, Steps: steps}
	if v != 0 {
		f.Value, f.Note, f.What = p.money(max(v, -v)), variance.Word(v), variance.Word(v)+", "+what
	}
	return f
}

// less writes an amount that is taken away.
func (p pen) less(m money.Minor) string {
	if m == 0 {
		return p.money(0)
	}
	return p.money(-m)
}

func (p pen) clock(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	clock := workday.FormatClock(workday.ClockOf(t, p.loc))
	if d := workday.Of(t, p.loc); d != p.day {
		return d.Short() + " " + clock
	}
	return clock
}

// span writes a stretch of time, with its day when that is not the page's.
func (p pen) span(s workday.Span) string {
	to := workday.FormatClock(workday.ClockOf(s.To, p.loc))
	if end := s.To.Add(-time.Nanosecond); workday.Of(s.To, p.loc) != workday.Of(end, p.loc) {
		to = "24:00"
	}
	return p.clock(s.From) + " to " + to
}

// fig is a figure that opens to how it came about; a plain one without steps,
// and none at all without a value.
type fig struct {
	Value string
	// Note stands beneath: the word of a variance, the fraction of a ratio.
	Note  string
	What  string
	Steps []ui.Step
}

func step(label, value string) ui.Step { return ui.Step{Label: label, Value: value} }

func sum(label, value string) ui.Step { return ui.Step{Label: label, Value: value, Sum: true} }

// added makes a figure that is the sum of its steps.
func added(value, what string, steps []ui.Step) fig {
	if len(steps) == 0 {
		return fig{Value: value, What: what}
	}
	return fig{Value: value, What: what, Steps: append(steps, sum("together", value))}
}

func cardPath(id jobcard.CardID) string { return "/cards/" + ui.Itoa(id) }

func costPath(id jobcard.CardID) string { return cardPath(id) + "/cost" }

func linePath(card jobcard.CardID, line jobcard.LineID) string {
	if line == 0 {
		return cardPath(card)
	}
	return cardPath(card) + "#line-" + ui.Itoa(line)
}

func cardWords(id jobcard.CardID) string { return "Card " + ui.Itoa(id) }

func at(d time.Duration, rate string) string { return hours.Format(d) + " at " + rate + " an hour" }

func rowClass(sum bool) string {
	if sum {
		return "sum"
	}
	return ""
}
