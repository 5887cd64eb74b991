package money

import (
	"errors"
	"strings"
)

// What a person reads when an entry is refused. None repeats what was typed:
// the form still shows it.
var (
	ErrEmpty      = errors.New("enter an amount, such as 12.50")
	ErrNotAmount  = errors.New("enter an amount in figures, such as 1234.50 or 1,234.50")
	ErrComma      = errors.New("a comma may only part thousands, as in 1,234.50; decimals come after a point")
	ErrPence      = errors.New("give at most two figures after the point")
	ErrTypedLarge = errors.New("the largest amount is 9,999,999.99")

	ErrNotRate   = errors.New("enter a percentage, such as 20 or 17.5")
	ErrRateExact = errors.New("give a percentage with at most two figures after the point")
	ErrRateLarge = errors.New("a percentage lies between 0 and 1000")

	ErrNotQuantity   = errors.New("enter a quantity, such as 1 or 0.5")
	ErrQuantityExact = errors.New("give a quantity with at most three figures after the point")
	ErrQuantityLarge = errors.New("a quantity lies between 0 and 99999.999")
)

// Parse reads an amount as people type it: "12", "12.5", "£1,234.50",
// "-3.20", with blanks around it or after the sign or the pound sign.
// It refuses anything else with an error fit to stand beside the field: more
// than two decimals, more than MaxTyped, a comma that does not part
// thousands, and words, exponents or control characters of any kind.
func Parse(s string) (Minor, error) { return parse(s, "£") }

func parse(s, symbol string) (Minor, error) {
	s = trim(s)
	if s == "" {
		return 0, ErrEmpty
	}
	negative := false
	signed := false // with the currency's sign
	for {
		if rest, ok := cutSign(s); ok && !negative {
			negative, s = true, trim(rest)
		} else if rest, ok := strings.CutPrefix(s, symbol); ok && !signed {
			signed, s = true, trim(rest)
		} else {
			break
		}
	}
	whole, decimals, point := strings.Cut(s, ".")
	if strings.Contains(decimals, ",") {
		return 0, ErrComma
	}
	whole, err := ungroup(whole)
	if err != nil {
		return 0, err
	}
	if !digits(whole) || !digits(decimals) || whole+decimals == "" || (point && decimals == "") {
		return 0, ErrNotAmount
	}
	if len(decimals) > 2 {
		return 0, ErrPence
	}
	n, ok := fixed(whole, decimals, 2, int64(MaxTyped))
	if !ok {
		return 0, ErrTypedLarge
	}
	if negative {
		n = -n
	}
	return Minor(n), nil
}

// ParseRate reads a percentage, "20", "17.5" or "17.5%", into basis points.
// It lies between 0 and 1000 % and has at most two decimals.
func ParseRate(s string) (Rate, error) {
	s = trim(s)
	if rest, ok := strings.CutSuffix(s, "%"); ok {
		s = trim(rest)
	}
	n, err := positive(s, 2, int64(MaxRate), ErrNotRate, ErrRateExact, ErrRateLarge)
	return Rate(n), err
}

// ParseQuantity reads a quantity, "1", "0.5" or "4.25", into thousandths. It
// lies between 0 and MaxQuantity and has at most three decimals.
func ParseQuantity(s string) (int64, error) {
	return positive(trim(s), 3, MaxQuantity, ErrNotQuantity, ErrQuantityExact, ErrQuantityLarge)
}

func positive(s string, places int, most int64, not, exact, large error) (int64, error) {
	if rest, ok := cutSign(s); ok && digits(strings.ReplaceAll(rest, ".", "")) {
		return 0, large
	}
	whole, decimals, point := strings.Cut(s, ".")
	if !digits(whole) || !digits(decimals) || whole+decimals == "" || (point && decimals == "") {
		return 0, not
	}
	if len(decimals) > places {
		return 0, exact
	}
	n, ok := fixed(whole, decimals, places, most)
	if !ok {
		return 0, large
	}
	return n, nil
}

// fixed joins the digits before and after the point into a whole number of the
// smallest unit; ok is false when that is more than most.
func fixed(whole, decimals string, places int, most int64) (n int64, ok bool) {
	for i := range len(whole) + places {
		d := byte('0')
		switch j := i - len(whole); {
		case j < 0:
			d = whole[i]
		case j < len(decimals):
			d = decimals[j]
		}
		n = n*10 + int64(d-'0')
		if n > most {
			return 0, false
		}
	}
	return n, true
}

// ungroup takes the commas out of "1,234,567", and refuses "12,34": on some
// keyboards that is twelve and a bit, and a guess here costs real money.
func ungroup(s string) (string, error) {
	if !strings.Contains(s, ",") {
		return s, nil
	}
	groups := strings.Split(s, ",")
	for i, g := range groups {
		if !digits(g) {
			return "", ErrNotAmount
		}
		first := i == 0 && len(g) >= 1 && len(g) <= 3 && g[0] != '0'
		if i > 0 && len(g) != 3 || i == 0 && !first {
			return "", ErrComma
		}
	}
	return strings.Join(groups, ""), nil
}

// cutSign takes a minus sign off the front: the hyphen of the keyboard or the
// real minus sign that documents are printed with.
func cutSign(s string) (string, bool) {
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		return rest, true
	}
	return strings.CutPrefix(s, "\u2212")
}

// trim takes blanks off both ends: space, tab, line ends and the no-break
// spaces that come along when a figure is pasted.
func trim(s string) string { return strings.Trim(s, " \t\r\n\u00a0\u202f") }

func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}
