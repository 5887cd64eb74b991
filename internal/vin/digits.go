package vin

import (
	"strconv"
	"strings"
)

// weights of the positions (49 CFR 565.15, Table IV); the check digit itself
// counts for nothing.
var weights = [Length]int{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2}

// value is what a character counts for (49 CFR 565.15(c), Table III); ok is
// false for a character that never stands in a VIN.
func value(c byte) (n int, ok bool) {
	const letters, values = "ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789"
	if c >= '0' && c <= '9' {
		return int(c - '0'), true
	}
	if i := strings.IndexByte(letters, c); i >= 0 {
		return int(values[i] - '0'), true
	}
	return 0, false
}

// CheckDigit computes what character 9 of a VIN would be as a check digit: the
// weighted sum of the others modulo 11, with X for 10 (49 CFR 565.15(c)(4)).
// ok is false when text is not right in form.
func CheckDigit(text string) (digit string, ok bool) {
	n, ok := sum(text)
	if !ok {
		return "", false
	}
	if n %= 11; n == 10 {
		return "X", true
	}
	return strconv.Itoa(n), true
}

func sum(text string) (n int, ok bool) {
	if len(text) != Length {
		return 0, false
	}
	for i := range Length {
		v, ok := value(text[i])
		if !ok {
			return 0, false
		}
		n += v * weights[i]
	}
	return n, true
}

// yearCodes stand for 1980 and the years after it, one each, and again from
// 2010 on (49 CFR 565.15, Table VII).
const yearCodes = "ABCDEFGHJKLMNPRSTVWXY123456789"

// years gives the model years of a VIN that is right in form. For a car or
// light vehicle (up to 4536 kg) of the United States, a figure in character 7
// means the first cycle and a letter the second (49 CFR 565.15(b)); what it
// weighs a VIN does not say, so a heavy one may be thirty years off.
func years(text string) []int {
	i := strings.IndexByte(yearCodes, text[9])
	if i < 0 {
		return nil
	}
	first, second := 1980+i, 2010+i
	switch text[0] {
	case '1', '4', '5': // the United States
		if text[6] >= '0' && text[6] <= '9' {
			return []int{first}
		}
		return []int{second}
	}
	return []int{first, second}
}
