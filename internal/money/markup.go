package money

import "math"

// MarkUp is the selling price of something that cost the garage cost, with
// mark-up r on the cost, to the nearest penny.
func MarkUp(cost Minor, r Rate) Minor {
	return Minor(share(int64(cost), wholeRate+int64(r), wholeRate))
}

// Mark-up and margin: markup = (price-cost)/cost, margin = (price-cost)/price,
// so margin = markup/(1+markup). Amounts are within MaxLine. Common practice, no published source.

// MarkUpOf is the mark-up of price on cost, to the nearest basis point; ok is
// false when it is not available: cost is zero, or the figure is absurd.
func MarkUpOf(cost, price Minor) (r Rate, ok bool) {
	return ratio(price-cost, cost)
}

// MarginOf is the part of price that is not cost, to the nearest basis point;
// ok is false when it is not available: price is zero, or the figure is absurd.
func MarginOf(cost, price Minor) (r Rate, ok bool) {
	return ratio(price-cost, price)
}

// MarginFromMarkUp turns a mark-up into the margin it gives; ok is false at a
// mark-up of -100 %, where there is no price to take a share of.
func MarginFromMarkUp(markUp Rate) (margin Rate, ok bool) {
	return ratio(Minor(markUp), Minor(wholeRate+markUp))
}

// MarkUpFromMargin turns a margin into the mark-up that gives it; ok is false
// at a margin of 100 %, where there is no cost to mark up.
func MarkUpFromMargin(margin Rate) (markUp Rate, ok bool) {
	return ratio(Minor(margin), Minor(wholeRate-margin))
}

// Ratio is part over whole as a percentage, to the nearest basis point; ok is
// false when whole is zero or the figure is absurd.
func Ratio(part, whole Minor) (r Rate, ok bool) { return ratio(part, whole) }

func ratio(part, whole Minor) (Rate, bool) {
	if whole == 0 || whole == math.MinInt64 || part == math.MinInt64 {
		return 0, false
	}
	if whole < 0 {
		part, whole = -part, -whole
	}
	got := share(int64(part), wholeRate, int64(whole))
	if got == math.MaxInt64 || got == -math.MaxInt64 {
		return 0, false
	}
	return Rate(got), true
}

// PriceAtMargin is the price of which cost leaves margin m: cost over 100 %
// less the margin, to the nearest penny. A margin of 100 % or more has no such
// price and gives the largest Minor, which Check refuses.
func PriceAtMargin(cost Minor, m Rate) Minor {
	if m >= wholeRate {
		return Minor(limit(cost < 0))
	}
	return Minor(share(int64(cost), wholeRate, wholeRate-int64(m)))
}
