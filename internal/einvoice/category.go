package einvoice

import "rampside/internal/money"

// base is what the lines, charges and allowances of a document come to in one
// category, at one rate where the category has several.
func (in *Invoice) base(t Tax) money.Minor {
	var sum money.Minor
	for _, l := range in.Lines {
		if l.Tax == t {
			sum += l.Net
		}
	}
	for _, a := range in.Adjust {
		if a.Tax == t {
			sum += a.signed()
		}
	}
	return sum
}

// badBases tells whether a rate of a category is broken down to another base
// than it has, twice, or not at all.
func (in *Invoice) badBases(c Category) bool {
	seen := map[Tax]bool{}
	for _, b := range in.Breakdown {
		if b.Tax.Category != c {
			continue
		}
		if seen[b.Tax] || b.Base != in.base(b.Tax) {
			return true
		}
		seen[b.Tax] = true
	}
	missing := func(t Tax) bool { return t.Category == c && !seen[t] }
	for _, l := range in.Lines {
		if missing(l.Tax) {
			return true
		}
	}
	for _, a := range in.Adjust {
		if missing(a.Tax) {
			return true
		}
	}
	return false
}

// uses tells whether a line, an allowance or a charge is in a category.
func (in *Invoice) uses(c Category) bool {
	return in.lineIn(c) || in.adjustIn(c, false) || in.adjustIn(c, true)
}

func (in *Invoice) lineIn(c Category) bool {
	for _, l := range in.Lines {
		if l.Tax.Category == c {
			return true
		}
	}
	return false
}

func (in *Invoice) adjustIn(c Category, charge bool) bool {
	return anyOf(in.Adjust, charge, func(a AllowanceCharge) bool { return a.Tax.Category == c })
}

// breakdowns counts the lines of the breakdown in a category.
func (in *Invoice) breakdowns(c Category) (n int) {
	for _, b := range in.Breakdown {
		if b.Tax.Category == c {
			n++
		}
	}
	return n
}

// categoryRules are the ten rules of a category within the scope of VAT: the
// standard one may have several rates above zero, the others have zero.
func categoryRules(c Category, letter string) []rule {
	id := func(n string) string { return "BR-" + letter + "-" + n }
	needsVATID := func(n, says string, used func(in *Invoice) bool) rule {
		return when(id(n), says+" needs the seller's VAT number", func(in *Invoice) bool { return used(in) && blank(in.Seller.VATID) })
	}
	badRate := func(t Tax) bool {
		if c == Standard {
			return t.Category == c && (!t.Rated || t.Rate <= 0)
		}
		return t.Category == c && (!t.Rated || t.Rate != 0)
	}
	rate := "the rate of this category is zero"
	if c == Standard {
		rate = "the rate of this category is above zero"
	}
	list := []rule{
		when(id("01"), "the VAT breakdown must have the category when the document has, once unless it has several rates", func(in *Invoice) bool {
			n := in.breakdowns(c)
			return in.uses(c) != (n > 0) || n > 1 && c != Standard
		}),
		needsVATID("02", "a line in this category", func(in *Invoice) bool { return in.lineIn(c) }),
		needsVATID("03", "an allowance in this category", func(in *Invoice) bool { return in.adjustIn(c, false) }),
		needsVATID("04", "a charge in this category", func(in *Invoice) bool { return in.adjustIn(c, true) }),
		eachLine(id("05"), rate, func(l Line) bool { return badRate(l.Tax) }),
		eachAdjust(id("06"), rate, false, func(a AllowanceCharge) bool { return badRate(a.Tax) }),
		eachAdjust(id("07"), rate, true, func(a AllowanceCharge) bool { return badRate(a.Tax) }),
		when(id("08"), "the base of each rate is the sum of the lines, charges and allowances at that rate", func(in *Invoice) bool { return in.badBases(c) }),
	}
	if c == Standard {
		return append(list,
			eachBreakdown(id("09"), "the VAT is not the base at the rate", func(_ *Invoice, b Breakdown) bool {
				return b.Tax.Category == c && b.VAT != money.Percent(b.Base, b.Tax.Rate)
			}),
			eachBreakdown(id("10"), "there is no reason to be free of VAT here", func(_ *Invoice, b Breakdown) bool {
				return b.Tax.Category == c && !blank(b.Reason+b.ReasonCode)
			}))
	}
	return append(list,
		eachBreakdown(id("09"), "the VAT of this category is nothing", func(_ *Invoice, b Breakdown) bool { return b.Tax.Category == c && b.VAT != 0 }),
		eachBreakdown(id("10"), "exempt needs a reason, a zero rate has none", func(_ *Invoice, b Breakdown) bool {
			return b.Tax.Category == c && blank(b.Reason+b.ReasonCode) == (c == Exempt)
		}))
}

