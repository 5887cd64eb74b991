package einvoice

import (
	"bytes"
	"encoding/xml"
	"errors"
	"reflect"
	"strings"
	"testing"

	"rampside/internal/workday"
)

func written(t testing.TB, in Invoice) string {
	t.Helper()
	b, err := Write(in)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestADocumentIsReadBackAsItWasWritten(t *testing.T) {
	credit := sample()
	credit.Kind = CreditNote
	for name, in := range map[string]Invoice{"bill": sample(), "credit note": credit, "outside": outside()} {
		text := written(t, in)
		back, err := Read(strings.NewReader(text))
		if err != nil || !reflect.DeepEqual(back, in) {
			t.Errorf("%s:\n%+v, %v, not\n%+v\n%s", name, back, err, in, text)
		}
		if strings.Contains(text, "></") {
			t.Errorf("PEPPOL-EN16931-R008: %s has an empty element", name)
		}
	}
}

// The order of elements is that of the UBL 2.1 schemas (OASIS), which differ
// for the two documents.
func TestElementsStandInTheOrderOfTheSchema(t *testing.T) {
	credit := sample()
	credit.Kind = CreditNote
	for _, c := range []struct {
		in    Invoice
		order string
	}{
		{sample(), "CustomizationID ProfileID ID IssueDate DueDate InvoiceTypeCode Note TaxPointDate DocumentCurrencyCode BuyerReference OrderReference " +
			"BillingReference AccountingSupplierParty AccountingCustomerParty Delivery PaymentMeans PaymentTerms AllowanceCharge AllowanceCharge TaxTotal " +
			"LegalMonetaryTotal InvoiceLine InvoiceLine InvoiceLine InvoiceLine InvoiceLine"},
		{credit, "CustomizationID ProfileID ID IssueDate TaxPointDate CreditNoteTypeCode Note DocumentCurrencyCode BuyerReference OrderReference " +
			"BillingReference AccountingSupplierParty AccountingCustomerParty Delivery PaymentMeans PaymentTerms AllowanceCharge AllowanceCharge TaxTotal " +
			"LegalMonetaryTotal CreditNoteLine CreditNoteLine CreditNoteLine CreditNoteLine CreditNoteLine"},
	} {
		root, err := readTree(strings.NewReader(written(t, c.in)))
		if err != nil {
			t.Fatal(err)
		}
		if got := names(root); got != c.order {
			t.Errorf("%s", got)
		}
		for path, want := range map[string]string{
			"cac:AccountingSupplierParty/cac:Party":      "EndpointID PartyIdentification PartyName PostalAddress PartyTaxScheme PartyLegalEntity Contact",
			"cac:PaymentMeans/cac:PayeeFinancialAccount": "ID Name FinancialInstitutionBranch",
			"cac:LegalMonetaryTotal":                     "LineExtensionAmount TaxExclusiveAmount TaxInclusiveAmount AllowanceTotalAmount ChargeTotalAmount PrepaidAmount PayableRoundingAmount PayableAmount",
		} {
			if got := names((&reader{}).one(root, path)); got != want {
				t.Errorf("%s: %s", path, got)
			}
		}
		first := all(root, "cac:"+shapes[c.in.Kind].line)[0]
		if got := names(first); got != "ID Note "+shapes[c.in.Kind].quantity+" LineExtensionAmount AllowanceCharge AllowanceCharge Item Price" {
			t.Errorf("line: %s", got)
		}
		if got := names(all(first, "cac:AllowanceCharge")[0]); got != "ChargeIndicator AllowanceChargeReasonCode AllowanceChargeReason MultiplierFactorNumeric Amount BaseAmount" {
			t.Errorf("allowance: %s", got)
		}
	}
}

func names(t *tree) string {
	var s []string
	for _, k := range t.kids {
		s = append(s, k.Name.Local)
	}
	return strings.Join(s, " ")
}

func TestADocumentThatBreaksARuleIsNotWritten(t *testing.T) {
	in := sample()
	in.VAT++
	var f Findings
	if b, err := Write(in); !errors.As(err, &f) || b != nil {
		t.Errorf("%s %v", b, err)
	}
}

// What the model cannot hold is refused by the reader, which names the rule.
func TestAmountsThatAreMissingOrTooFineAreRefusedByRule(t *testing.T) {
	text := written(t, sample())
	// cut takes the nth element of a name out; deep gives it a third decimal.
	cut := func(name string, n int) string {
		i := nth(text, "<cbc:"+name, n)
		end := "</cbc:" + strings.TrimSpace(name) + ">"
		return text[:i] + text[i+strings.Index(text[i:], end)+len(end):]
	}
	deep := func(name string, n int) string {
		i := nth(text, "<cbc:"+name, n)
		j := i + strings.Index(text[i:], "</")
		return text[:j] + "1" + text[j:]
	}
	// Amount 1 and 2 are of the document, 3 and 4 of the first line.
	for rule, bad := range map[string]string{
		"BR-12": cut("LineExtensionAmount", 1), "BR-13": cut("TaxExclusiveAmount", 1), "BR-14": cut("TaxInclusiveAmount", 1), "BR-15": cut("PayableAmount", 1),
		"BR-22": cut("InvoicedQuantity", 1), "BR-24": cut("LineExtensionAmount", 2), "BR-26": cut("PriceAmount", 1),
		"BR-31": cut("Amount ", 1), "BR-36": cut("Amount ", 2), "BR-41": cut("Amount ", 3), "BR-43": cut("Amount ", 4),
		"BR-45": cut("TaxableAmount", 1), "BR-46": cut("TaxAmount", 2),
		"BR-DEC-01": deep("Amount ", 1), "BR-DEC-02": deep("BaseAmount", 1), "BR-DEC-05": deep("Amount ", 2), "BR-DEC-09": deep("LineExtensionAmount", 1),
		"BR-DEC-06": strings.Replace(text, `10.00</cbc:Amount>`, `10.00</cbc:Amount><cbc:BaseAmount currencyID="GBP">1.001</cbc:BaseAmount>`, 1),
		"BR-DEC-10": deep("AllowanceTotalAmount", 1), "BR-DEC-11": deep("ChargeTotalAmount", 1), "BR-DEC-12": deep("TaxExclusiveAmount", 1),
		"BR-DEC-13": deep("TaxAmount", 1), "BR-DEC-14": deep("TaxInclusiveAmount", 1), "BR-DEC-16": deep("PrepaidAmount", 1),
		"BR-DEC-17": deep("PayableRoundingAmount", 1), "BR-DEC-18": deep("PayableAmount", 1), "BR-DEC-19": deep("TaxableAmount", 1),
		"BR-DEC-20": deep("TaxAmount", 2), "BR-DEC-23": deep("LineExtensionAmount", 2), "BR-DEC-24": deep("Amount ", 3),
		"BR-DEC-25": deep("BaseAmount", 2), "BR-DEC-27": deep("Amount ", 4),
		"BR-DEC-28":           strings.Replace(text, `0.50</cbc:Amount>`, `0.50</cbc:Amount><cbc:BaseAmount currencyID="GBP">1.001</cbc:BaseAmount>`, 1),
		"PEPPOL-EN16931-F001": strings.Replace(text, "2026-11-25", "25/11/2026", 1),
		"PEPPOL-EN16931-R043": strings.Replace(text, "<cbc:ChargeIndicator>true", "<cbc:ChargeIndicator>yes", 1),
		"PEPPOL-EN16931-R051": strings.Replace(text, `<cbc:PayableAmount currencyID="GBP"`, `<cbc:PayableAmount currencyID="EUR"`, 1),
		"PEPPOL-EN16931-R053": strings.ReplaceAll(text, "cac:TaxTotal>", "cac:TaxSum>"),
		"PEPPOL-EN16931-R121": strings.Replace(text, `<cbc:BaseQuantity unitCode="MIN">60`, `<cbc:BaseQuantity unitCode="MIN">0`, 1),
		"PEPPOL-EN16931-R130": strings.Replace(text, `<cbc:BaseQuantity unitCode="MIN"`, `<cbc:BaseQuantity unitCode="HUR"`, 1),
	} {
		t.Run(rule, func(t *testing.T) {
			if bad == text {
				t.Fatal("nothing was changed")
			}
			if in, err := Read(strings.NewReader(bad)); !errors.Is(err, ErrNotRead) || !strings.Contains(err.Error(), rule) {
				t.Errorf("%v: %+v", err, in)
			}
		})
	}
	two := strings.Replace(text, "<cbc:Note>", "<cbc:Note>One</cbc:Note><cbc:Note>", 1)
	if _, err := Read(strings.NewReader(two)); !errors.Is(err, ErrNotRead) { // PEPPOL-EN16931-R002
		t.Errorf("two notes: %v", err)
	}
}

func nth(s, sub string, n int) int {
	i := -1
	for range n {
		i += 1 + strings.Index(s[i+1:], sub)
	}
	return i
}

func TestHostileFilesAreRefused(t *testing.T) {
	text := written(t, sample())
	in := func(before string) string { return strings.Replace(text, "<Invoice", before+"<Invoice", 1) }
	for name, bad := range map[string]string{
		"nothing":                   "",
		"no XML":                    "%PDF-1.7",
		"an entity of a file":       in(`<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>`),
		"entities upon entities":    in(`<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]>`),
		"an entity nobody declared": strings.Replace(text, "Thank you", "&e;", 1),
		"a style sheet":             in(`<?xml-stylesheet href="http://example.com/x.xsl"?>`),
		"two roots":                 text + "<Invoice/>",
		"text after the root":       text + "x",
		"an open end":               text[:len(text)-20],
		"another root":              strings.ReplaceAll(text, nsInvoice, "urn:other"),
		"another encoding":          strings.Replace(text, "UTF-8", "UTF-7", 1),
		"depth":                     strings.Replace(text, "Thank you", strings.Repeat("<a>", 40)+strings.Repeat("</a>", 40), 1),
		"size":                      strings.Replace(text, "Thank you", strings.Repeat("A", maxBytes), 1),
		"many elements":             strings.Replace(text, "Thank you", strings.Repeat("<a/>", maxElements), 1),
		"many attributes":           strings.Replace(text, "<cbc:Note>", "<cbc:Note"+strings.Repeat(` a="b"`, maxAttrs+1)+">", 1),
		"an amount in words":        strings.Replace(text, "67.25", "sixty", 1),
		"an amount beyond all":      strings.Replace(text, "67.25", "99999999999999.00", 1),
		"an amount with an E":       strings.Replace(text, "67.25", "6725e-2", 1),
	} {
		got, err := Read(strings.NewReader(bad))
		if !errors.Is(err, ErrNotRead) || !reflect.DeepEqual(got, Invoice{}) {
			t.Errorf("%s: %v, %+v", name, err, got)
		}
	}
}

func TestTextThatXMLCannotHoldDoesNotSpoilTheDocument(t *testing.T) {
	in := sample()
	in.Note = "a<b>&\"'\x00\x0b\ufffe \xff  end\n"
	in.Lines[0].Name = "]]>"
	back, err := Read(strings.NewReader(written(t, in)))
	if err != nil || back.Note != `a<b>&"' end` || back.Lines[0].Name != "]]>" {
		t.Errorf("%q %v", back.Note, err)
	}
}

// What other programs write: other prefixes, fewer or more zeros, comments,
// terms that the model has no place for, VAT in a second currency, a second tax
// scheme, as the published examples have them.
func TestADocumentOfAnotherHandIsReadToTheSameFigures(t *testing.T) {
	text := written(t, sample())
	for _, c := range [][2]string{
		{"cbc:", "b:"}, {"cac:", "a:"}, {"xmlns:cbc", "xmlns:b"}, {"xmlns:cac", "xmlns:a"},
		{">8.00<", ">8<"}, {">30.00<", ">30.0<"}, {">24.85<", "> +24.850 <"}, {"<b:Percent>20<", "<b:Percent>20.00<"},
		{"<b:Note>Thank you", "<!-- kind --><b:Note><![CDATA[Thank]]>\n  you"},
		{"<a:TaxTotal>", `<a:TaxTotal><b:TaxAmount currencyID="SEK">70.00</b:TaxAmount></a:TaxTotal><a:TaxTotal>`},
		{"<a:PartyLegalEntity>", "<a:PartyTaxScheme><b:CompanyID>X1</b:CompanyID><a:TaxScheme><b:ID>LOC</b:ID></a:TaxScheme></a:PartyTaxScheme><a:PartyLegalEntity>"},
		{`unitCode="C62"`, `unitCode="C62" unitCodeListID="UNECERec20"`},
		{"<a:Delivery>", "<a:InvoicePeriod><b:StartDate>2026-11-01</b:StartDate></a:InvoicePeriod><a:Delivery>"},
	} {
		changed := strings.ReplaceAll(text, c[0], c[1])
		if changed == text {
			t.Fatalf("%q is not in it", c[0])
		}
		text = changed
	}
	if back, err := Read(strings.NewReader(text)); err != nil || !reflect.DeepEqual(back, sample()) {
		t.Errorf("%+v, %v\n%s", back, err, text)
	}
}

func TestTextOfWhichNothingIsLeftIsNone(t *testing.T) {
	for rule, spoil := range map[string]func(in *Invoice){
		"BR-02": func(in *Invoice) { in.Number = "\x00" }, "BR-07": func(in *Invoice) { in.Buyer.Name = " \n" }, "BR-25": func(in *Invoice) { in.Lines[0].Name = "\ufffe" },
		"BR-33": func(in *Invoice) { in.Adjust[0].Reason, in.Adjust[0].ReasonCode = "\x01", "" },
	} {
		in := sample()
		spoil(&in)
		if _, err := Write(in); err == nil || !strings.Contains(err.Error(), rule) {
			t.Errorf("%s: %v", rule, err)
		}
	}
}

func TestPricesKeepTheirDecimals(t *testing.T) {
	for p, want := range map[Price]string{0: "0.00", 1: "0.0001", 50: "0.005", 100: "0.01", 12_3456: "12.3456", 72_0000: "72.00", 72_5000: "72.50"} {
		if got := p.String(); got != want {
			t.Errorf("%d: %s, want %s", p, got, want)
		}
		if n, ok := fixed(want, 4); !ok || n != int64(p) {
			t.Errorf("%s read as %d", want, n)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, in := range []Invoice{sample(), outside()} {
		f.Add([]byte(written(f, in)))
	}
	f.Add([]byte(`<!DOCTYPE x><x/>`))
	f.Add([]byte(`<CreditNote xmlns="` + nsCreditNote + `"><LegalMonetaryTotal/></CreditNote>`))
	f.Fuzz(func(t *testing.T, b []byte) {
		in, err := Read(bytes.NewReader(b))
		if err != nil {
			if !errors.Is(err, ErrNotRead) {
				t.Fatalf("%v", err)
			}
			return
		}
		out, err := Write(in)
		if err != nil {
			return // it breaks rules
		}
		back, err := Read(bytes.NewReader(out))
		if err != nil || !reflect.DeepEqual(back, in) {
			t.Fatalf("%+v\nread back as\n%+v, %v", in, back, err)
		}
	})
}

func TestEveryDocumentIsWellFormed(t *testing.T) {
	var any struct {
		XMLName xml.Name
		ID      string `xml:"urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2 ID"`
	}
	in := sample()
	in.Issued = workday.Must(2026, 3, 29)
	if err := xml.Unmarshal([]byte(written(t, in)), &any); err != nil || any.ID != "B-000123" || any.XMLName.Space != nsInvoice {
		t.Errorf("%+v %v", any, err)
	}
}
