package storesweb

import (
	"fmt"
	"time"

	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/lateness"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// pen writes figures as the garage does: in its currency, by its clock.
type pen struct {
	set   garage.Settings
	cur   money.Currency
	loc   *time.Location
	today workday.Day
	now   time.Time
}

func newPen(set garage.Settings, now time.Time) pen {
	return pen{set, set.Money(), set.Location(), set.Today(now), now}
}

func (p pen) money(m money.Minor) string { return p.cur.Format(m) }

// when writes a moment: the time alone today, else with its day.
func (p pen) when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	clock := workday.FormatClock(workday.ClockOf(t, p.loc))
	if d := workday.Of(t, p.loc); d != p.today {
		return d.Short() + " " + clock
	}
	return clock
}

func (p pen) day(d workday.Day) string {
	switch {
	case d.IsZero():
		return ""
	case d == p.today:
		return "today"
	}
	return d.Short()
}

// wall writes a moment as a datetime-local field has it.
func (p pen) wall(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(p.loc).Format("2006-01-02T15:04")
}

// since writes how long ago a time has passed.
func (p pen) since(t time.Time) string { return hours.Format(p.now.Sub(t).Round(6 * time.Minute)) }

func qty(n int64) string { return money.FormatQuantity(n) }

// units writes a quantity in what it is counted in.
func units(n int64, unit string) string {
	if unit == "each" || unit == "" {
		return qty(n)
	}
	return qty(n) + " " + unit
}

func cardPath(id jobcard.CardID) string { return "/cards/" + ui.Itoa(id) }

func linePath(card jobcard.CardID, line jobcard.LineID) string {
	if line == 0 {
		return cardPath(card)
	}
	return cardPath(card) + "#line-" + ui.Itoa(line)
}

// lateView is a supplier's record of being late, to be opened.
type lateView struct {
	Short string
	Steps []ui.Step
	None  bool
}

func (p pen) late(name string, r lateness.Record) lateView {
	v := lateView{None: r.N == 0}
	if v.None {
		v.Short = "no deliveries on record"
		return v
	}
	for _, c := range r.Counts() {
		v.Steps = append(v.Steps, ui.Step{Label: c.Label, Value: fmt.Sprint(c.N)})
	}
	v.Steps = append(v.Steps, ui.Step{Label: "deliveries in 400 days", Value: fmt.Sprint(r.N), Sum: true})
	onTime := r.Counts()[0].N
	v.Short = fmt.Sprintf("%d of %d on time", onTime, r.N)
	if r.N < lateness.Fewest {
		v.Short += ", too few to tell"
		v.Steps = append(v.Steps, ui.Step{Label: fmt.Sprintf("fewer than %d", lateness.Fewest), Value: "too few to tell"})
		return v
	}
	for _, percent := range lateness.Usual {
		v.Steps = append(v.Steps, ui.Step{Label: inTen(percent) + " no later than", Value: p.quantile(r, percent)})
	}
	if q, ok := r.Quantile(90); ok {
		v.Short += ", 9 in 10 " + p.quantileWords(r, q)
	} else if q, ok := r.Quantile(80); ok {
		v.Short += ", 8 in 10 " + p.quantileWords(r, q)
	}
	return v
}

func inTen(percent int) string {
	if percent == 50 {
		return "half"
	}
	return fmt.Sprintf("%d in 10", percent/10)
}

// quantile writes how late a delivery is, or that it cannot be told.
func (p pen) quantile(r lateness.Record, percent int) string {
	q, ok := r.Quantile(percent)
	switch {
	case !ok:
		return "too few to tell"
	case q.Never:
		return "never came"
	case q.Late < time.Minute:
		return "on time"
	}
	return span(q.Late, r.Day) + " late"
}

func (p pen) quantileWords(r lateness.Record, q lateness.Quantile) string {
	switch {
	case q.Never:
		return "is more than ever came"
	case q.Late < time.Minute:
		return "on time"
	}
	return "no more than " + span(q.Late, r.Day) + " late"
}

// span writes open hours, as days where they are more than one.
func span(d, day time.Duration) string {
	if day <= 0 || d < day {
		return hours.Format(max(d, 6*time.Minute).Round(6 * time.Minute))
	}
	return fmt.Sprintf("%.1f open days", float64(d)/float64(day))
}

// lateRule says how the record is reckoned.
const lateRule = "Counted in the garage's open hours, from what the supplier said first to when it was booked in. Quantiles by definition 6 of Hyndman and Fan, " +
	"Sample Quantiles in Statistical Packages, The American Statistician 50 (1996): by it the next delivery is as likely as said to be no later. " +
	"Fewer than 5 deliveries tell nothing, and 9 in 10 needs 9. What was cancelled counts for nothing; what is still to come is not in it."

// supplierOptions are the suppliers in use, and the one chosen though it is not.
func supplierOptions(all []garage.Supplier, chosen garage.SupplierID) []ui.Option {
	out := []ui.Option{{Value: "", Label: "choose"}}
	for _, s := range all {
		if s.Active || s.ID == chosen {
			out = append(out, ui.Option{Value: ui.Itoa(s.ID), Label: s.Name})
		}
	}
	return out
}

func idOr(id garage.SupplierID) string {
	if id == 0 {
		return ""
	}
	return ui.Itoa(id)
}

// labels gives the rows of a page's forms numbers that no two share. A form
// that came back keeps those it was sent with, so that what was typed stands
// where it was typed.
type labels struct {
	posted map[string]int
	next   int
}

// newLabels reads which rows of a list a form was sent with: by what, with the
// number behind it.
func newLabels(f *ui.Form, list string, by ...string) *labels {
	l := &labels{posted: map[string]int{}}
	if f == nil {
		return l
	}
	for name := range f.Values {
		var n int
		var rest string
		if c, err := fmt.Sscanf(name, list+".%d.%s", &n, &rest); err != nil || c != 2 || n < 0 || n > 100_000 {
			continue
		}
		l.next = max(l.next, n+1)
		for _, b := range by {
			if rest == b {
				l.posted[b+f.Get(name)] = n
			}
		}
	}
	return l
}

func (l *labels) of(by, id string) int {
	if n, ok := l.posted[by+id]; ok {
		return n
	}
	l.next++
	return l.next - 1
}

// plain writes an amount for a field; nothing for none.
func plain(m money.Minor) string {
	if m == 0 {
		return ""
	}
	return money.FormatPlain(m)
}
