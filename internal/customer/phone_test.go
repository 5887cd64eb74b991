package customer

import (
	"strings"
	"testing"
	"unicode/utf8"
)

// The numbers are from the ranges that Ofcom keeps for drama.
// Source: Ofcom, "Telephone numbers for use in TV shows and radio programmes".
// How they are written internationally: ITU-T E.164 and E.123.
func TestEverySpellingOfANumberHasTheSameDigits(t *testing.T) {
	for want, spellings := range map[string][]string{
		"447700900123": {"07700 900123", "07700900123", "07700-900-123", "+44 7700 900123", "+44 (0)7700 900123", "0044 7700 900 123",
			"(07700) 900123", "07700.900.123", "mobile 07700 900123", "07700 900123 (Jo)", "07700 900123 ext. 4", "07700 900123 x12"},
		"441632960999": {"01632 960999", "+441632960999", "home: 01632-960-999"},
		"442079460018": {"020 7946 0018", "(020) 7946 0018", "+44 20 7946 0018"},
		// Outside the country they were given in.
		"33199001234": {"+33 1 99 00 12 34", "0033199001234"},
	} {
		for _, s := range spellings {
			if got := Digits(s); got != want {
				t.Errorf("Digits(%q) = %q, want %q", s, got, want)
			}
		}
	}
}

func TestTwoNumbersInOneFieldAreBothKept(t *testing.T) {
	for _, s := range []string{"01632 960123 / 07700 900456", "01632 960123 or 07700 900456", "01632 960123, 07700 900456", "01632 960123; 07700 900456"} {
		if got, want := Digits(s), "441632960123 447700900456"; got != want {
			t.Errorf("Digits(%q) = %q, want %q", s, got, want)
		}
	}
}

func TestAHalfTypedNumberIsPartOfTheWholeOne(t *testing.T) {
	whole := Digits("07700 900123")
	for _, typed := range []string{"077", "07700", "07700 9", "07700900", "+44 77", "+44 (0)7700 900", "0044 7700", "0044 0 7700", "900123", "900 123", "0123"} {
		d := SearchDigits(typed)
		if d == "" || !strings.Contains(whole, d) {
			t.Errorf("SearchDigits(%q) = %q, not part of %q", typed, d, whole)
		}
	}
	for _, typed := range []string{"BD51 SMR", "Aldous", "07700%", "07700_9", "", "'; drop"} {
		if d := SearchDigits(typed); d != "" {
			t.Errorf("SearchDigits(%q) = %q, want none", typed, d)
		}
	}
}

func FuzzDigits(f *testing.F) {
	for _, s := range []string{"", "07700 900123", "+44 (0)20 7946 0018 x9", "１２３４５６", "\x00\xff", strings.Repeat("9", 300), "tel:+1;phone-context=+44"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, d := range []string{Digits(s), SearchDigits(s)} {
			if !utf8.ValidString(d) || strings.Trim(d, "0123456789 ") != "" {
				t.Fatalf("%q became %q: not digits", s, d)
			}
		}
	})
}
