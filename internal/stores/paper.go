package stores

import (
	"bytes"
	"strconv"

	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/paper"
)

// PDF is the order on A4: what Text says, in a table.
func (o Order) PDF(set garage.Settings) ([]byte, error) {
	loc := set.Location()
	doc := paper.Order{
		Top: paper.Top{
			At:   o.OrderedAt, // otherwise the dates would be those of the printing
			From: paper.Party{Name: set.Name, Address: set.Address, Phone: set.Phone, Email: set.Email},
			To:   paper.Party{Name: o.SupplierName},
			Facts: []paper.Fact{
				{Label: "Your reference", Value: o.Ref}, {Label: "Ordered", Value: moment(o.OrderedAt, loc)}, {Label: "To be here", Value: moment(o.DueAt, loc)},
			},
		},
		Number: strconv.FormatInt(int64(o.ID), 10), Note: o.Note,
	}
	for _, l := range o.Lines {
		if l.Closed == "cancelled" {
			continue
		}
		line := paper.OrderLine{Qty: money.FormatQuantity(l.Qty), Number: l.Number, What: l.Name}
		if l.Number == "" && l.Car != "" {
			line.What += ", for " + l.Car + " " + l.Mark
		}
		if l.Surcharge > 0 {
			line.What += ", exchange"
		}
		if !l.DueAt.Equal(o.DueAt) {
			line.Due = l.DueAt.In(loc).Format("Mon 2 Jan 15:04")
		}
		if l.CardID != 0 {
			line.Card = strconv.FormatInt(int64(l.CardID), 10)
		}
		doc.Lines = append(doc.Lines, line)
	}
	var b bytes.Buffer
	err := doc.Write(&b)
	return b.Bytes(), err
}
