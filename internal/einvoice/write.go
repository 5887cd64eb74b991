package einvoice

import (
	"encoding/xml"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// The namespaces of UBL 2.1.
const (
	nsInvoice    = "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2"
	nsCreditNote = "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2"
	nsCAC        = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"
	nsCBC        = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"
)

// shape is where the two documents of UBL differ.
type shape struct{ root, ns, typeCode, line, quantity string }

var shapes = map[Kind]shape{
	Bill:       {"Invoice", nsInvoice, "InvoiceTypeCode", "InvoiceLine", "InvoicedQuantity"},
	CreditNote: {"CreditNote", nsCreditNote, "CreditNoteTypeCode", "CreditNoteLine", "CreditedQuantity"},
}

// Write makes the UBL 2.1 document of an invoice that keeps all rules; else the
// error is Findings, which says what is wrong.
func Write(in Invoice) ([]byte, error) {
	if f := Check(in); len(f) > 0 {
		return nil, f
	}
	return marshal(in.elem())
}

func (in Invoice) elem() *elem {
	s := shapes[in.Kind]
	due, typeCode := leaf("cbc:DueDate", date(in.Due)), leaf("cbc:"+s.typeCode, string(in.Kind))
	taxPoint := leaf("cbc:TaxPointDate", date(in.TaxPoint))
	kids := []*elem{
		leaf("cbc:CustomizationID", in.Specification), leaf("cbc:ProfileID", in.Process),
		leaf("cbc:ID", in.Number), leaf("cbc:IssueDate", date(in.Issued)),
	}
	// The two schemas order these differently, and a credit note has its due
	// date with the means of payment.
	if in.Kind == CreditNote {
		kids = append(kids, taxPoint, typeCode, leaf("cbc:Note", in.Note))
	} else {
		kids = append(kids, due, typeCode, leaf("cbc:Note", in.Note), taxPoint)
	}
	kids = append(kids,
		leaf("cbc:DocumentCurrencyCode", in.Currency),
		leaf("cbc:BuyerReference", in.BuyerReference),
		node("cac:OrderReference", leaf("cbc:ID", in.Order)),
	)
	for _, p := range in.Preceding {
		kids = append(kids, node("cac:BillingReference", node("cac:InvoiceDocumentReference",
			leaf("cbc:ID", p.Number), leaf("cbc:IssueDate", date(p.Issued)))))
	}
	kids = append(kids,
		node("cac:AccountingSupplierParty", in.Seller.elem()),
		node("cac:AccountingCustomerParty", in.Buyer.elem()),
		node("cac:Delivery", leaf("cbc:ActualDeliveryDate", date(in.Delivered))),
		in.payment(),
		node("cac:PaymentTerms", leaf("cbc:Note", in.Terms)),
	)
	for _, a := range in.Adjust {
		kids = append(kids, in.allowance(a, true))
	}
	kids = append(kids, in.taxTotal(), in.totals())
	for _, l := range in.Lines {
		kids = append(kids, in.line(s, l))
	}
	root := node(s.root, kids...)
	for _, a := range [][2]string{{"xmlns", s.ns}, {"xmlns:cac", nsCAC}, {"xmlns:cbc", nsCBC}} {
		root.attrs = append(root.attrs, xml.Attr{Name: xml.Name{Local: a[0]}, Value: a[1]})
	}
	return root
}

func date(d workday.Day) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

// amount is an amount in the document's currency.
func (in Invoice) amount(name string, m money.Minor) *elem {
	return leaf("cbc:"+name, money.FormatPlain(m), "currencyID", in.Currency)
}

// unlessZero leaves out a total that is optional.
func (in Invoice) unlessZero(name string, m money.Minor) *elem {
	if m == 0 {
		return nil
	}
	return in.amount(name, m)
}

func percent(r money.Rate) string {
	s := money.FormatRate(r)
	return s[:len(s)-1]
}

func (p Party) elem() *elem {
	return node("cac:Party",
		leaf("cbc:EndpointID", p.Endpoint.Value, "schemeID", p.Endpoint.Scheme),
		node("cac:PartyIdentification", leaf("cbc:ID", p.ID.Value, "schemeID", p.ID.Scheme)),
		node("cac:PartyName", leaf("cbc:Name", p.TradingName)),
		node("cac:PostalAddress",
			leaf("cbc:StreetName", p.Street), leaf("cbc:AdditionalStreetName", p.Street2),
			leaf("cbc:CityName", p.City), leaf("cbc:PostalZone", p.Postcode), leaf("cbc:CountrySubentity", p.County),
			node("cac:AddressLine", leaf("cbc:Line", p.Street3)),
			node("cac:Country", leaf("cbc:IdentificationCode", p.Country))),
		node("cac:PartyTaxScheme", leaf("cbc:CompanyID", p.VATID), vatScheme(p.VATID != "")),
		node("cac:PartyLegalEntity", leaf("cbc:RegistrationName", p.Name), leaf("cbc:CompanyID", p.LegalID.Value, "schemeID", p.LegalID.Scheme)),
		node("cac:Contact", leaf("cbc:Name", p.ContactName), leaf("cbc:Telephone", p.ContactPhone), leaf("cbc:ElectronicMail", p.Email)),
	)
}

func vatScheme(wanted bool) *elem {
	if !wanted {
		return nil
	}
	return node("cac:TaxScheme", leaf("cbc:ID", "VAT"))
}

func (in Invoice) payment() *elem {
	p := in.Payment
	if p == nil {
		return nil
	}
	due := ""
	if in.Kind == CreditNote {
		due = date(in.Due)
	}
	return node("cac:PaymentMeans",
		leaf("cbc:PaymentMeansCode", p.Code), leaf("cbc:PaymentDueDate", due), leaf("cbc:PaymentID", p.Reference),
		node("cac:PayeeFinancialAccount", leaf("cbc:ID", p.Account), leaf("cbc:Name", p.AccountName),
			node("cac:FinancialInstitutionBranch", leaf("cbc:ID", p.Bank))))
}

func (in Invoice) allowance(a AllowanceCharge, document bool) *elem {
	indicator := "false"
	if a.Charge {
		indicator = "true"
	}
	var factor, base, tax *elem
	if a.Percent != nil {
		factor = leaf("cbc:MultiplierFactorNumeric", percent(*a.Percent))
	}
	if a.Base != nil {
		base = in.amount("BaseAmount", *a.Base)
	}
	if document {
		tax = a.Tax.elem("cac:TaxCategory", "", "")
	}
	return node("cac:AllowanceCharge", leaf("cbc:ChargeIndicator", indicator),
		leaf("cbc:AllowanceChargeReasonCode", a.ReasonCode), leaf("cbc:AllowanceChargeReason", a.Reason),
		factor, in.amount("Amount", a.Amount), base, tax)
}

func (t Tax) elem(name, reasonCode, reason string) *elem {
	var rate *elem
	if t.Rated {
		rate = leaf("cbc:Percent", percent(t.Rate))
	}
	return node(name, leaf("cbc:ID", string(t.Category)), rate,
		leaf("cbc:TaxExemptionReasonCode", reasonCode), leaf("cbc:TaxExemptionReason", reason), vatScheme(true))
}

func (in Invoice) taxTotal() *elem {
	kids := []*elem{in.amount("TaxAmount", in.VAT)}
	for _, b := range in.Breakdown {
		kids = append(kids, node("cac:TaxSubtotal", in.amount("TaxableAmount", b.Base), in.amount("TaxAmount", b.VAT),
			b.Tax.elem("cac:TaxCategory", b.ReasonCode, b.Reason)))
	}
	return node("cac:TaxTotal", kids...)
}

func (in Invoice) totals() *elem {
	return node("cac:LegalMonetaryTotal",
		in.amount("LineExtensionAmount", in.LineTotal), in.amount("TaxExclusiveAmount", in.Net), in.amount("TaxInclusiveAmount", in.Gross),
		in.unlessZero("AllowanceTotalAmount", in.AllowanceTotal), in.unlessZero("ChargeTotalAmount", in.ChargeTotal),
		in.unlessZero("PrepaidAmount", in.Prepaid), in.unlessZero("PayableRoundingAmount", in.Rounding),
		in.amount("PayableAmount", in.Payable))
}

func (in Invoice) line(s shape, l Line) *elem {
	kids := []*elem{
		leaf("cbc:ID", l.ID), leaf("cbc:Note", l.Note),
		leaf("cbc:"+s.quantity, money.FormatQuantity(l.Qty), "unitCode", l.Unit),
		in.amount("LineExtensionAmount", l.Net),
	}
	for _, a := range l.Adjust {
		kids = append(kids, in.allowance(a, false))
	}
	var per *elem
	if l.Per != 0 {
		per = leaf("cbc:BaseQuantity", money.FormatQuantity(l.Per), "unitCode", l.Unit)
	}
	kids = append(kids,
		node("cac:Item", leaf("cbc:Description", l.Description), leaf("cbc:Name", l.Name),
			node("cac:SellersItemIdentification", leaf("cbc:ID", l.SellersID)),
			l.Tax.elem("cac:ClassifiedTaxCategory", "", "")),
		node("cac:Price", leaf("cbc:PriceAmount", l.Price.String(), "currencyID", in.Currency), per))
	return node("cac:"+s.line, kids...)
}
