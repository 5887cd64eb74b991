package account

import (
	"slices"
	"strings"
)

// A PIN's length, in digits.
const (
	pinMin = 4
	pinMax = 8
)

// checkPIN says what is wrong with a new PIN, or "". Those that everybody
// tries first are refused: runs and equal steps such as 1234, 9876, 1357 and
// 0000, repeats such as 1212, years, and the keypad's middle column.
func checkPIN(pin string) string {
	if len(pin) < pinMin || len(pin) > pinMax || strings.Trim(pin, "0123456789") != "" {
		return "a PIN is 4 to 8 figures"
	}
	if equalSteps(pin) || repeats(pin) || year(pin) || slices.Contains([]string{"2580", "0852", "1470", "0741", "3690", "0963"}, pin) {
		return "everybody tries that one first; please choose figures with no pattern"
	}
	return ""
}

// equalSteps finds PINs that go up or down evenly, past 9 and 0 too.
func equalSteps(pin string) bool {
	step := (pin[1] - pin[0] + 10) % 10
	for i := 2; i < len(pin); i++ {
		if (pin[i]-pin[i-1]+10)%10 != step {
			return false
		}
	}
	return true
}

// repeats finds text that is one piece said over and over.
func repeats(s string) bool { return period(s) < len(s) }

// period is the length in bytes of the piece that s is made of, whole times;
// len(s) when it is none.
func period(s string) int {
	for n := 1; n <= len(s)/2; n++ {
		if len(s)%n == 0 && strings.Repeat(s[:n], len(s)/n) == s {
			return n
		}
	}
	return len(s)
}

func year(pin string) bool {
	return len(pin) == 4 && (strings.HasPrefix(pin, "19") || strings.HasPrefix(pin, "20"))
}
