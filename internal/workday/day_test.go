package workday

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestDatesAreReadAsPeopleTypeThem(t *testing.T) {
	want := Must(2026, time.November, 25)
	for _, s := range []string{"2026-11-25", "25/11/2026", "25.11.2026", "25-11-2026", " 2026-11-25 "} {
		if got, err := Parse(s); err != nil || got != want {
			t.Errorf("Parse(%q) = %v, %v", s, got, err)
		}
	}
	if got, err := Parse("1/2/2026"); err != nil || got != Must(2026, time.February, 1) {
		t.Errorf("the first of February read as %v, %v", got, err)
	}
}

func TestDatesThatDoNotExistAreRefused(t *testing.T) {
	for in, want := range map[string]error{
		"": ErrNoDay, "  ": ErrNoDay,
		"2026-02-29": ErrDate, "2026-13-01": ErrDate, "2026-00-10": ErrDate, "31/4/2026": ErrDate, "0/1/2026": ErrDate,
		"2100-02-29": ErrDate, // no leap year
		"1899-12-31": ErrYear, "2201-01-01": ErrYear, "0000-01-01": ErrYear, "9999-12-31": ErrYear,
		"tomorrow": ErrNotDay, "2026": ErrNotDay, "2026-11": ErrNotDay, "25/11/26": ErrNotDay, "11-25": ErrNotDay,
		"2026/11/25": ErrNotDay, "2026--11-5": ErrNotDay, "-2026-11-5": ErrNotDay, "2026-1-5": ErrNotDay,
		"2026-11-25T00": ErrNotDay, "٢٥/١١/٢٠٢٦": ErrNotDay, "25/11/2026\x00": ErrNotDay, "\xff": ErrNotDay,
		"'; drop --": ErrNotDay, "1a/1/2026": ErrNotDay,
		strings.Repeat("1", 100_000): ErrNotDay,
	} {
		if got, err := Parse(in); !errors.Is(err, want) || !got.IsZero() {
			t.Errorf("Parse(%.30q) = %v, %v, want %v", in, got, err, want)
		}
	}
	if _, err := Parse("29/2/2000"); err != nil { // divisible by 400
		t.Error(err)
	}
}

func TestDaysCountAndCompare(t *testing.T) {
	d := Must(2026, time.November, 25)
	if d.Weekday() != time.Wednesday || d.String() != "2026-11-25" ||
		d.Short() != "Wed 25 Nov" || d.Long() != "Wednesday 25 November 2026" {
		t.Errorf("%v %v %v %v", d.Weekday(), d, d.Short(), d.Long())
	}
	if e := d.AddDays(40); e != Must(2027, time.January, 4) || d.DaysUntil(e) != 40 || e.DaysUntil(d) != -40 {
		t.Errorf("forty days on is %v", e)
	}
	if !d.Before(d.AddDays(1)) || !d.After(d.AddDays(-31)) || d.Compare(d) != 0 || d.Before(d) {
		t.Error("days are out of order")
	}
	if (Day{}).String() != "" || (Day{}).Long() != "" || !(Day{}).IsZero() || d.IsZero() {
		t.Error("no day is taken for a day")
	}
	// ISO 8601: the week of 1 January 2027, a Friday, began on 28 December.
	if w := Must(2027, time.January, 1).WeekStart(); w != Must(2026, time.December, 28) {
		t.Errorf("the week starts on %v", w)
	}
	for i := range 7 {
		monday := Must(2026, time.November, 23)
		if w := monday.AddDays(i).WeekStart(); w != monday {
			t.Errorf("the week of %v starts on %v", monday.AddDays(i), w)
		}
	}
}

func TestADayDependsOnTheZone(t *testing.T) {
	london, tokyo := zone(t, "Europe/London"), zone(t, "Asia/Tokyo")
	at := time.Date(2026, time.July, 1, 23, 30, 0, 0, time.UTC)
	if d := Of(at, london); d != Must(2026, time.July, 2) {
		t.Errorf("half past midnight of summer time is on %v", d)
	}
	if d := Of(at, time.UTC); d != Must(2026, time.July, 1) {
		t.Errorf("in UTC it is %v", d)
	}
	if d := Of(at, tokyo); d != Must(2026, time.July, 2) {
		t.Errorf("in Tokyo it is %v", d)
	}
	if d := FromDate(at); d != Must(2026, time.July, 1) || d.UTC() != at.Truncate(24*time.Hour) {
		t.Errorf("the date as it stands is %v", d)
	}
}

func TestDaysAndTimesTravelAsText(t *testing.T) {
	type form struct {
		Day   Day   `json:"day"`
		Clock Clock `json:"clock"`
	}
	var f form
	if err := json.Unmarshal([]byte(`{"day":"2026-11-25","clock":"16:40"}`), &f); err != nil {
		t.Fatal(err)
	}
	if out, _ := json.Marshal(f); string(out) != `{"day":"2026-11-25","clock":"16:40"}` {
		t.Errorf("became %s", out)
	}
	if err := json.Unmarshal([]byte(`{"day":""}`), &f); err != nil || !f.Day.IsZero() {
		t.Errorf("an empty day is %v, %v", f.Day, err)
	}
	if err := json.Unmarshal([]byte(`{"day":"soon"}`), &f); !errors.Is(err, ErrNotDay) {
		t.Errorf("%v", err)
	}
	if err := json.Unmarshal([]byte(`{"clock":"late"}`), &f); !errors.Is(err, ErrNotClock) {
		t.Errorf("%v", err)
	}
}

func TestNoSuchDayCannotBeWrittenInCode(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("30 February was taken")
		}
	}()
	Must(2026, time.February, 30)
}

func TestADayReadsBackAsItIsWritten(t *testing.T) {
	first := Must(FirstYear, time.January, 1)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, first.DaysUntil(Must(LastYear, time.December, 31))).Draw(t, "n")
		d := first.AddDays(n)
		if got, err := Parse(d.String()); err != nil || got != d {
			t.Fatalf("%v read back as %v, %v", d, got, err)
		}
		if got, err := Parse(d.UTC().Format("2/1/2006")); err != nil || got != d {
			t.Fatalf("%v read back as %v, %v", d, got, err)
		}
		if first.DaysUntil(d) != n {
			t.Fatalf("%v is %d days on, not %d", d, first.DaysUntil(d), n)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"2026-11-25", "25/11/2026", "29.2.2024", "31/4/2026", "--", "\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Parse(s)
		if err != nil {
			if !d.IsZero() {
				t.Fatalf("%q is refused but gives %v", s, d)
			}
			return
		}
		if back, err := Parse(d.String()); err != nil || back != d {
			t.Fatalf("%q: %v reads back as %v, %v", s, d, back, err)
		}
	})
}

func zone(t interface {
	Helper()
	Fatal(...any)
}, name string) *time.Location {
	t.Helper()
	loc, err := Zone(name)
	if err != nil {
		t.Fatal(name, err)
	}
	return loc
}
