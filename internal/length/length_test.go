package length

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestALengthIsReadAsPeopleTypeIt(t *testing.T) {
	for s, want := range map[string]Micron{
		"57.1": 57_100, " 57,1 mm": 57_100, "-12": -12_000, "+35": 35_000, "−1.5": -1500, "0": 0, "114.3MM": 114_300, "0.001": 1, "1.5000": 1500,
	} {
		if got, err := Parse(s); err != nil || got != want {
			t.Errorf("Parse(%q) = %d, %v, want %d", s, got, err, want)
		}
	}
	for s, want := range map[string]Micron{"7": 177_800, "6.5": 165_100, "6½": 165_100, `10.50"`: 266_700, "4½ in": 114_300, "22.5 inches": 571_500} {
		if got, err := ParseInch(s); err != nil || got != want {
			t.Errorf("ParseInch(%q) = %d, %v, want %d", s, got, err, want)
		}
	}
}

func TestWhatIsNoLengthIsRefusedWithTheReason(t *testing.T) {
	for s, want := range map[string]error{
		"": ErrEmpty, "  ": ErrEmpty, "seven": ErrFigure, "1.2.3": ErrFigure, ".5": ErrFigure, "5.": ErrFigure, "1e3": ErrFigure, "1.2345": ErrExact,
		"10001": ErrLong, "99999999999": ErrLong, "--5": ErrFigure, "0x10": ErrFigure, "NaN": ErrFigure,
	} {
		if _, err := Parse(s); !errors.Is(err, want) {
			t.Errorf("Parse(%q): %v, want %v", s, err, want)
		}
	}
}

func TestALengthIsWrittenWithTheFiguresItNeeds(t *testing.T) {
	for l, want := range map[Micron]string{0: "0", 1: "0.001", 112_750: "112.75", -1500: "-1.5", 57_100: "57.1", 1000: "1"} {
		if got := l.Text(); got != want {
			t.Errorf("%d is written %q, want %q", l, got, want)
		}
	}
	for _, c := range []struct {
		l      Micron
		places int
		want   string
	}{{112_750, 1, "112.8"}, {-112_750, 1, "-112.8"}, {634_300, 2, "634.30"}, {499, 0, "0"}, {500, 0, "1"}, {-500, 0, "-1"}} {
		if got := c.l.Fixed(c.places); got != c.want {
			t.Errorf("%d to %d places is %q, want %q", c.l, c.places, got, c.want)
		}
	}
	if Micron(2700).Signed() != "+2.7" || Micron(-2700).Signed() != "-2.7" || Micron(0).Signed() != "0" || Micron(1500).String() != "1.5 mm" {
		t.Error("signs and units")
	}
}

func TestFiguresOfProgramsComeToTheNearestMicrometre(t *testing.T) {
	for f, want := range map[float64]Micron{57.1: 57_100, -1.4999999: -1500, 0.0004: 0, 1e300: Most, -1e300: -Most} {
		if got := Float(f); got != want {
			t.Errorf("Float(%v) = %d, want %d", f, got, want)
		}
	}
	if Float(math.NaN()) != 0 {
		t.Error("what is not a number is a length")
	}
	if (1500*Micron(1)).Whole() != 2 || Micron(-1500).Whole() != -2 || Micron(-1500).Abs() != 1500 || Inch.Inches() != 1 {
		t.Error("whole, abs or inches")
	}
}

func TestALengthIsReadBackAsItIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Micron(rapid.Int64Range(int64(-Most), int64(Most)).Draw(t, "l"))
		if back, err := Parse(l.Text()); err != nil || back != l {
			t.Fatalf("%d is written %q and read back as %d, %v", l, l.Text(), back, err)
		}
		if Float(l.MM()) != l {
			t.Fatalf("%d comes back from a float as %d", l, Float(l.MM()))
		}
	})
}
