package workday

import (
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The IANA time zone database, file europe: Rule EU, from 1996 on, summer time
// from the last Sunday of March 01:00 UTC to the last Sunday of October 01:00
// UTC; northamerica: Rule US, from 2007 on, second Sunday of March and first
// Sunday of November, 02:00; australasia: Rule LH, half an hour, first Sundays
// of October and April; africa: Rule Egypt, from 2023 on, last Friday of April
// at 00:00; australasia: Pacific/Apia had no 30 December 2011.
func TestADayLastsAsLongAsTheClocksMakeIt(t *testing.T) {
	for _, c := range []struct {
		zone  string
		day   string
		hours float64
	}{
		{"Europe/London", "2026-03-28", 24},
		{"Europe/London", "2026-03-29", 23},
		{"Europe/London", "2026-03-30", 24},
		{"Europe/London", "2026-10-24", 24},
		{"Europe/London", "2026-10-25", 25},
		{"Europe/London", "2026-10-26", 24},
		{"Europe/London", "2027-03-28", 23},
		{"Europe/London", "2027-10-31", 25},
		{"Europe/Dublin", "2026-03-29", 23},
		{"Europe/Berlin", "2026-10-25", 25},
		{"America/New_York", "2026-03-08", 23},
		{"America/New_York", "2026-11-01", 25},
		{"Australia/Lord_Howe", "2026-04-05", 24.5},
		{"Australia/Lord_Howe", "2026-10-04", 23.5},
		{"Africa/Cairo", "2026-04-24", 23},
		{"Pacific/Apia", "2011-12-30", 0},
		{"Pacific/Apia", "2011-12-31", 24},
		{"UTC", "2026-03-29", 24},
	} {
		d, err := Parse(c.day)
		if err != nil {
			t.Fatal(err)
		}
		start, end := Bounds(d, zone(t, c.zone))
		if got := end.Sub(start).Hours(); got != c.hours {
			t.Errorf("%s in %s lasts %v h, want %v (%v to %v)", c.day, c.zone, got, c.hours, start, end)
		}
	}
}

func TestADayStartsAtTheFirstMomentThereIs(t *testing.T) {
	london, cairo := zone(t, "Europe/London"), zone(t, "Africa/Cairo")
	start, end := Bounds(Must(2026, time.March, 29), london)
	if start.Format(time.RFC3339) != "2026-03-29T00:00:00Z" || end.Format(time.RFC3339) != "2026-03-30T00:00:00+01:00" {
		t.Errorf("%v to %v", start, end)
	}
	// Cairo skips midnight: 24 April 2026 starts at 01:00.
	start, _ = Bounds(Must(2026, time.April, 24), cairo)
	if start.Format(time.RFC3339) != "2026-04-24T01:00:00+03:00" {
		t.Errorf("Cairo's day starts %v", start)
	}
}

// RFC 5545, section 3.3.5: its own two examples for New York in 2007, and the
// same for London.
func TestATimeThatComesTwiceOrNeverIsReadAsRFC5545Says(t *testing.T) {
	for _, c := range []struct{ zone, day, clock, want string }{
		{"America/New_York", "2007-11-04", "1:30", "2007-11-04T01:30:00-04:00"},
		{"America/New_York", "2007-03-11", "2:30", "2007-03-11T03:30:00-04:00"},
		{"Europe/London", "2026-10-25", "1:30", "2026-10-25T01:30:00+01:00"},
		{"Europe/London", "2026-03-29", "1:30", "2026-03-29T02:30:00+01:00"},
		{"Europe/London", "2026-03-29", "1:00", "2026-03-29T02:00:00+01:00"},
		{"Europe/London", "2026-03-29", "0:59", "2026-03-29T00:59:00Z"},
		{"Europe/London", "2026-10-25", "2:00", "2026-10-25T02:00:00Z"},
		{"Europe/London", "2026-11-25", "16:40", "2026-11-25T16:40:00Z"},
		{"Pacific/Apia", "2011-12-30", "10:00", "2011-12-31T10:00:00+14:00"},
	} {
		got, err := ParseWhen(c.day, c.clock, zone(t, c.zone))
		if err != nil || got.Format(time.RFC3339) != c.want {
			t.Errorf("%s %s in %s is %v, %v, want %s", c.day, c.clock, c.zone, got.Format(time.RFC3339), err, c.want)
		}
	}
}

func TestAPromiseIsReadFromOneFieldOrTwo(t *testing.T) {
	london := zone(t, "Europe/London")
	want := time.Date(2026, time.July, 1, 15, 40, 0, 0, time.UTC)
	for _, s := range []string{"2026-07-01T16:40", "1/7/2026 16:40", "2026-07-01 4.40 pm", " 1/7/2026  1640 "} {
		if got, err := ParseMoment(s, london); err != nil || !got.Equal(want) {
			t.Errorf("ParseMoment(%q) = %v, %v", s, got, err)
		}
	}
	for s, want := range map[string]error{
		"": ErrNoDay, "2026-07-01": ErrNoClock, "16:40": ErrNotDay, "soon": ErrNotDay, "2026-07-01T25:00": ErrHour,
		"31/6/2026 9:00": ErrDate,
	} {
		if got, err := ParseMoment(s, london); !errors.Is(err, want) {
			t.Errorf("ParseMoment(%q) = %v, %v, want %v", s, got, err, want)
		}
	}
}

func TestAZoneMustBeNamed(t *testing.T) {
	for _, name := range []string{"", "Local", "local", "Europe/Atlantis", "../etc/passwd", "\x00"} {
		if _, err := Zone(name); !errors.Is(err, ErrZone) {
			t.Errorf("Zone(%q) = %v", name, err)
		}
	}
}

var anyZone = rapid.SampledFrom([]string{
	"Europe/London", "Europe/Dublin", "Europe/Berlin", "America/New_York", "America/St_Johns", "America/Sao_Paulo",
	"Australia/Lord_Howe", "Africa/Cairo", "Asia/Tehran", "Pacific/Apia", "UTC",
})

var anyDay = rapid.Custom(func(t *rapid.T) Day {
	return Must(1975, time.January, 1).AddDays(rapid.IntRange(0, 80*365).Draw(t, "day"))
})

func TestDaysFollowEachOtherWithoutAGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, anyZone.Draw(t, "zone"))
		d := anyDay.Draw(t, "d")
		start, end := Bounds(d, loc)
		next, _ := Bounds(d.AddDays(1), loc)
		if !end.Equal(next) || end.Before(start) || end.Sub(start) > 26*time.Hour {
			t.Fatalf("%v: %v to %v, next %v", d, start, end, next)
		}
		if end.After(start) && (Of(start, loc) != d || Of(start.Add(-time.Nanosecond), loc) == d) {
			t.Fatalf("%v starts at %v", d, start)
		}
	})
}

