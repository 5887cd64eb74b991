// Package export writes tables for book-keeping: one row means one thing, every
// column is typed and documented, and nothing that a person typed can turn into
// a formula when a spreadsheet opens the file.
package export

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Kind is what a column holds.
type Kind string

// The kinds.
const (
	Text   Kind = "text"
	Amount Kind = "amount" // minor units, written with two decimals and no sign of the currency
	Number Kind = "number" // a whole number
	Qty    Kind = "quantity"
	Rate   Kind = "percentage"
	Day    Kind = "date" // year, month, day, as in 2026-11-25
)

// Column is one column: its heading and what it means.
type Column struct {
	Name string
	Kind Kind
	Says string
}

// Table is what one file holds. Says is what one row is; Totals names the
// columns of amounts that may be added up over all rows.
type Table struct {
	Name    string
	Says    string
	Columns []Column
	Totals  []string
}

// ErrRow says that a row does not fit its table: a mistake of the program.
var ErrRow = errors.New("a row does not fit its table")

// Cell is a value of a row: string, money.Minor, int64, Thousandths,
// money.Rate, workday.Day, or nil for none, by the kind of its column.
type Cell any

// Thousandths is a quantity.
type Thousandths int64

// Write writes a table as CSV by RFC 4180: a heading, commas, CRLF, quotes where
// they are needed, UTF-8.
func Write(w io.Writer, t Table, rows [][]Cell) error {
	b := bufio.NewWriter(w)
	heading := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heading[i] = Safe(c.Name)
	}
	line(b, heading)
	for n, row := range rows {
		fields, err := t.fields(row)
		if err != nil {
			return fmt.Errorf("row %d of %s: %w", n+1, t.Name, err)
		}
		line(b, fields)
	}
	return b.Flush()
}

func (t Table) fields(row []Cell) ([]string, error) {
	if len(row) != len(t.Columns) {
		return nil, ErrRow
	}
	out := make([]string, len(row))
	for i, c := range row {
		s, kind := "", Kind("")
		switch c := c.(type) {
		case nil:
			continue
		case string:
			s, kind = Safe(c), Text
		case money.Minor:
			s, kind = money.FormatPlain(c), Amount
		case int64:
			s, kind = strconv.FormatInt(c, 10), Number
		case Thousandths:
			s, kind = money.FormatQuantity(int64(c)), Qty
		case money.Rate:
			s, kind = strings.TrimSuffix(money.FormatRate(c), "%"), Rate
		case workday.Day:
			s, kind = c.String(), Day
		}
		if kind != t.Columns[i].Kind {
			return nil, fmt.Errorf("%w: column %s", ErrRow, t.Columns[i].Name)
		}
		out[i] = s
	}
	return out, nil
}

// Safe makes text that no spreadsheet takes for a formula (OWASP, CSV
// Injection): what begins, after blanks, with = + - @ or the like gets an
// apostrophe in front, and control characters become blanks, since they could
// begin another cell. Plain returns what was typed.
func Safe(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(strings.ReplaceAll(s, "\r\n", "\n"), "\ufffd"))
	if risky(s) || strings.HasPrefix(s, "'") {
		return "'" + s
	}
	return s
}

// Plain takes off the apostrophe that Safe put there.
func Plain(s string) string { return strings.TrimPrefix(s, "'") }

// risky tells whether any line of the text begins like a formula. Full-width
// signs count, since some spreadsheets read them so.
func risky(s string) bool {
	for l := range strings.SplitSeq(s, "\n") {
		l = strings.TrimLeftFunc(l, func(r rune) bool { return unicode.IsSpace(r) || unicode.Is(unicode.Cf, r) })
		if l != "" && strings.ContainsRune("=+-@|%\uff1d\uff0b\uff0d\uff20\u2212", []rune(l)[0]) {
			return true
		}
	}
	return false
}

// line writes one record; errors stay in b until it is flushed.
func line(b *bufio.Writer, fields []string) {
	for i, f := range fields {
		if i > 0 {
			_ = b.WriteByte(',')
		}
		if strings.ContainsAny(f, "\",\n;\t") || f != strings.TrimSpace(f) {
			f = `"` + strings.ReplaceAll(f, `"`, `""`) + `"`
		}
		_, _ = b.WriteString(f)
	}
	_, _ = b.WriteString("\r\n")
}
