// Package vatno checks United Kingdom VAT registration numbers by their
// published form and check digits.
//
// A number has nine digits. The first seven are weighted 8, 7, 6, 5, 4, 3, 2
// and added up; with the last two digits added, the sum divides by 97 (the
// older numbers), or does so with 55 more (the newer ones). Three more digits
// name a branch. Government departments have GD and 000 to 499, health
// authorities HA and 500 to 999. Which of the two rules a number may follow
// depends on its first seven digits. Source: the open-source tax libraries
// gobl (regimes/gb) and go-vat (countries/united_kingdom), which agree.
//
// The check says that a number is well formed. Whether it was issued, and to
// whom, only the tax office knows.
package vatno

import (
	"errors"
	"strings"
)

// What a person reads when a number is refused.
var (
	ErrForm  = errors.New("a UK VAT number has 9 digits, such as GB 123 4567 89, or 12 for a branch")
	ErrCheck = errors.New("this VAT number does not add up: one of its digits is wrong")
)

const (
	plain  = 9
	branch = 12
	// modulus is the divisor of both rules, newer what the newer one adds.
	modulus = 97
	newer   = 55
)

var weights = [...]int{8, 7, 6, 5, 4, 3, 2}

// Parse reads a number as people write it, with or without GB, blanks, points
// and hyphens, and gives it without them: "844281425", "350983637001",
// "GD103". Errors are ErrForm and ErrCheck.
func Parse(s string) (string, error) {
	if len(s) > 60 {
		return "", ErrForm
	}
	s = strings.ToUpper(strings.NewReplacer(" ", "", ".", "", "-", "", "\u00a0", "", "\t", "").Replace(s))
	// Northern Ireland trades in goods under XI with the same digits.
	for _, country := range []string{"GB", "XI"} {
		if rest, ok := strings.CutPrefix(s, country); ok {
			s = rest
			break
		}
	}
	if len(s) == 5 && (s[:2] == "GD" || s[:2] == "HA") && digits(s[2:]) {
		if (s[:2] == "GD") != (s[2:] < "500") {
			return "", ErrCheck
		}
		return s, nil
	}
	if !digits(s) || len(s) != plain && len(s) != branch {
		return "", ErrForm
	}
	if !addsUp(s[:plain]) {
		return "", ErrCheck
	}
	return s, nil
}

// addsUp tells whether nine digits follow the rule that numbers of their
// range follow.
func addsUp(s string) bool {
	sum, first := 0, 0
	for i, w := range weights {
		d := int(s[i] - '0')
		sum += w * d
		first = first*10 + d
	}
	check := int(s[7]-'0')*10 + int(s[8]-'0')
	if check >= modulus || first == 0 && check == 0 {
		return false
	}
	sum += check
	return sum%modulus == 0 && olderRange(first) || (sum+newer)%modulus == 0 && first > 1_000_000
}

func olderRange(first int) bool {
	return first <= 9_990_000 &&
		(first < 100_000 || first > 999_999) &&
		(first <= 9_490_000 || first > 9_700_000)
}

// Format groups a number that Parse gave the way it is printed: "GB 844 2814
// 25", "GB 350 9836 37 001", "GB GD 103". Anything else comes back as it is.
func Format(s string) string {
	switch {
	case digits(s) && len(s) == plain:
		return "GB " + s[:3] + " " + s[3:7] + " " + s[7:]
	case digits(s) && len(s) == branch:
		return "GB " + s[:3] + " " + s[3:7] + " " + s[7:9] + " " + s[9:]
	case len(s) == 5 && (strings.HasPrefix(s, "GD") || strings.HasPrefix(s, "HA")):
		return "GB " + s[:2] + " " + s[2:]
	}
	return s
}

func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}
