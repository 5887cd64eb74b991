package einvoice

import "rampside/internal/money"

func noReason(a AllowanceCharge) bool { return blank(a.Reason) && blank(a.ReasonCode) }

func noCategory(a AllowanceCharge) bool { return blank(a.Tax.Category) }

// presence is what must be there. That amounts are there, and have at most two
// decimals (BR-DEC), follows from the model; of a file that is read, the reader
// sees to it.
var presence = []rule{
	when("BR-01", "a specification identifier is needed", func(in *Invoice) bool { return blank(in.Specification) }),
	when("BR-02", "a number is needed", func(in *Invoice) bool { return blank(in.Number) }),
	when("BR-03", "a date of issue is needed", func(in *Invoice) bool { return in.Issued.IsZero() }),
	when("BR-04", "a type code is needed", func(in *Invoice) bool { return blank(in.Kind) }),
	when("BR-05", "a currency is needed", func(in *Invoice) bool { return blank(in.Currency) }),
	when("BR-06", "the seller's name is needed", func(in *Invoice) bool { return blank(in.Seller.Name) }),
	when("BR-07", "the buyer's name is needed", func(in *Invoice) bool { return blank(in.Buyer.Name) }),
	when("BR-08", "the seller's address is needed", func(in *Invoice) bool { return in.Seller.noAddress() }),
	when("BR-09", "the seller's country is needed", func(in *Invoice) bool { return blank(in.Seller.Country) }),
	when("BR-10", "the buyer's address is needed", func(in *Invoice) bool { return in.Buyer.noAddress() }),
	when("BR-11", "the buyer's country is needed", func(in *Invoice) bool { return blank(in.Buyer.Country) }),
	when("BR-16", "there must be a line", func(in *Invoice) bool { return len(in.Lines) == 0 }),
	eachLine("BR-21", "a line needs an identifier", func(l Line) bool { return blank(l.ID) }),
	eachLine("BR-23", "a quantity needs a unit", func(l Line) bool { return blank(l.Unit) }),
	eachLine("BR-25", "a line needs a name", func(l Line) bool { return blank(l.Name) }),
	eachLine("BR-27", "a price is not negative", func(l Line) bool { return l.Price < 0 }),
	eachAdjust("BR-32", "an allowance needs a VAT category", false, noCategory),
	eachAdjust("BR-33", "an allowance needs a reason", false, noReason),
	eachAdjust("BR-37", "a charge needs a VAT category", true, noCategory),
	eachAdjust("BR-38", "a charge needs a reason", true, noReason),
	eachLineAdjust("BR-42", "an allowance of a line needs a reason", false, noReason),
	eachLineAdjust("BR-44", "a charge of a line needs a reason", true, noReason),
	eachBreakdown("BR-47", "the VAT breakdown needs a category", func(_ *Invoice, b Breakdown) bool { return blank(b.Tax.Category) }),
	eachBreakdown("BR-48", "the VAT breakdown needs a rate", func(_ *Invoice, b Breakdown) bool { return b.Tax.Category != Outside && !b.Tax.Rated }),
	when("BR-49", "payment needs its means", func(in *Invoice) bool { return in.Payment != nil && blank(in.Payment.Code) }),
	when("BR-50", "an account named needs its number", func(in *Invoice) bool {
		return in.Payment != nil && blank(in.Payment.Account) && !blank(in.Payment.AccountName+in.Payment.Bank)
	}),
	when("BR-55", "an earlier document needs its number", func(in *Invoice) bool {
		for _, p := range in.Preceding {
			if blank(p.Number) {
				return true
			}
		}
		return false
	}),
	when("BR-61", "a credit transfer needs the account to pay into", func(in *Invoice) bool {
		return in.Payment != nil && transferCodes[in.Payment.Code] && blank(in.Payment.Account)
	}),
	when("BR-62", "the seller's electronic address needs its scheme", func(in *Invoice) bool { return !blank(in.Seller.Endpoint.Value) && blank(in.Seller.Endpoint.Scheme) }),
	when("BR-63", "the buyer's electronic address needs its scheme", func(in *Invoice) bool { return !blank(in.Buyer.Endpoint.Value) && blank(in.Buyer.Endpoint.Scheme) }),
	eachLine("BR-CO-04", "a line needs a VAT category", func(l Line) bool { return blank(l.Tax.Category) }),
	when("BR-CO-09", "a VAT number begins with its country", func(in *Invoice) bool { return badPrefix(in.Seller.VATID) || badPrefix(in.Buyer.VATID) }),
	when("BR-CO-18", "there must be a VAT breakdown", func(in *Invoice) bool { return len(in.Breakdown) == 0 }),
	eachAdjust("BR-CO-21", "an allowance needs a reason or its code", false, noReason),
	eachAdjust("BR-CO-22", "a charge needs a reason or its code", true, noReason),
	eachLineAdjust("BR-CO-23", "an allowance of a line needs a reason or its code", false, noReason),
	eachLineAdjust("BR-CO-24", "a charge of a line needs a reason or its code", true, noReason),
	when("BR-CO-25", "an amount to pay needs a date or terms", func(in *Invoice) bool {
		return in.Kind == Bill && in.Payable > 0 && in.Due.IsZero() && blank(in.Terms)
	}),
	when("BR-CO-26", "the seller needs an identifier, a company number or a VAT number", func(in *Invoice) bool {
		return blank(in.Seller.ID.Value + in.Seller.LegalID.Value + in.Seller.VATID)
	}),
}

func (p Party) noAddress() bool {
	return blank(p.Street + p.Street2 + p.Street3 + p.City + p.Postcode + p.County + p.Country)
}

func badPrefix(vat string) bool {
	return !blank(vat) && (len(vat) < 3 || !countries[vat[:2]] && !vatPrefixes[vat[:2]])
}

// sums is the arithmetic, exact to the minor unit.
var sums = []rule{
	when("BR-CO-10", "the sum of the lines is not that of their net amounts", func(in *Invoice) bool {
		var sum money.Minor
		for _, l := range in.Lines {
			sum += l.Net
		}
		return in.LineTotal != sum
	}),
	when("BR-CO-11", "the sum of allowances is not that of the document's allowances", func(in *Invoice) bool { return in.AllowanceTotal != total(in.Adjust, false) }),
	when("BR-CO-12", "the sum of charges is not that of the document's charges", func(in *Invoice) bool { return in.ChargeTotal != total(in.Adjust, true) }),
	when("BR-CO-13", "the total without VAT is lines less allowances plus charges", func(in *Invoice) bool { return in.Net != in.LineTotal-in.AllowanceTotal+in.ChargeTotal }),
	when("BR-CO-14", "the VAT is the sum of the VAT of all categories", func(in *Invoice) bool {
		var sum money.Minor
		for _, b := range in.Breakdown {
			sum += b.VAT
		}
		return in.VAT != sum
	}),
	when("BR-CO-15", "the total with VAT is that without, and the VAT", func(in *Invoice) bool { return in.Gross != in.Net+in.VAT }),
	when("BR-CO-16", "the amount to pay is the total less what is paid, and the rounding", func(in *Invoice) bool { return in.Payable != in.Gross-in.Prepaid+in.Rounding }),
	eachBreakdown("BR-CO-17", "the VAT of a category is its base at its rate, to two decimals", func(_ *Invoice, b Breakdown) bool { return b.VAT != money.Percent(b.Base, b.Tax.Rate) }),
}

func total(list []AllowanceCharge, charge bool) money.Minor {
	var sum money.Minor
	for _, a := range list {
		if a.Charge == charge {
			sum += a.Amount
		}
	}
	return sum
}
