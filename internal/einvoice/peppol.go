package einvoice

import "rampside/internal/money"

// codeRules hold codes against their lists.
var codeRules = []rule{
	when("BR-CL-01", "the type is a bill or a credit note", func(in *Invoice) bool { _, ok := shapes[in.Kind]; return !ok }),
	when("BR-CL-04", "the currency is not of ISO 4217, or has no hundredths", func(in *Invoice) bool { _, err := money.CurrencyOf(in.Currency); return err != nil }),
	when("BR-CL-10", "the scheme of a party's identifier is not of ISO 6523", func(in *Invoice) bool { return badICD(in.Seller.ID) || badICD(in.Buyer.ID) }),
	when("BR-CL-11", "the scheme of a company number is not of ISO 6523", func(in *Invoice) bool { return badICD(in.Seller.LegalID) || badICD(in.Buyer.LegalID) }),
	when("BR-CL-14", "the country is not of ISO 3166", func(in *Invoice) bool { return badCountry(in.Seller.Country) || badCountry(in.Buyer.Country) }),
	when("BR-CL-16", "the means of payment is not known", func(in *Invoice) bool {
		return in.Payment != nil && !meansCodes[in.Payment.Code]
	}),
	eachBreakdown("BR-CL-17", "the VAT category is not known", func(_ *Invoice, b Breakdown) bool { return !known(b.Tax) }),
	eachLine("BR-CL-18", "the VAT category is not known", func(l Line) bool { return !known(l.Tax) }),
	allAdjust("BR-CL-19", "the reason of an allowance is not known", func(a AllowanceCharge) bool {
		return !a.Charge && !blank(a.ReasonCode) && !allowanceCodes[a.ReasonCode]
	}),
	allAdjust("BR-CL-20", "the reason of a charge is not known", func(a AllowanceCharge) bool { return a.Charge && !blank(a.ReasonCode) && !chargeCodes[a.ReasonCode] }),
	eachBreakdown("BR-CL-22", "the reason to be free of VAT is not known", func(_ *Invoice, b Breakdown) bool { return !blank(b.ReasonCode) && !reasonCodes[b.ReasonCode] }),
	eachLine("BR-CL-23", "the unit is not of UN/ECE Recommendation 20", func(l Line) bool { return !unitCodes[l.Unit] }),
	when("BR-CL-25", "the scheme of an electronic address is not known", func(in *Invoice) bool { return badScheme(in.Seller.Endpoint) || badScheme(in.Buyer.Endpoint) }),
}

func known(t Tax) bool {
	switch t.Category {
	case Standard, Zero, Exempt, Outside:
		return true
	}
	return false
}

func badCountry(c string) bool { return !blank(c) && !countries[c] }

func badScheme(id Identifier) bool { return !blank(id.Scheme) && !schemes[id.Scheme] }

// badICD: of the electronic addresses' schemes, those that begin with 0 are
// those of ISO 6523.
func badICD(id Identifier) bool {
	return !blank(id.Scheme) && (!schemes[id.Scheme] || id.Scheme[0] != '0')
}

// peppolRules are those that Peppol BIS Billing 3.0 adds.
var peppolRules = []rule{
	when("PEPPOL-EN16931-R001", "a business process is needed", func(in *Invoice) bool { return blank(in.Process) }),
	when("PEPPOL-EN16931-R003", "a buyer's reference or an order number is needed", func(in *Invoice) bool { return blank(in.BuyerReference + in.Order) }),
	when("PEPPOL-EN16931-R004", "the specification must be Peppol BIS Billing 3.0", func(in *Invoice) bool { return in.Specification != Specification }),
	when("PEPPOL-EN16931-R007", "the business process must be that of billing", func(in *Invoice) bool { return in.Process != Process }),
	when("PEPPOL-EN16931-R010", "the buyer needs an electronic address", func(in *Invoice) bool { return blank(in.Buyer.Endpoint.Value) }),
	when("PEPPOL-EN16931-R020", "the seller needs an electronic address", func(in *Invoice) bool { return blank(in.Seller.Endpoint.Value) }),
	allAdjust("PEPPOL-EN16931-R040", "an allowance or charge is its base at its percentage", func(a AllowanceCharge) bool {
		return a.Percent != nil && a.Base != nil && a.Amount != money.Percent(*a.Base, *a.Percent)
	}),
	allAdjust("PEPPOL-EN16931-R041", "a percentage needs its base", func(a AllowanceCharge) bool { return a.Percent != nil && a.Base == nil }),
	allAdjust("PEPPOL-EN16931-R042", "a base needs its percentage", func(a AllowanceCharge) bool { return a.Base != nil && a.Percent == nil }),
	eachLine("PEPPOL-EN16931-R120", "a line is its quantity at its price, plus charges, less allowances", func(l Line) bool { return l.Net != l.lineNet() }),
	eachLine("PEPPOL-EN16931-R121", "a price is for a quantity above nothing", func(l Line) bool { return l.Per < 0 }),
}
