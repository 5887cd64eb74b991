package stores

import (
	"bytes"
	"fmt"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"rampside/internal/garage"
	"rampside/internal/money"
)

// The sheet: A4, its margins and the height of a line of text, in millimetres.
const (
	paperMargin = 18
	paperLine   = 5.5
	paperFont   = "Go"
)

// columns of the order's table, in millimetres; they fill the sheet between
// its margins.
var columns = []struct {
	head  string
	width float64
}{{"How many", 20}, {"Number", 38}, {"What", 76}, {"To be here", 26}, {"Card", 14}}

// PDF is the order on A4, with its fonts in it: what Text says, in a table. The
// same order gives the same bytes.
func (o Order) PDF(set garage.Settings) ([]byte, error) {
	d := fpdf.New("P", "mm", "A4", "")
	d.SetMargins(paperMargin, paperMargin, paperMargin)
	d.SetAutoPageBreak(true, paperMargin)
	// Otherwise the dates would be those of the printing.
	d.SetCreationDate(o.OrderedAt.UTC())
	d.SetModificationDate(o.OrderedAt.UTC())
	d.SetCatalogSort(true)
	d.SetTitle("Order "+strconv.FormatInt(int64(o.ID), 10), true)
	d.SetAuthor(set.Name, true)
	d.AddUTF8FontFromBytes(paperFont, "", goregular.TTF)
	d.AddUTF8FontFromBytes(paperFont, "B", gobold.TTF)
	d.SetFooterFunc(func() {
		d.SetY(-12)
		d.SetFont(paperFont, "", 8)
		d.CellFormat(0, 5, fmt.Sprintf("Order %d, sheet %d", o.ID, d.PageNo()), "", 0, "R", false, 0, "")
	})
	d.AddPage()
	loc := set.Location()
	o.paperHead(d, set, loc)
	o.paperTable(d, loc)
	if o.Note != "" {
		d.Ln(paperLine)
		d.MultiCell(0, paperLine, shown(o.Note), "", "L", false)
	}
	var b bytes.Buffer
	if err := d.Output(&b); err != nil {
		return nil, fmt.Errorf("the order on paper: %w", err)
	}
	return b.Bytes(), nil
}

func (o Order) paperHead(d *fpdf.Fpdf, set garage.Settings, loc *time.Location) {
	d.SetFont(paperFont, "B", 16)
	d.MultiCell(0, 8, shown(set.Name), "", "L", false)
	d.SetFont(paperFont, "", 10)
	for _, line := range []string{set.Address, set.Phone, set.Email} {
		if line != "" {
			d.MultiCell(0, paperLine, shown(line), "", "L", false)
		}
	}
	d.Ln(paperLine)
	d.SetFont(paperFont, "B", 13)
	d.MultiCell(0, 7, fmt.Sprintf("Order %d", o.ID), "", "L", false)
	d.SetFont(paperFont, "", 10)
	for _, line := range []struct{ label, value string }{
		{"To", o.SupplierName}, {"Your reference", o.Ref}, {"Ordered", moment(o.OrderedAt, loc)}, {"To be here", moment(o.DueAt, loc)},
	} {
		if line.value != "" {
			d.CellFormat(32, paperLine, line.label, "", 0, "L", false, 0, "")
			d.MultiCell(0, paperLine, shown(line.value), "", "L", false)
		}
	}
	d.Ln(paperLine)
}

func (o Order) paperTable(d *fpdf.Fpdf, loc *time.Location) {
	head := make([]string, len(columns))
	for i, c := range columns {
		head[i] = c.head
	}
	d.SetFont(paperFont, "B", 9)
	paperRow(d, head)
	d.SetFont(paperFont, "", 9)
	for _, l := range o.Lines {
		if l.Closed == "cancelled" {
			continue
		}
		what := l.Name
		if l.Number == "" && l.Car != "" {
			what += ", for " + l.Car + " " + l.Mark
		}
		if l.Surcharge > 0 {
			what += ", exchange"
		}
		due, card := "", ""
		if !l.DueAt.Equal(o.DueAt) {
			due = l.DueAt.In(loc).Format("Mon 2 Jan 15:04")
		}
		if l.CardID != 0 {
			card = strconv.FormatInt(int64(l.CardID), 10)
		}
		paperRow(d, []string{money.FormatQuantity(l.Qty), l.Number, what, due, card})
	}
}

// paperRow writes one ruled row, as high as its longest cell, on the next
// sheet where it would not fit.
func paperRow(d *fpdf.Fpdf, cells []string) {
	high := 1
	lines := make([][]string, len(cells))
	for i, text := range cells {
		if text != "" {
			lines[i] = d.SplitText(shown(text), columns[i].width-2)
		}
		high = max(high, len(lines[i]))
	}
	_, page := d.GetPageSize()
	if d.GetY()+float64(high)*paperLine > page-paperMargin {
		d.AddPage()
	}
	x, y := d.GetX(), d.GetY()
	for i, text := range lines {
		for n, line := range text {
			d.SetXY(x, y+float64(n)*paperLine)
			d.CellFormat(columns[i].width, paperLine, line, "", 0, "L", false, 0, "")
		}
		x += columns[i].width
	}
	bottom := y + float64(high)*paperLine
	d.Line(paperMargin, bottom, x, bottom)
	d.SetXY(paperMargin, bottom+1)
}

// shown leaves out what the font's first plane does not hold: fpdf's tables
// end there, and such a character would be another one's.
func shown(s string) string {
	out := make([]rune, 0, len(s))
	for _, c := range s {
		if c > 0xFFFF {
			c = '\uFFFD'
		}
		out = append(out, c)
	}
	return string(out)
}
