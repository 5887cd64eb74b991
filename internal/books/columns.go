package books

import "rampside/internal/export"

// The tables that go out. Each row means one thing; what a column means is said
// here once, for the page, the workbook and the zip.
var (
	documentTable = export.Table{
		Name: "documents", Says: "one bill or credit note that was issued in the period",
		Columns: []export.Column{
			{Name: "number", Kind: export.Text, Says: "the number printed on it"},
			{Name: "kind", Kind: export.Text, Says: "bill or credit note"},
			{Name: "of", Kind: export.Text, Says: "the bill that a credit note corrects"},
			{Name: "issued", Kind: export.Day, Says: "the day it was issued, by the garage's calendar"},
			{Name: "tax_point", Kind: export.Day, Says: "the time of supply for VAT"},
			{Name: "due", Kind: export.Day, Says: "the day it is to be paid by"},
			{Name: "customer", Kind: export.Number, Says: "the customer's number here"},
			{Name: "name", Kind: export.Text, Says: "who it was made out to"},
			{Name: "car", Kind: export.Text, Says: "the car as it stands on it"},
			{Name: "card", Kind: export.Number, Says: "the number of the job card"},
			{Name: "currency", Kind: export.Text, Says: "ISO 4217"},
			{Name: "net", Kind: export.Amount, Says: "without VAT; below nothing on a credit note"},
			{Name: "vat", Kind: export.Amount, Says: "the VAT in it"},
			{Name: "gross", Kind: export.Amount, Says: "net and VAT"},
			{Name: "paid", Kind: export.Amount, Says: "what was paid on a bill down to the last day of the period, deposits included"},
			{Name: "credited", Kind: export.Amount, Says: "what credit notes down to the last day of the period took off a bill, above nothing"},
			{Name: "open", Kind: export.Amount, Says: "what was still owed on a bill on the last day of the period: gross less paid and credited"},
		},
		Totals: []string{"net", "vat", "gross", "paid", "credited", "open"},
	}
	lineTable = export.Table{
		Name: "lines", Says: "one line, or one discount or surcharge on the whole at one rate of VAT, of a bill or credit note issued in the period",
		Columns: []export.Column{
			{Name: "number", Kind: export.Text, Says: "the document's number"},
			{Name: "document", Kind: export.Text, Says: "bill or credit note"},
			{Name: "issued", Kind: export.Day, Says: "the day the document was issued"},
			{Name: "position", Kind: export.Number, Says: "its place on the document; discounts and surcharges on the whole follow the lines"},
			{Name: "kind", Kind: export.Text, Says: "labour, part, fee, exchange surcharge or sundries; discount or surcharge on the whole"},
			{Name: "text", Kind: export.Text, Says: "what stands on the document"},
			{Name: "quantity", Kind: export.Qty, Says: "how many of the unit; below nothing on a credit note"},
			{Name: "unit", Kind: export.Text, Says: "what is counted"},
			{Name: "net", Kind: export.Amount, Says: "without VAT, after the line's own discounts and surcharges"},
			{Name: "category", Kind: export.Text, Says: "the category of VAT"},
			{Name: "rate", Kind: export.Rate, Says: "its rate, in per cent"},
		},
		Totals: []string{"net"},
	}
	paymentTable = export.Table{
		Name: "payments", Says: "one entry of money that came in or went out in the period",
		Columns: []export.Column{
			{Name: "number", Kind: export.Text, Says: "the receipt's number"},
			{Name: "kind", Kind: export.Text, Says: "payment, deposit, refund, or contrary entry (undoes one that was wrong)"},
			{Name: "day", Kind: export.Day, Says: "the day of it, by the garage's calendar"},
			{Name: "customer", Kind: export.Number, Says: "the customer's number here"},
			{Name: "name", Kind: export.Text, Says: "the customer's name as it is now"},
			{Name: "method", Kind: export.Text, Says: "how it was paid"},
			{Name: "reference", Kind: export.Text, Says: "what was noted of it"},
			{Name: "why", Kind: export.Text, Says: "why it was given back or was wrong"},
			{Name: "taken_by", Kind: export.Text, Says: "who entered it"},
			{Name: "currency", Kind: export.Text, Says: "ISO 4217"},
			{Name: "amount", Kind: export.Amount, Says: "above nothing in, below nothing out"},
			{Name: "set", Kind: export.Amount, Says: "how much of it was set against bills down to the last day of the period"},
		},
		Totals: []string{"amount", "set"},
	}
	setTable = export.Table{
		Name: "set_against", Says: "one payment set against one bill in the period",
		Columns: []export.Column{
			{Name: "payment", Kind: export.Text, Says: "the receipt's number"},
			{Name: "bill", Kind: export.Text, Says: "the bill's number"},
			{Name: "day", Kind: export.Day, Says: "the day it was set against it"},
			{Name: "amount", Kind: export.Amount, Says: "below nothing where money went back"},
		},
		Totals: []string{"amount"},
	}
	vatTable = export.Table{
		Name: "vat", Says: "what one document, or one payment for one, comes to at one rate of VAT, accounted for in the period",
		Columns: []export.Column{
			{Name: "number", Kind: export.Text, Says: "the document's number, or the receipt's where VAT is due when money comes"},
			{Name: "about", Kind: export.Text, Says: "the bill or deposit that it is about, where that is another"},
			{Name: "tax_point", Kind: export.Day, Says: "the day it is accounted for on"},
			{Name: "category", Kind: export.Text, Says: "the category of VAT"},
			{Name: "rate", Kind: export.Rate, Says: "its rate, in per cent"},
			{Name: "net", Kind: export.Amount, Says: "without VAT"},
			{Name: "vat", Kind: export.Amount, Says: "the VAT; below nothing where it is taken off again"},
		},
		Totals: []string{"net", "vat"},
	}
	owedTable = export.Table{
		Name: "owed", Says: "one bill that was not paid at the end of the last day of the period",
		Columns: []export.Column{
			{Name: "customer", Kind: export.Number, Says: "the customer's number here"},
			{Name: "name", Kind: export.Text, Says: "who it was made out to"},
			{Name: "number", Kind: export.Text, Says: "the bill's number"},
			{Name: "issued", Kind: export.Day, Says: "the day it was issued"},
			{Name: "due", Kind: export.Day, Says: "the day it was to be paid by"},
			{Name: "days_late", Kind: export.Number, Says: "days after that, 0 when not yet late"},
			{Name: "age", Kind: export.Text, Says: "the same in the steps of the page"},
			{Name: "open", Kind: export.Amount, Says: "what is owed; below nothing where too much was paid"},
		},
		Totals: []string{"open"},
	}
)

// Tables lists the tables in the order they go out in.
func Tables() []export.Table {
	return []export.Table{documentTable, lineTable, paymentTable, setTable, vatTable, owedTable}
}

// TableNamed finds a table by its name.
func TableNamed(name string) (export.Table, bool) {
	for _, t := range Tables() {
		if t.Name == name {
			return t, true
		}
	}
	return export.Table{}, false
}