func TestAMomentShowsTheClockItWasMadeFromUnlessTheClockSkipsIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, anyZone.Draw(t, "zone"))
		d, c := anyDay.Draw(t, "d"), anyClock.Draw(t, "c")
		at := At(d, c, loc)
		if at.Nanosecond() != 0 {
			t.Fatalf("%v", at)
		}
		if Of(at, loc) == d && ClockOf(at, loc) == c {
			return
		}
		// It is skipped: then no moment within a day of it shows that time.
		for m := at.Add(-25 * time.Hour); m.Before(at.Add(25 * time.Hour)); m = m.Add(time.Minute) {
			if Of(m, loc) == d && ClockOf(m, loc) == c {
				t.Fatalf("%v %v in %v is %v, not %v", d, c, loc, m, at)
			}
		}
	})
}

func TestASpanIsTheSumOfItsDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc := zone(t, anyZone.Draw(t, "zone"))
		from := At(anyDay.Draw(t, "d"), anyClock.Draw(t, "c"), loc)
		s := Span{from, from.Add(time.Duration(rapid.Int64Range(-10, 9*24*60).Draw(t, "minutes")) * time.Minute)}
		pieces := s.Split(loc)
		var sum time.Duration
		at := s.From
		for _, p := range pieces {
			if p.Empty() || !p.From.Equal(at) || p.OnDay(p.Day, loc) != p.Elapsed() || s.OnDay(p.Day, loc) != p.Elapsed() {
				t.Fatalf("%v has the piece %v", s, p)
			}
			at = p.To
			sum += p.Elapsed()
		}
		if sum != s.Elapsed() || (len(pieces) > 0 && !at.Equal(s.To)) {
			t.Fatalf("%v splits into %v", s, pieces)
		}
	})
}

func TestSpansOverlapOnlyWhereBothAre(t *testing.T) {
	at := func(h int) time.Time { return time.Date(2026, time.October, 25, h, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		a, b Span
		want time.Duration
	}{
		{Span{at(8), at(12)}, Span{at(10), at(14)}, 2 * time.Hour},
		{Span{at(8), at(12)}, Span{at(12), at(14)}, 0}, // half-open: they only touch
		{Span{at(8), at(12)}, Span{at(9), at(10)}, time.Hour},
		{Span{at(8), at(9)}, Span{at(10), at(11)}, 0},
		{Span{at(9), at(8)}, Span{at(0), at(23)}, 0}, // an empty span
	} {
		if got := c.a.Overlap(c.b).Elapsed(); got != c.want {
			t.Errorf("%v and %v share %v, want %v", c.a, c.b, got, c.want)
		}
		if got := c.b.Overlap(c.a).Elapsed(); got != c.want {
			t.Errorf("the other way round they share %v", got)
		}
	}
	s := Span{at(8), at(12)}
	if !s.Contains(at(8)) || s.Contains(at(12)) || s.Contains(at(7)) {
		t.Error("a span holds its start and not its end")
	}
	if Total([]Span{s, {at(12), at(13)}, {at(9), at(8)}}) != 5*time.Hour {
		t.Error("four hours and one are five")
	}
}
