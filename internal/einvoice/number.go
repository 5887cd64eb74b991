package einvoice

import (
	"strings"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// fixed reads an xs:decimal with at most places decimals into a count of
// 10^-places. Further zeros are fine, further digits are not.
func fixed(s string, places int) (int64, bool) {
	body, negative := strings.CutPrefix(s, "-")
	if !negative {
		body = strings.TrimPrefix(body, "+")
	}
	whole, fraction, _ := strings.Cut(body, ".")
	fraction = strings.TrimRight(fraction, "0")
	if whole+fraction == "" && !strings.Contains(body, "0") || len(fraction) > places || len(whole) > 15 {
		return 0, false
	}
	digits := whole + fraction + strings.Repeat("0", places-len(fraction))
	var n int64
	for _, c := range []byte(digits) {
		if c < '0' || c > '9' || n > 1<<59 {
			return 0, false
		}
		n = n*10 + int64(c-'0')
	}
	if negative {
		n = -n
	}
	return n, true
}

// amount reads an amount in the document's currency. The first rule is broken
// when it is not there, the second when it has more than two decimals.
func (r *reader) amount(t *tree, path, missing, decimals string) money.Minor {
	m := r.optional(t, path, decimals)
	if m == nil {
		r.fail("%s: there is no %s", missing, last(path))
		return 0
	}
	return *m
}

// optional reads an amount that may be missing; nil then.
func (r *reader) optional(t *tree, path, decimals string) *money.Minor {
	c := r.one(t, path)
	if c == nil {
		return nil
	}
	n, ok := fixed(clean(string(c.text)), 2)
	m := money.Minor(n)
	switch {
	case !ok:
		r.fail("%s: %s is no amount of at most two decimals", decimals, last(path))
	case m.Check() != nil:
		r.fail("%s is too large", last(path))
	case c.attr("currencyID") != r.currency:
		r.fail("PEPPOL-EN16931-R051: %s is not in the currency of the document", last(path))
	}
	return &m
}

func (r *reader) orZero(t *tree, path, decimals string) money.Minor {
	if m := r.optional(t, path, decimals); m != nil {
		return *m
	}
	return 0
}

// rate reads a percentage of at most two decimals; nil when there is none.
func (r *reader) rate(t *tree, path string) *money.Rate {
	c := r.one(t, path)
	if c == nil {
		return nil
	}
	n, ok := fixed(clean(string(c.text)), 2)
	if !ok || n < 0 || n > int64(money.MaxRate) {
		r.fail("%s is no percentage of at most two decimals", last(path))
	}
	rate := money.Rate(n)
	return &rate
}

// quantity reads a quantity of at most three decimals and its unit.
func (r *reader) quantity(c *tree) (thousandths int64, unit string) {
	n, ok := fixed(clean(string(c.text)), 3)
	if !ok || n > money.MaxQuantity*100 || n < -money.MaxQuantity*100 {
		r.fail("%s is no quantity of at most three decimals", c.Name.Local)
	}
	return n, c.attr("unitCode")
}

// date reads a date written YYYY-MM-DD.
func (r *reader) date(t *tree, path string) workday.Day {
	s := r.str(t, path)
	if s == "" {
		return workday.Day{}
	}
	var d workday.Day
	if err := d.UnmarshalText([]byte(s)); err != nil || d.String() != s {
		r.fail("PEPPOL-EN16931-F001: %s is no date written year, month, day", last(path))
	}
	return d
}

func last(path string) string { return path[strings.LastIndexAny(path, ":/")+1:] }
