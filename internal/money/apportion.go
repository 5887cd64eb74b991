package money

import "slices"

// Apportion shares m out in proportion to weights, exactly: what comes back
// adds up to m, each part within a penny of its exact share. Pennies left over
// go to the parts that lost most by rounding down, the first of equals first.
// A weight below nothing counts as nothing. ok is false when all weights are
// nothing or one is beyond MaxLine: there is nothing to share by. (Largest
// remainders, a method of common practice.)
func Apportion(m Minor, weights []Minor) (parts []Minor, ok bool) {
	var whole int64
	for _, w := range weights {
		if w > MaxLine || len(weights) > MaxLines {
			return nil, false
		}
		whole += int64(max(w, 0))
	}
	if whole == 0 || m.Check() != nil {
		return nil, false
	}
	parts = make([]Minor, len(weights))
	lost := make([]int64, len(weights))
	rest := m
	for i, w := range weights {
		w := int64(max(w, 0))
		parts[i] = Minor(down(int64(m), w, whole))
		lost[i] = remainder(int64(m), w, whole)
		rest -= parts[i]
	}
	for _, i := range largest(lost)[:int(max(rest, -rest))] {
		parts[i] += sign(int64(rest))
	}
	return parts, true
}

// wholeDown turns amounts counted in parts of a penny, div to the penny, into
// whole pennies that add up to their total towards zero. Each stays within a
// penny of what it was.
func wholeDown(fine []int64, div int64) []int64 {
	out, lost := make([]int64, len(fine)), make([]int64, len(fine))
	var whole, left int64 // of the exact total
	for i, f := range fine {
		out[i], lost[i] = f/div, f%div
		whole, left = whole+f/div, left+f%div
	}
	// The fractions together make rest whole pennies and a fraction, which is
	// left off; a total and its fraction of opposite signs meet in between.
	rest, fraction := left/div, left%div
	switch total := whole + rest; {
	case total > 0 && fraction < 0:
		rest--
	case total < 0 && fraction > 0:
		rest++
	}
	if rest < 0 {
		for i := range lost {
			lost[i] = -lost[i]
		}
	}
	for _, i := range largest(lost)[:int(max(rest, -rest))] {
		out[i] += int64(sign(rest))
	}
	return out
}

// largest is the indices of lost, the largest first, equals in their order.
func largest(lost []int64) []int {
	order := make([]int, len(lost))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case lost[a] > lost[b]:
			return -1
		case lost[a] < lost[b]:
			return 1
		}
		return 0
	})
	return order
}

func sign(n int64) Minor {
	if n < 0 {
		return -1
	}
	return 1
}
