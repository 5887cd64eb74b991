// Package ledger is the arithmetic of what customers owe: the numbers of bills,
// what is left of each after payments and credits, how old it is, and the
// statement of one customer's account. Amounts include VAT.
package ledger

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Series is a row of document numbers without a gap, such as bills: a VAT
// invoice needs "a sequential number based on one or more series which uniquely
// identifies the document" (SI 1995/2518, regulation 14(1)(a)).
type Series struct {
	Prefix string // "B-"
	Width  int    // digits at least, with zeros in front
}

// The longest prefix, and the most digits in front of which zeros are put.
const (
	maxPrefix = 12
	maxWidth  = 12
)

// Problems with series and numbers, as a person may read them.
var (
	ErrSeries = errors.New("a series of numbers begins with up to 12 letters, digits, hyphens or strokes, ends with no digit, and has 1 to 12 digits")
	ErrNumber = errors.New("this is no number of that series")
)

// Check tells whether the series makes numbers that can be told apart.
func (s Series) Check() error {
	if len(s.Prefix) > maxPrefix || s.Width < 1 || s.Width > maxWidth {
		return ErrSeries
	}
	for i, c := range []byte(s.Prefix) {
		digit := c >= '0' && c <= '9'
		letter := c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z'
		if !digit && !letter && c != '-' && c != '/' || digit && i == len(s.Prefix)-1 {
			return ErrSeries
		}
	}
	return nil
}

// Format writes the nth number: "B-000123". n is above zero.
func (s Series) Format(n int64) string { return fmt.Sprintf("%s%0*d", s.Prefix, s.Width, n) }

// Parse reads a number of the series as Format writes it; the error is
// ErrNumber.
func (s Series) Parse(text string) (int64, error) {
	digits, ok := strings.CutPrefix(text, s.Prefix)
	n, err := strconv.ParseInt(digits, 10, 64)
	if !ok || err != nil || n < 1 || s.Format(n) != text {
		return 0, ErrNumber
	}
	return n, nil
}

// Next is the number after last, which is 0 when there is none yet. There is no
// other rule: numbers are given out under a lock, in the transaction that
// issues the document, so that one that fails leaves no gap.
func Next(last int64) int64 { return last + 1 }

// Gaps lists what is missing from 1 to the highest of some numbers, at most
// limit of them, and Twice what stands more than once. Both are empty in a
// series that is whole.
func Gaps(numbers []int64, limit int) (missing, twice []int64) {
	count := make(map[int64]int, len(numbers))
	var highest int64
	for _, n := range numbers {
		count[n]++
		highest = max(highest, n)
		if count[n] == 2 {
			twice = append(twice, n)
		}
	}
	for n := int64(1); n <= highest && len(missing) < limit; n++ {
		if count[n] == 0 {
			missing = append(missing, n)
		}
	}
	return missing, twice
}