// outsideRules are those of what lies outside the scope of VAT.
var outsideRules = []rule{
	when("BR-O-01", "the VAT breakdown must have the category once when the document has", func(in *Invoice) bool {
		n := in.breakdowns(Outside)
		return in.uses(Outside) != (n > 0) || n > 1
	}),
	noVATID("BR-O-02", "a line", func(in *Invoice) bool { return in.lineIn(Outside) }),
	noVATID("BR-O-03", "an allowance", func(in *Invoice) bool { return in.adjustIn(Outside, false) }),
	noVATID("BR-O-04", "a charge", func(in *Invoice) bool { return in.adjustIn(Outside, true) }),
	eachLine("BR-O-05", "outside the scope there is no rate", func(l Line) bool { return outsideRated(l.Tax) }),
	eachAdjust("BR-O-06", "outside the scope there is no rate", false, func(a AllowanceCharge) bool { return outsideRated(a.Tax) }),
	eachAdjust("BR-O-07", "outside the scope there is no rate", true, func(a AllowanceCharge) bool { return outsideRated(a.Tax) }),
	eachBreakdown("BR-O-08", "the base is not the sum of what lies outside the scope", func(in *Invoice, b Breakdown) bool {
		return b.Tax.Category == Outside && b.Base != in.base(Tax{Category: Outside})
	}),
	eachBreakdown("BR-O-09", "outside the scope there is no VAT", func(_ *Invoice, b Breakdown) bool { return b.Tax.Category == Outside && b.VAT != 0 }),
	eachBreakdown("BR-O-10", "outside the scope needs a reason", func(_ *Invoice, b Breakdown) bool { return b.Tax.Category == Outside && blank(b.Reason+b.ReasonCode) }),
	when("BR-O-11", "outside the scope and other categories cannot share a document", func(in *Invoice) bool {
		n := in.breakdowns(Outside)
		return n > 0 && n != len(in.Breakdown)
	}),
	eachLineBeside("BR-O-12", func(in *Invoice) bool {
		for _, l := range in.Lines {
			if l.Tax.Category != Outside {
				return true
			}
		}
		return false
	}),
	eachLineBeside("BR-O-13", func(in *Invoice) bool {
		return anyOf(in.Adjust, false, func(a AllowanceCharge) bool { return a.Tax.Category != Outside })
	}),
	eachLineBeside("BR-O-14", func(in *Invoice) bool {
		return anyOf(in.Adjust, true, func(a AllowanceCharge) bool { return a.Tax.Category != Outside })
	}),
}

func outsideRated(t Tax) bool { return t.Category == Outside && t.Rated }

func noVATID(id, says string, used func(in *Invoice) bool) rule {
	return when(id, says+" outside the scope goes without VAT numbers", func(in *Invoice) bool {
		return used(in) && !blank(in.Seller.VATID+in.Buyer.VATID)
	})
}

func eachLineBeside(id string, other func(in *Invoice) bool) rule {
	return when(id, "a document outside the scope holds nothing of another category", func(in *Invoice) bool {
		return in.breakdowns(Outside) > 0 && other(in)
	})
}
