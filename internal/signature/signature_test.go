package signature_test

import (
	"errors"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/signature"
)

func TestASignatureIsReadAsItIsWritten(t *testing.T) {
	const posted = "10,20 100,40 200,160;300,5"
	d, err := signature.Parse(posted)
	if err != nil || d.String() != posted {
		t.Fatalf("%q, %v", d.String(), err)
	}
	// SVG 2, 9.3: M begins a stroke, L goes on, h0 is a line of no length.
	if got := d.SVGPath(); got != "M10 20L100 40L200 160M300 5h0" {
		t.Errorf("the path is %q", got)
	}
	on := d.Strokes(20, 50, 60) // the box is 600 wide: a tenth
	if len(on) != 2 || len(on[0]) != 3 || on[0][1] != [2]float64{30, 54} || len(on[1]) != 2 || on[1][0] != on[1][1] {
		t.Errorf("on paper: %v", on)
	}
	none, err := signature.Parse("")
	if err != nil || !none.Empty() || none.String() != "" || none.SVGPath() != "" || d.Empty() {
		t.Errorf("nothing: %+v, %v", none, err)
	}
}

func TestWhatIsNoSignatureIsRefused(t *testing.T) {
	long := "0,0" + strings.Repeat(" 600,200", signature.MaxPoints)
	for _, c := range []struct {
		name, posted string
		want         error
	}{
		{"markup", `<script>alert(1)</script>`, signature.ErrBroken},
		{"a quote", `1,1 50,50" onload="x`, signature.ErrBroken},
		{"path letters", "M10 20L100 40", signature.ErrBroken},
		{"outside the box", "0,0 601,10", signature.ErrBroken},
		{"below the box", "0,0 60,201", signature.ErrBroken},
		{"below nought", "0,0 -60,20", signature.ErrBroken},
		{"a fraction", "0,0 60.5,20", signature.ErrBroken},
		{"another way to write it", "0,0 060,20", signature.ErrBroken},
		{"a power", "0,0 1e2,20", signature.ErrBroken},
		{"figures of another script", "0,0 ٦٠,20", signature.ErrBroken},
		{"two blanks", "0,0  60,20", signature.ErrBroken},
		{"an empty stroke", "0,0 60,20;", signature.ErrBroken},
		{"a line break", "0,0\n60,20", signature.ErrBroken},
		{"three figures", "0,0,0 60,20", signature.ErrBroken},
		{"a touch", "300,100", signature.ErrSmall},
		{"a short line", "300,100 329,129", signature.ErrSmall},
		{"too many points", "0,0" + strings.Repeat(" 9,9", signature.MaxPoints), signature.ErrLarge},
		{"too many bytes", long, signature.ErrLarge},
		{"too many strokes", strings.Repeat("1,1 90,9;", signature.MaxStrokes) + "1,1", signature.ErrLarge},
	} {
		if d, err := signature.Parse(c.posted); !errors.Is(err, c.want) || !d.Empty() {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

var onlyPath = regexp.MustCompile(`^(M\d{1,3} \d{1,3}(L\d{1,3} \d{1,3})*(h0)?)*$`)

func TestEverythingThatCanBeDrawnIsReadBackAndDrawnAsAPathOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		point := rapid.Custom(func(t *rapid.T) string {
			return itoa(rapid.IntRange(0, signature.Width).Draw(t, "x")) + "," + itoa(rapid.IntRange(0, signature.Height).Draw(t, "y"))
		})
		stroke := rapid.Custom(func(t *rapid.T) string { return strings.Join(rapid.SliceOfN(point, 1, 30).Draw(t, "points"), " ") })
		posted := strings.Join(append(rapid.SliceOfN(stroke, 0, signature.MaxStrokes-1).Draw(t, "strokes"), "0,0 100,100"), ";")
		d, err := signature.Parse(posted)
		if err != nil || d.String() != posted || !onlyPath.MatchString(d.SVGPath()) {
			t.Fatalf("%q: %v, %q", posted, err, d.SVGPath())
		}
	})
}

func itoa(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return itoa(n/10) + string(rune('0'+n%10))
}

func FuzzParse(f *testing.F) {
	f.Add("10,20 100,40;5,5")
	f.Add("<svg>")
	f.Fuzz(func(t *testing.T, posted string) {
		d, err := signature.Parse(posted)
		if err != nil && !d.Empty() || err == nil && d.String() != posted || !onlyPath.MatchString(d.SVGPath()) {
			t.Errorf("%q: %q, %v", posted, d.SVGPath(), err)
		}
	})
}
