package vatno

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// The numbers and their verdicts are those of gobl, regimes/gb
// (tax_identity_test.go), a published open-source tax library.
func TestPublishedNumbersGetThePublishedVerdict(t *testing.T) {
	for _, c := range []struct {
		in   string
		want error
	}{
		{"000472631", nil},
		{"844281425", nil},
		{"350983637", nil},
		{"100000132", nil}, // the newer rule
		{"GD103", nil},
		{"HA503", nil},
		{"350983637001", nil},
		{"350983637002", nil},
		{"000000000", ErrCheck},
		{"999999991", ErrCheck},
		{"12345678910", ErrForm},
		{"1234567890123", ErrForm},
		{"123456", ErrForm},
	} {
		if _, err := Parse(c.in); !errors.Is(err, c.want) {
			t.Errorf("Parse(%q): %v, want %v", c.in, err, c.want)
		}
	}
}

func TestAnySpellingIsReadToTheSameNumber(t *testing.T) {
	for _, in := range []string{"844281425", "GB844281425", "gb 844 2814 25", " GB 844-2814-25 ", "XI844281425", "844.2814.25", "GB\u00a0844\u00a02814\u00a025"} {
		if got, err := Parse(in); err != nil || got != "844281425" {
			t.Errorf("Parse(%q) = %q, %v", in, got, err)
		}
	}
}

func TestDepartmentsAndAuthoritiesHaveTheirOwnHalves(t *testing.T) {
	for in, want := range map[string]error{
		"GD000": nil, "GD499": nil, "GD500": ErrCheck, "HA499": ErrCheck, "HA500": nil, "HA999": nil,
		"HA50": ErrForm, "GD1034": ErrForm, "GDABC": ErrForm,
	} {
		if _, err := Parse(in); !errors.Is(err, want) {
			t.Errorf("Parse(%q): %v, want %v", in, err, want)
		}
	}
}

func TestWhatIsNoNumberIsRefused(t *testing.T) {
	for _, in := range []string{"", "GB", "GBGB844281425", "84428142５", "844281425;drop table garage", "<b>844281425</b>",
		"844281425\x00", strings.Repeat("8", 1000), "FR12345678901"} {
		if got, err := Parse(in); err == nil {
			t.Errorf("Parse(%q) took it as %q", in, got)
		}
	}
}

// Both rules weigh every digit differently and 97 is prime, so a single wrong
// digit never adds up under the rule that the right number follows.
func TestOneWrongDigitIsCaughtUnlessTheOtherRuleTakesIt(t *testing.T) {
	caught, slipped := 0, 0
	for _, right := range []string{"844281425", "350983637", "100000132"} {
		for i := range right {
			for d := '0'; d <= '9'; d++ {
				wrong := right[:i] + string(d) + right[i+1:]
				if wrong == right {
					continue
				}
				if _, err := Parse(wrong); err != nil {
					caught++
				} else {
					slipped++
				}
			}
		}
	}
	// A wrong digit changes the sum by at most 72, and only a change of 55 (or
	// 42, its complement to 97) can move a number from one rule to the other.
	if caught+slipped != 3*9*9 || slipped > 6 {
		t.Errorf("caught %d, slipped %d", caught, slipped)
	}
}

func TestANumberIsPrintedInGroups(t *testing.T) {
	for in, want := range map[string]string{
		"844281425": "GB 844 2814 25", "350983637001": "GB 350 9836 37 001", "GD103": "GB GD 103", "": "", "IE1234567T": "IE1234567T",
	} {
		if got := Format(in); got != want {
			t.Errorf("Format(%q) = %q, want %q", in, got, want)
		}
		if want != "" && want != in {
			if back, err := Parse(want); err != nil || back != in {
				t.Errorf("Parse(Format(%q)) = %q, %v", in, back, err)
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"844281425", "GB 350 9836 37 001", "GD103", "", "\xff\xfe", "HA999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := Parse(s)
		if err != nil {
			return
		}
		again, err := Parse(Format(got))
		if err != nil || again != got {
			t.Errorf("%s", fmt.Sprintf("%q was read as %q and that as %q, %v", s, got, again, err))
		}
	})
}
