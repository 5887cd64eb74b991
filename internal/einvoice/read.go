package einvoice

import (
	"io"

	"rampside/internal/money"
)

// Read reads a UBL 2.1 invoice or credit note. It takes what Write writes, and
// of others what the model holds; what it has no place for is passed over, so
// Check the result before anything rests on it. Errors wrap ErrNotRead: a file
// that is too large or too deep, declares a document type or entities, is no
// such document, or has an amount that is missing or has too many decimals.
func Read(from io.Reader) (Invoice, error) {
	root, err := readTree(from)
	if err != nil {
		return Invoice{}, err
	}
	r := &reader{}
	var in Invoice
	for kind, s := range shapes {
		if root.Name.Space == s.ns && root.Name.Local == s.root {
			in.Kind = kind
		}
	}
	if in.Kind == "" {
		r.fail("its root is %.60q", root.Name.Local)
		return Invoice{}, r.err
	}
	r.invoice(root, &in)
	if r.err != nil {
		return Invoice{}, r.err
	}
	return in, nil
}

func (r *reader) invoice(t *tree, in *Invoice) {
	s := shapes[in.Kind]
	r.currency = r.str(t, "cbc:DocumentCurrencyCode")
	in.Currency = r.currency
	in.Specification, in.Process = r.str(t, "cbc:CustomizationID"), r.str(t, "cbc:ProfileID")
	in.Number, in.Issued = r.str(t, "cbc:ID"), r.date(t, "cbc:IssueDate")
	in.Kind = Kind(r.str(t, "cbc:"+s.typeCode))
	in.Due, in.TaxPoint = r.date(t, "cbc:DueDate"), r.date(t, "cbc:TaxPointDate")
	in.Delivered = r.date(t, "cac:Delivery/cbc:ActualDeliveryDate")
	in.Note = r.str(t, "cbc:Note") // PEPPOL-EN16931-R002: one at most
	in.BuyerReference, in.Order = r.str(t, "cbc:BuyerReference"), r.str(t, "cac:OrderReference/cbc:ID")
	for _, b := range all(t, "cac:BillingReference") {
		in.Preceding = append(in.Preceding, Reference{r.str(b, "cac:InvoiceDocumentReference/cbc:ID"), r.date(b, "cac:InvoiceDocumentReference/cbc:IssueDate")})
	}
	in.Seller = r.party(r.one(t, "cac:AccountingSupplierParty/cac:Party"))
	in.Buyer = r.party(r.one(t, "cac:AccountingCustomerParty/cac:Party"))
	if p := r.one(t, "cac:PaymentMeans"); p != nil {
		in.Payment = &Payment{
			Code: r.str(p, "cbc:PaymentMeansCode"), Reference: r.str(p, "cbc:PaymentID"),
			Account: r.str(p, "cac:PayeeFinancialAccount/cbc:ID"), AccountName: r.str(p, "cac:PayeeFinancialAccount/cbc:Name"),
			Bank: r.str(p, "cac:PayeeFinancialAccount/cac:FinancialInstitutionBranch/cbc:ID"),
		}
		if s == shapes[CreditNote] {
			in.Due = r.date(p, "cbc:PaymentDueDate")
		}
	}
	in.Terms = r.str(t, "cac:PaymentTerms/cbc:Note")
	for _, a := range all(t, "cac:AllowanceCharge") {
		in.Adjust = append(in.Adjust, r.allowance(a, true))
	}
	r.taxTotal(t, in)
	r.totals(r.one(t, "cac:LegalMonetaryTotal"), in)
	for _, l := range all(t, "cac:"+s.line) {
		in.Lines = append(in.Lines, r.line(l, s))
	}
}

func (r *reader) party(t *tree) Party {
	a := r.one(t, "cac:PostalAddress")
	var vat string
	for _, scheme := range all(t, "cac:PartyTaxScheme") {
		if r.str(scheme, "cac:TaxScheme/cbc:ID") == "VAT" {
			vat = r.str(scheme, "cbc:CompanyID")
		}
	}
	return Party{
		Endpoint: r.id(t, "cbc:EndpointID"), ID: r.id(t, "cac:PartyIdentification/cbc:ID"),
		Name: r.str(t, "cac:PartyLegalEntity/cbc:RegistrationName"), TradingName: r.str(t, "cac:PartyName/cbc:Name"),
		LegalID: r.id(t, "cac:PartyLegalEntity/cbc:CompanyID"), VATID: vat,
		Street: r.str(a, "cbc:StreetName"), Street2: r.str(a, "cbc:AdditionalStreetName"), Street3: r.str(a, "cac:AddressLine/cbc:Line"),
		City: r.str(a, "cbc:CityName"), Postcode: r.str(a, "cbc:PostalZone"), County: r.str(a, "cbc:CountrySubentity"),
		Country:     r.str(a, "cac:Country/cbc:IdentificationCode"),
		ContactName: r.str(t, "cac:Contact/cbc:Name"), ContactPhone: r.str(t, "cac:Contact/cbc:Telephone"), Email: r.str(t, "cac:Contact/cbc:ElectronicMail"),
	}
}

// allowanceRules are the rules for a missing amount and for decimals, of the
// amount and of its base: first allowances, then charges; first those of a
// line, then those of a document.
var allowanceRules = map[bool]map[bool][3]string{
	false: {false: {"BR-41", "BR-DEC-24", "BR-DEC-25"}, true: {"BR-31", "BR-DEC-01", "BR-DEC-02"}},
	true:  {false: {"BR-43", "BR-DEC-27", "BR-DEC-28"}, true: {"BR-36", "BR-DEC-05", "BR-DEC-06"}},
}

