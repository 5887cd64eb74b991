package roster

import (
	"testing"
	"time"

	"rampside/internal/workday"
)

func TestAShiftIsReadHoweverItIsWritten(t *testing.T) {
	want := workday.Shift{Start: 8*60 + 30, End: 17*60 + 30, Break: time.Hour}
	for _, s := range []string{"08:30-17:30, 60", "8:30 – 17:30,60", "0830 to 1730, 60 min", "8.30am—5.30pm , 60m", " 08:30 - 17:30 , 60 minutes "} {
		if got, err := ParseShift(s); err != nil || got == nil || *got != want {
			t.Errorf("%q: %v, %v", s, got, err)
		}
	}
	for _, s := range []string{"", "  ", "off", "OFF", "-", "–"} {
		if got, err := ParseShift(s); err != nil || got != nil {
			t.Errorf("%q: %v, %v", s, got, err)
		}
	}
	if got, err := ParseShift("7-15"); err != nil || got.Break != 0 || got.Start != 420 || got.End != 900 {
		t.Errorf("%v, %v", got, err)
	}
}

func TestWhatIsNoShiftIsRefused(t *testing.T) {
	for _, s := range []string{"08:30", "08:30-", "-17:30", "17:30-08:30", "08:30-08:30", "08:30-17:30,", "08:30-17:30, -5", "08:30-17:30, 600",
		"08:30-17:30, 1h", "08:30-17:30-18:00", "25:00-26:00", "\x00", "08:30-09:30, 60", "<b>"} {
		if got, err := ParseShift(s); err == nil {
			t.Errorf("%q was taken as %v", s, got)
		}
	}
}

func FuzzParseShift(f *testing.F) {
	for _, s := range []string{"08:30-17:30, 60", "7 to 15", "off", "\xff-\xfe", ",,,", "--"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseShift(s)
		if err != nil {
			return
		}
		again, err := ParseShift(FormatShift(got))
		if err != nil || (got == nil) != (again == nil) || got != nil && *got != *again {
			t.Errorf("%q: %v, then %v, %v", s, got, again, err)
		}
	})
}
