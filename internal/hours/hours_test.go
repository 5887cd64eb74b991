package hours

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const h, m = time.Hour, time.Minute

func TestTimesAreReadAsGaragesWriteThem(t *testing.T) {
	for in, want := range map[string]time.Duration{
		"1.6": h + 36*m, "1.6 h": h + 36*m, "1.6h": h + 36*m, "1:36": h + 36*m, "1h36": h + 36*m, "96 min": h + 36*m,
		"96m": h + 36*m, "1 h 36 min": h + 36*m, "1 hour 36 minutes": h + 36*m, "1hr36": h + 36*m, "1h36m": h + 36*m,
		"1½": h + 30*m, "1 ½ h": h + 30*m, "½": 30 * m, "¼ h": 15 * m, "2¾": 2*h + 45*m,
		"0": 0, "0:00": 0, "0 min": 0, "8": 8 * h, "8 hours": 8 * h, "1 hr": h, "2 hrs": 2 * h, "2H": 2 * h,
		".5": 30 * m, "0.25": 15 * m, "0.05": 3 * m, "0.01": m, "0.33": 20 * m, "200": Max, "200:00": Max,
		"12000 min": Max, " 1.6 ": h + 36*m, "1:05": h + 5*m, "007": 7 * h,
	} {
		if got, err := Parse(in); err != nil || got != want {
			t.Errorf("Parse(%q) = %v, %v, want %v", in, got, err, want)
		}
	}
	if got, err := Parse("\u00a01.6\u00a0"); err != nil || got != h+36*m {
		t.Errorf("with pasted blanks: %v, %v", got, err)
	}
}

func TestEntriesThatAreNotATimeAreRefusedInPlainWords(t *testing.T) {
	for in, want := range map[string]error{
		"": ErrEmpty, "  ": ErrEmpty,
		"an hour": ErrNotHours, "1,6": ErrNotHours, "1e2": ErrNotHours, "NaN": ErrNotHours, "Inf": ErrNotHours,
		"h": ErrNotHours, "min": ErrNotHours, ":": ErrNotHours, "1:": ErrNotHours, ":30": ErrNotHours, ".": ErrNotHours,
		"1.": ErrNotHours, "1:2:3": ErrNotHours, "1h36x": ErrNotHours, "1:036": ErrNotHours, "½½": ErrNotHours,
		"1.5½": ErrNotHours, "--1": ErrNotHours, "1 2": ErrNotHours, "1h 3h": ErrNotHours, "1.5 min": ErrNotHours,
		"1\x00": ErrNotHours, "\xff": ErrNotHours, "١": ErrNotHours, "1.6 days": ErrNotHours, "<b>": ErrNotHours,
		"1.666": ErrExact,
		"1:60":  ErrMinutes, "1h99": ErrMinutes,
		"200.01": ErrRange, "201": ErrRange, "200:01": ErrRange, "12001 min": ErrRange, "-1": ErrRange, "-0.5": ErrRange,
		strings.Repeat("9", 100_000): ErrRange,
	} {
		if got, err := Parse(in); !errors.Is(err, want) || got != 0 {
			t.Errorf("Parse(%.30q) = %v, %v, want %v", in, got, err, want)
		}
	}
}

func TestTimesAreWrittenWithADecimal(t *testing.T) {
	for d, want := range map[time.Duration]string{
		h + 36*m: "1.6 h", 0: "0.0 h", 6 * m: "0.1 h", 8 * h: "8.0 h", 37*h + 24*m: "37.4 h", Max: "200.0 h",
		15 * m: "0.25 h", m: "0.02 h", 20 * m: "0.33 h", 59 * m: "0.98 h", h + 5*m: "1.08 h",
		-(h + 36*m): "-1.6 h", -15 * m: "-0.25 h", 30 * time.Second: "0.02 h", 29 * time.Second: "0.0 h",
		-29 * time.Second: "0.0 h",
	} {
		if got := Format(d); got != want {
			t.Errorf("Format(%v) = %q, want %q", d, got, want)
		}
	}
	if got := FormatBare(h + 36*m); got != "1.6" {
		t.Errorf("bare it is %q", got)
	}
	if got := FormatBare(math.MinInt64); !strings.HasPrefix(got, "-") {
		t.Errorf("the shortest time is %q", got)
	}
}

func TestATimeReadsBackToTheMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(0, int64(Max/m)).Draw(t, "minutes")) * m
		for _, s := range []string{Format(d), FormatBare(d)} {
			if got, err := Parse(s); err != nil || got != d {
				t.Fatalf("%v written %q reads back as %v, %v", d, s, got, err)
			}
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"1.6", "1.6 h", "1:36", "1h36", "96 min", "1½", "-1", "1e9", "\x00", "1 hour 36 minutes"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Parse(s)
		if err != nil {
			if d != 0 {
				t.Fatalf("%q is refused but gives %v", s, d)
			}
			return
		}
		if d < 0 || d > Max || d%m != 0 {
			t.Fatalf("%q gives %v", s, d)
		}
		if back, err := Parse(Format(d)); err != nil || back != d {
			t.Fatalf("%q: %v reads back as %v, %v", s, d, back, err)
		}
	})
}
