package variance

import (
	"time"

	"rampside/internal/hours"
	"rampside/internal/money"
)

// GrossProfit is what is left of a price after the labour and the parts that
// went into it.
type GrossProfit struct {
	Price, LabourCost, PartsCost, Profit money.Minor
	// Margin is Profit as a share of Price; MarginOK is false when there was
	// no price to take a share of.
	Margin   money.Rate
	MarginOK bool
}

// Gross computes the gross profit of a net price.
func Gross(price, labourCost, partsCost money.Minor) GrossProfit {
	g := GrossProfit{Price: price, LabourCost: labourCost, PartsCost: partsCost}
	g.Profit = price - labourCost - partsCost
	g.Margin, g.MarginOK = money.Ratio(g.Profit, g.Price)
	return g
}

// Plus adds the gross profit of another line or card.
func (g GrossProfit) Plus(o GrossProfit) GrossProfit {
	return Gross(g.Price+o.Price, g.LabourCost+o.LabourCost, g.PartsCost+o.PartsCost)
}

// Ratio is one time over another. The names of these ratios clash from one
// book to the next, so the two times are always shown beside the figure.
type Ratio struct{ Part, Whole time.Duration }

// Percent is the ratio, to the nearest basis point; ok is false when there is
// no time to divide by: not available, which is not nought.
func (r Ratio) Percent() (p money.Rate, ok bool) {
	if r.Whole <= 0 {
		return 0, false
	}
	return money.Ratio(money.Minor(r.Part), money.Minor(r.Whole))
}

// Fraction writes the two times, "37.4 h / 34.0 h".
func (r Ratio) Fraction() string { return hours.Format(r.Part) + " / " + hours.Format(r.Whole) }

// String writes the figure with its fraction, "110% (37.4 h / 34.0 h)", or
// "not available" in place of the figure.
func (r Ratio) String() string {
	figure := "not available"
	if p, ok := r.Percent(); ok {
		figure = p.String()
	}
	return figure + " (" + r.Fraction() + ")"
}

// LabourRatios says how the hours of a person or a day were used. They are
// common practice, no published source.
type LabourRatios struct {
	// Efficiency is hours sold over hours worked on jobs.
	Efficiency Ratio
	// Utilisation is hours worked on jobs over hours attended.
	Utilisation Ratio
	// Productivity is hours sold over hours attended: the product of the two.
	Productivity Ratio
}

// Ratios computes the three from the hours that were billed, the hours
// clocked on jobs, and the hours of being there.
func Ratios(sold, worked, attended time.Duration) LabourRatios {
	return LabourRatios{
		Efficiency:   Ratio{sold, worked},
		Utilisation:  Ratio{worked, attended},
		Productivity: Ratio{sold, attended},
	}
}

// EffectiveRate is what an hour sold brought in: labour revenue over hours
// sold, to the nearest penny; ok is false when no hours were sold.
func EffectiveRate(revenue money.Minor, sold time.Duration) (perHour money.Minor, ok bool) {
	return money.PerHour(revenue, sold)
}
