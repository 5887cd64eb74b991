package books

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/workday"
)

func on(y int, m time.Month, d int) workday.Day { return workday.Must(y, m, d) }

func TestMonthsAndQuartersAreThoseOfTheCalendar(t *testing.T) {
	for _, c := range []struct {
		got      Period
		from, to workday.Day
	}{
		{Month(on(2024, 2, 10)), on(2024, 2, 1), on(2024, 2, 29)}, // a leap year
		{Month(on(2100, 2, 28)), on(2100, 2, 1), on(2100, 2, 28)}, // none
		{Month(on(2026, 12, 31)), on(2026, 12, 1), on(2026, 12, 31)},
		{Quarter(on(2026, 11, 28)), on(2026, 10, 1), on(2026, 12, 31)},
		{Quarter(on(2026, 1, 1)), on(2026, 1, 1), on(2026, 3, 31)},
		{Quarter(on(2026, 6, 30)), on(2026, 4, 1), on(2026, 6, 30)},
		{Month(on(2026, 1, 9)).Before(Month), on(2025, 12, 1), on(2025, 12, 31)},
		{Quarter(on(2026, 2, 9)).Before(Quarter), on(2025, 10, 1), on(2025, 12, 31)},
		{Year(on(2025, 4, 1)), on(2025, 4, 1), on(2026, 3, 31)},
	} {
		if c.got.From != c.from || c.got.To != c.to {
			t.Errorf("%v to %v, want %v to %v", c.got.From, c.got.To, c.from, c.to)
		}
	}
}

// IANA, Rule EU: the last Sundays of March and October at 01:00 UTC.
func TestAPeriodIsAsLongAsTheClocksMakeIt(t *testing.T) {
	london, err := workday.Zone("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	for d, hours := range map[workday.Day]float64{on(2026, 3, 29): 23, on(2026, 10, 25): 25, on(2026, 11, 28): 24} {
		from, before := Period{d, d}.Bounds(london)
		if got := before.Sub(from).Hours(); got != hours {
			t.Errorf("%v has %v hours", d, got)
		}
	}
	from, before := Month(on(2026, 3, 1)).Bounds(london)
	if got := before.Sub(from).Hours(); got != 31*24-1 {
		t.Errorf("March has %v hours", got)
	}
}

func TestAPeriodThatIsNoneIsRefusedAtItsField(t *testing.T) {
	for field, p := range map[string]Period{
		"from": {To: on(2026, 1, 1)}, "to": {From: on(2026, 1, 2), To: on(2026, 1, 1)},
	} {
		err := p.Check()
		e, ok := err.(*apperr.Error)
		if !ok || e.Fields[field] == "" || len(e.Fields) != 1 {
			t.Errorf("%v: %v", p, err)
		}
	}
	if err := (Period{on(2026, 1, 1), on(2027, 3, 1)}).Check(); err == nil {
		t.Error("a period of more than a year is taken")
	}
	if err := Year(on(2026, 1, 1)).Check(); err != nil {
		t.Error(err)
	}
}
