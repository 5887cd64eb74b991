package export

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// longestText is what a cell holds at most (ECMA-376 part 1, 18.18.93 ST_Xstring
// as spreadsheets limit it). A longer text is cut rather than refused.
const longestText = 32_767

// WriteXLSX writes tables as a workbook by ECMA-376: one sheet each with its
// heading kept in view, then a sheet of totals and a sheet of what the columns
// mean. Dates are dates, amounts and quantities are numbers, and whatever a
// person typed is a string, which no spreadsheet reckons with. title is what
// the workbook is called; at dates it.
func WriteXLSX(w io.Writer, title string, at time.Time, all ...Filled) (err error) {
	set, err := whole(all)
	if err != nil {
		return err
	}
	file := excelize.NewFile()
	defer func() { err = errors.Join(err, file.Close()) }()
	styles, err := newStyles(file)
	if err != nil {
		return err
	}
	for i, f := range set {
		if i == 0 {
			err = file.SetSheetName(file.GetSheetName(0), f.Name)
		} else {
			_, err = file.NewSheet(f.Name)
		}
		if err != nil {
			return fmt.Errorf("sheet %s: %w", f.Name, err)
		}
		if err := styles.sheet(file, f); err != nil {
			return fmt.Errorf("sheet %s: %w", f.Name, err)
		}
	}
	stamp := at.UTC().Format(time.RFC3339)
	if err := file.SetDocProps(&excelize.DocProperties{Title: printable(title), Creator: "Rampside", LastModifiedBy: "Rampside", Created: stamp, Modified: stamp}); err != nil {
		return fmt.Errorf("name the workbook: %w", err)
	}
	return file.Write(w)
}

// styles are the looks of a workbook's cells, by kind of column.
type styles struct {
	heading int
	of      map[Kind]int
}

func newStyles(file *excelize.File) (styles, error) {
	s := styles{of: map[Kind]int{}}
	var err error
	s.heading, err = file.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Border: []excelize.Border{{Type: "bottom", Style: 1, Color: "000000"}}})
	if err != nil {
		return s, fmt.Errorf("style: %w", err)
	}
	for kind, format := range map[Kind]string{Text: "@", Amount: "#,##0.00", Number: "0", Qty: "0.###", Rate: "0.##", Day: "yyyy-mm-dd"} {
		s.of[kind], err = file.NewStyle(&excelize.Style{CustomNumFmt: &format})
		if err != nil {
			return s, fmt.Errorf("style of %s: %w", kind, err)
		}
	}
	return s, nil
}

// sheet writes one table as it is streamed, so that a year fits in memory.
func (s styles) sheet(file *excelize.File, f Filled) error {
	out, err := file.NewStreamWriter(f.Name)
	if err != nil {
		return err
	}
	heading := make([]any, len(f.Columns))
	for i, c := range f.Columns {
		if err := out.SetColWidth(i+1, i+1, width(c.Kind)); err != nil {
			return err
		}
		heading[i] = excelize.Cell{StyleID: s.heading, Value: printable(c.Name)}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := out.SetRow("A1", heading); err != nil {
		return err
	}
	for n, row := range f.Rows {
		// The same check as for CSV: every cell is of its column's kind.
		if _, err := f.fields(row); err != nil {
			return fmt.Errorf("row %d: %w", n+1, err)
		}
		cells := make([]any, len(row))
		for i, c := range row {
			if v := value(c); v != nil {
				cells[i] = excelize.Cell{StyleID: s.of[f.Columns[i].Kind], Value: v}
			}
		}
		at, err := excelize.CoordinatesToCellName(1, n+2)
		if err != nil {
			return err
		}
		if err := out.SetRow(at, cells); err != nil {
			return err
		}
	}
	return out.Flush()
}

// value is a cell as a workbook holds it. A workbook's numbers are binary
// floating point, whatever is written; the shortest decimal that stands for one
// is the amount, to the penny, up to 2^53 hundredths.
func value(c Cell) any {
	switch c := c.(type) {
	case string:
		return printable(c)
	case money.Minor:
		return float64(c) / 100
	case int64:
		return c
	case Thousandths:
		return float64(c) / 1000
	case money.Rate:
		return float64(c) / 100
	case workday.Day:
		return c.UTC()
	}
	return nil
}

// printable leaves out what XML 1.0 cannot hold, and cuts what is too long.
func printable(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(strings.ReplaceAll(s, "\r\n", "\n"), "\ufffd"))
	if utf8.RuneCountInString(s) > longestText {
		s = string([]rune(s)[:longestText])
	}
	return s
}

func width(k Kind) float64 {
	if k == Text {
		return 24
	}
	return 13
}
