// Package variance sets what work cost against what it was quoted to cost, by
// the variances of standard costing, and says how the hours were used.
//
// A variance is actual less standard, so that a positive one is adverse (it
// cost more) and a negative one is favourable, as managerial accounting texts
// have it (Heisinger and Hoyle, Accounting for Managers, chapter 10).
//
// Rounding: each of three costs is taken to the nearest penny: the actual one,
// the actual amount at the standard rate, and the standard one. The middle one
// is taken away in one variance and added in the other, so whatever was
// rounded off it cancels out: the two always add up to actual cost less
// standard cost, to the penny, for a line, a card or a day.
package variance

import (
	"time"

	"rampside/internal/money"
)

// LabourInput is the labour of one line.
type LabourInput struct {
	// ActualTime is the time clocked, and ActualCost what it cost: each
	// clocking at the cost of the one who did it.
	ActualTime time.Duration
	ActualCost money.Minor
	// StandardTime is the time agreed for the line, nothing for work that was
	// never agreed, and StandardRate the cost of an hour it was priced at.
	StandardTime time.Duration
	StandardRate money.Minor
}

// Labour is what labour cost against its standard.
type Labour struct {
	ActualTime, StandardTime time.Duration
	// ActualCost is what was spent, FlexedCost what the actual time costs at
	// the standard rate, StandardCost what the agreed time costs at it.
	ActualCost, FlexedCost, StandardCost money.Minor
	// Rate is (actual rate - standard rate) x actual time.
	Rate money.Minor
	// Efficiency is (actual time - standard time) x standard rate.
	Efficiency money.Minor
	// Total is ActualCost less StandardCost, and Rate plus Efficiency.
	Total money.Minor
}

// OfLabour computes the variances of a line's labour.
func OfLabour(in LabourInput) Labour {
	l := Labour{
		ActualTime:   in.ActualTime,
		StandardTime: in.StandardTime,
		ActualCost:   in.ActualCost,
		FlexedCost:   money.LabourNet(in.ActualTime, in.StandardRate),
		StandardCost: money.LabourNet(in.StandardTime, in.StandardRate),
	}
	l.Rate = l.ActualCost - l.FlexedCost
	l.Efficiency = l.FlexedCost - l.StandardCost
	l.Total = l.ActualCost - l.StandardCost
	return l
}

// Plus adds the labour of another line.
func (l Labour) Plus(o Labour) Labour {
	l.ActualTime += o.ActualTime
	l.StandardTime += o.StandardTime
	l.ActualCost += o.ActualCost
	l.FlexedCost += o.FlexedCost
	l.StandardCost += o.StandardCost
	l.Rate += o.Rate
	l.Efficiency += o.Efficiency
	l.Total += o.Total
	return l
}

// PartInput is one part of a line. Quantities are in thousandths.
type PartInput struct {
	// ActualQuantity was used, and ActualCost is what that cost.
	ActualQuantity int64
	ActualCost     money.Minor
	// StandardQuantity was agreed, nothing for a part that was never agreed,
	// and StandardPrice is the cost of one it was priced at.
	StandardQuantity int64
	StandardPrice    money.Minor
}

// Parts is what parts cost against their standard.
type Parts struct {
	// ActualCost is what was spent, FlexedCost what the actual quantity costs
	// at the standard price, StandardCost what the agreed quantity costs at it.
	ActualCost, FlexedCost, StandardCost money.Minor
	// Price is (actual price - standard price) x actual quantity.
	Price money.Minor
	// Usage is (actual quantity - standard quantity) x standard price.
	Usage money.Minor
	// Total is ActualCost less StandardCost, and Price plus Usage.
	Total money.Minor
}

// OfPart computes the variances of one part.
func OfPart(in PartInput) Parts {
	p := Parts{
		ActualCost:   in.ActualCost,
		FlexedCost:   money.PartNet(in.ActualQuantity, in.StandardPrice),
		StandardCost: money.PartNet(in.StandardQuantity, in.StandardPrice),
	}
	p.Price = p.ActualCost - p.FlexedCost
	p.Usage = p.FlexedCost - p.StandardCost
	p.Total = p.ActualCost - p.StandardCost
	return p
}

// Plus adds another part, or the parts of another line.
func (p Parts) Plus(o Parts) Parts {
	p.ActualCost += o.ActualCost
	p.FlexedCost += o.FlexedCost
	p.StandardCost += o.StandardCost
	p.Price += o.Price
	p.Usage += o.Usage
	p.Total += o.Total
	return p
}

// Word says which way a variance goes: "adverse", "favourable" or "none".
func Word(v money.Minor) string {
	switch {
	case v > 0:
		return "adverse"
	case v < 0:
		return "favourable"
	}
	return "none"
}

// Format writes a variance as its amount and its word, "£37.80 adverse": no
// sign, so that nobody has to know which way it counts.
func Format(v money.Minor) string {
	switch {
	case v > 0:
		return money.Format(v) + " " + Word(v)
	case v < 0:
		return money.Format(-v) + " " + Word(v)
	}
	return Word(v)
}
