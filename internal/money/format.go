package money

import (
	"math"
	"strconv"
	"strings"
)

// Format writes an amount of sterling for a page: "£1,234.50", "-£3.20", as
// CLDR has it for English in the United Kingdom.
func Format(m Minor) string {
	pounds, pence, negative := parts(m)
	b := make([]byte, 0, 32)
	if negative {
		b = append(b, '-')
	}
	b = append(b, "£"...)
	for i := range len(pounds) {
		if i > 0 && (len(pounds)-i)%3 == 0 {
			b = append(b, ',')
		}
		b = append(b, pounds[i])
	}
	b = append(b, '.')
	return string(append(b, pence...))
}

// FormatPlain writes an amount for a form field, a spreadsheet or an
// interface: "1234.50", "-3.20". Parse reads it back, within its limits.
func FormatPlain(m Minor) string {
	pounds, pence, negative := parts(m)
	if negative {
		return "-" + pounds + "." + pence
	}
	return pounds + "." + pence
}

// FormatRate writes a rate with no more decimals than it needs: "20%",
// "17.5%", "-2.25%".
func FormatRate(r Rate) string { return decimal(int64(r), 2) + "%" }

// FormatQuantity writes a quantity given in thousandths with no more decimals
// than it needs: "1", "0.5", "4.25".
func FormatQuantity(thousandths int64) string { return decimal(thousandths, 3) }

func (m Minor) String() string { return Format(m) }

func (r Rate) String() string { return FormatRate(r) }

func parts(m Minor) (pounds, pence string, negative bool) {
	s := strconv.FormatUint(magnitude(int64(m)), 10)
	if len(s) < 3 {
		s = strings.Repeat("0", 3-len(s)) + s
	}
	return s[:len(s)-2], s[len(s)-2:], m < 0
}

// decimal writes n, which counts 10^-places, without needless zeros.
func decimal(n int64, places int) string {
	one := uint64(math.Pow10(places))
	u := magnitude(n)
	s := strconv.FormatUint(u/one, 10)
	if rest := u % one; rest != 0 {
		f := strconv.FormatUint(one+rest, 10)[1:] // keeps the zeros in front
		s += "." + strings.TrimRight(f, "0")
	}
	if n < 0 {
		return "-" + s
	}
	return s
}
