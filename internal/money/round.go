package money

import (
	"math"
	"math/bits"
)

// share is a*b/div to the nearest whole number, half away from zero, exact
// through 128 bits; a result that does not fit stays at the largest int64 of
// its sign. div must be above zero.
func share(a, b, div int64) int64 { return divide(a, b, div, uint64(div)/2) }

// down is a*b/div towards zero, exact and limited like share.
func down(a, b, div int64) int64 { return divide(a, b, div, 0) }

// divide is (|a*b|+add)/div with the sign of a*b.
func divide(a, b, div int64, add uint64) int64 {
	negative := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	lo, carry := bits.Add64(lo, add, 0)
	hi += carry // cannot wrap: hi is at most 2^62
	if hi >= uint64(div) {
		return limit(negative)
	}
	q, _ := bits.Div64(hi, lo, uint64(div))
	if q > math.MaxInt64 {
		return limit(negative)
	}
	if negative {
		return -int64(q)
	}
	return int64(q)
}

func limit(negative bool) int64 {
	if negative {
		return -math.MaxInt64
	}
	return math.MaxInt64
}

func magnitude(a int64) uint64 {
	if a < 0 {
		return -uint64(a) // right for the smallest int64 too
	}
	return uint64(a)
}

// remainder is what down leaves over of |a*b|, so never below zero: |a*b|
// modulo div.
func remainder(a, b, div int64) int64 {
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	return int64(bits.Rem64(hi, lo, uint64(div))) // Rem64 does not overflow
}