func (r *reader) allowance(t *tree, document bool) AllowanceCharge {
	a := AllowanceCharge{Reason: r.str(t, "cbc:AllowanceChargeReason"), ReasonCode: r.str(t, "cbc:AllowanceChargeReasonCode")}
	switch r.str(t, "cbc:ChargeIndicator") {
	case "true":
		a.Charge = true
	case "false":
	default:
		r.fail("PEPPOL-EN16931-R043: an allowance or charge must say which it is")
	}
	rules := allowanceRules[a.Charge][document]
	a.Amount = r.amount(t, "cbc:Amount", rules[0], rules[1])
	a.Base, a.Percent = r.optional(t, "cbc:BaseAmount", rules[2]), r.rate(t, "cbc:MultiplierFactorNumeric")
	if document {
		a.Tax = r.tax(r.one(t, "cac:TaxCategory"))
	}
	return a
}

func (r *reader) tax(t *tree) Tax {
	tax := Tax{Category: Category(r.str(t, "cbc:ID"))}
	if rate := r.rate(t, "cbc:Percent"); rate != nil {
		tax.Rated, tax.Rate = true, *rate
	}
	return tax
}

// taxTotal reads the one tax total that has a breakdown; another, without one,
// is VAT in the currency of the accounts.
func (r *reader) taxTotal(t *tree, in *Invoice) {
	var with []*tree
	for _, total := range all(t, "cac:TaxTotal") {
		if len(all(total, "cac:TaxSubtotal")) > 0 {
			with = append(with, total)
		}
	}
	if len(with) != 1 {
		r.fail("PEPPOL-EN16931-R053: there must be one tax total with a breakdown")
		return
	}
	in.VAT = r.amount(with[0], "cbc:TaxAmount", "BR-CO-14", "BR-DEC-13")
	for _, s := range all(with[0], "cac:TaxSubtotal") {
		c := r.one(s, "cac:TaxCategory")
		in.Breakdown = append(in.Breakdown, Breakdown{
			Tax: r.tax(c), Base: r.amount(s, "cbc:TaxableAmount", "BR-45", "BR-DEC-19"), VAT: r.amount(s, "cbc:TaxAmount", "BR-46", "BR-DEC-20"),
			Reason: r.str(c, "cbc:TaxExemptionReason"), ReasonCode: r.str(c, "cbc:TaxExemptionReasonCode"),
		})
	}
}

func (r *reader) totals(t *tree, in *Invoice) {
	in.LineTotal = r.amount(t, "cbc:LineExtensionAmount", "BR-12", "BR-DEC-09")
	in.Net = r.amount(t, "cbc:TaxExclusiveAmount", "BR-13", "BR-DEC-12")
	in.Gross = r.amount(t, "cbc:TaxInclusiveAmount", "BR-14", "BR-DEC-14")
	in.AllowanceTotal = r.orZero(t, "cbc:AllowanceTotalAmount", "BR-DEC-10")
	in.ChargeTotal = r.orZero(t, "cbc:ChargeTotalAmount", "BR-DEC-11")
	in.Prepaid = r.orZero(t, "cbc:PrepaidAmount", "BR-DEC-16")
	in.Rounding = r.orZero(t, "cbc:PayableRoundingAmount", "BR-DEC-17")
	in.Payable = r.amount(t, "cbc:PayableAmount", "BR-15", "BR-DEC-18")
}

func (r *reader) line(t *tree, s shape) Line {
	l := Line{
		ID: r.str(t, "cbc:ID"), Note: r.str(t, "cbc:Note"),
		Name: r.str(t, "cac:Item/cbc:Name"), Description: r.str(t, "cac:Item/cbc:Description"),
		SellersID: r.str(t, "cac:Item/cac:SellersItemIdentification/cbc:ID"),
		Net:       r.amount(t, "cbc:LineExtensionAmount", "BR-24", "BR-DEC-23"),
		Tax:       r.tax(r.one(t, "cac:Item/cac:ClassifiedTaxCategory")),
	}
	for _, a := range all(t, "cac:AllowanceCharge") {
		l.Adjust = append(l.Adjust, r.allowance(a, false))
	}
	if q := r.one(t, "cbc:"+s.quantity); q != nil {
		l.Qty, l.Unit = r.quantity(q)
	} else {
		r.fail("BR-22: line %.20s has no quantity", l.ID)
	}
	price := r.one(t, "cac:Price/cbc:PriceAmount")
	if price == nil {
		r.fail("BR-26: line %.20s has no price", l.ID)
		return l
	}
	n, ok := fixed(clean(string(price.text)), 4)
	switch {
	case !ok || n > int64(money.MaxLine)*100 || n < -int64(money.MaxLine)*100:
		r.fail("the price of line %.20s is no amount of at most four decimals", l.ID)
	case price.attr("currencyID") != r.currency:
		r.fail("PEPPOL-EN16931-R051: the price of line %.20s is not in the currency of the document", l.ID)
	}
	l.Price = Price(n)
	if base := r.one(t, "cac:Price/cbc:BaseQuantity"); base != nil {
		var unit string
		if l.Per, unit = r.quantity(base); unit != "" && unit != l.Unit {
			r.fail("PEPPOL-EN16931-R130: line %.20s counts one unit and prices another", l.ID)
		}
		if l.Per == 0 {
			r.fail("PEPPOL-EN16931-R121: line %.20s has a price for a quantity of nothing", l.ID)
		}
	}
	return l
}
