package workday

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestTimesOfDayAreReadAsPeopleTypeThem(t *testing.T) {
	for in, want := range map[string]string{
		"16:40": "16:40", "9:05": "09:05", "09:05": "09:05", "16.40": "16:40", "1640": "16:40", "905": "09:05",
		"9": "09:00", "17": "17:00", "4pm": "16:00", "4 PM": "16:00", "4.40pm": "16:40", "4:40 am": "04:40",
		"12am": "00:00", "12pm": "12:00", "12.30am": "00:30", "0:00": "00:00", "23:59": "23:59", " 8:30 ": "08:30",
		"440pm": "16:40",
	} {
		got, err := ParseClock(in)
		if err != nil || got.String() != want || !got.Valid() {
			t.Errorf("ParseClock(%q) = %v, %v, want %v", in, got, err, want)
		}
	}
}

func TestTimesThatNoClockShowsAreRefused(t *testing.T) {
	for in, want := range map[string]error{
		"": ErrNoClock, " ": ErrNoClock,
		"24:00": ErrHour, "25:00": ErrHour, "12:60": ErrHour, "13pm": ErrHour, "0am": ErrHour, "99": ErrHour, "2400": ErrHour,
		"noon": ErrNotClock, "4:5": ErrNotClock, "16:400": ErrNotClock, ":30": ErrNotClock, "16:": ErrNotClock,
		"16:40:00": ErrNotClock, "-1:00": ErrNotClock, "16401": ErrNotClock, "pm": ErrNotClock, "4pmpm": ErrNotClock,
		"１６:40": ErrNotClock, "16:40\x00": ErrNotClock, "\xff\xfe": ErrNotClock, "1e1": ErrNotClock,
		strings.Repeat("1", 100_000): ErrNotClock,
	} {
		if got, err := ParseClock(in); !errors.Is(err, want) {
			t.Errorf("ParseClock(%.30q) = %v, %v, want %v", in, got, err, want)
		}
	}
}

func TestTheClockOfAMomentIsTheWallsAndNotUTCs(t *testing.T) {
	london := zone(t, "Europe/London")
	at := time.Date(2026, time.July, 1, 15, 40, 59, 0, time.UTC)
	if c := ClockOf(at, london); FormatClock(c) != "16:40" {
		t.Errorf("the clock shows %v", c)
	}
	if _, err := NewClock(24, 0); !errors.Is(err, ErrHour) {
		t.Error("24:00 was taken")
	}
	if c, err := NewClock(16, 40); err != nil || c.String() != "16:40" {
		t.Errorf("%v %v", c, err)
	}
}

func TestEveryMinuteReadsBackAsItIsWritten(t *testing.T) {
	for c := Clock(0); c < minutesADay; c++ {
		if got, err := ParseClock(c.String()); err != nil || got != c {
			t.Fatalf("%v read back as %v, %v", c, got, err)
		}
	}
}

func TestAShiftIsRealTimeLessItsBreaks(t *testing.T) {
	london := zone(t, "Europe/London")
	shift := Shift{Start: clock(t, "8:00"), End: clock(t, "17:30"), Break: time.Hour}
	if err := shift.Check(); err != nil {
		t.Fatal(err)
	}
	if got := shift.Available(Must(2026, time.November, 25), london); got != 8*time.Hour+30*time.Minute {
		t.Errorf("a day has %v", got)
	}
	// A night shift over the change: IANA, Rule EU, last Sunday of March 01:00
	// UTC and last Sunday of October 01:00 UTC.
	night := Shift{Start: 0, End: clock(t, "6:00")}
	if got := night.Available(Must(2026, time.March, 29), london); got != 5*time.Hour {
		t.Errorf("the night the clocks go forward has %v", got)
	}
	if got := night.Available(Must(2026, time.October, 25), london); got != 7*time.Hour {
		t.Errorf("the night the clocks go back has %v", got)
	}
	// A shift that the skipped hour swallows leaves nothing, and not less.
	swallowed := Shift{Start: clock(t, "1:10"), End: clock(t, "2:05"), Break: 10 * time.Minute}
	if got := swallowed.Available(Must(2026, time.March, 29), london); got != 0 {
		t.Errorf("a shift inside the skipped hour has %v", got)
	}
}

func TestAShiftThatMakesNoSenseIsRefused(t *testing.T) {
	for want, s := range map[error]Shift{
		ErrShiftEnd:   {Start: 600, End: 600},
		ErrShiftBreak: {Start: 600, End: 660, Break: time.Hour},
		ErrHour:       {Start: -1, End: 60},
	} {
		if err := s.Check(); !errors.Is(err, want) {
			t.Errorf("%+v: %v, want %v", s, err, want)
		}
	}
	if err := (Shift{Start: 600, End: 660, Break: -1}).Check(); !errors.Is(err, ErrShiftBreak) {
		t.Error("a negative break was taken")
	}
	if err := (Shift{Start: 600, End: minutesADay}).Check(); !errors.Is(err, ErrHour) {
		t.Error("24:00 was taken")
	}
}

func FuzzParseClock(f *testing.F) {
	for _, s := range []string{"16:40", "4.40 pm", "1640", "9", "12am", "24:00", "\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseClock(s)
		if err != nil {
			if c != 0 {
				t.Fatalf("%q is refused but gives %v", s, c)
			}
			return
		}
		if !c.Valid() {
			t.Fatalf("%q gives %d", s, c)
		}
		if back, err := ParseClock(c.String()); err != nil || back != c {
			t.Fatalf("%q: %v reads back as %v, %v", s, c, back, err)
		}
	})
}

var anyClock = rapid.Custom(func(t *rapid.T) Clock {
	return Clock(rapid.Int16Range(0, minutesADay-1).Draw(t, "clock"))
})

func clock(t *testing.T, s string) Clock {
	t.Helper()
	c, err := ParseClock(s)
	if err != nil {
		t.Fatal(s, err)
	}
	return c
}
