package export

import (
	"archive/zip"
	"fmt"
	"io"
	"time"

	"rampside/internal/money"
)

// Filled is a table with its rows.
type Filled struct {
	Table
	Rows [][]Cell
}

// Sum adds up a column of amounts; an empty cell counts as nothing. The error
// is ErrRow where the table has no such column or a row does not fit.
func (f Filled) Sum(column string) (money.Minor, error) {
	at := -1
	for i, c := range f.Columns {
		if c.Name == column && c.Kind == Amount {
			at = i
		}
	}
	if at < 0 {
		return 0, fmt.Errorf("%w: no amounts in %s", ErrRow, column)
	}
	var sum money.Minor
	for _, row := range f.Rows {
		if len(row) != len(f.Columns) {
			return 0, ErrRow
		}
		if m, is := row[at].(money.Minor); is {
			sum += m
		}
	}
	return sum, nil
}

// totals is a table of its own with what the columns that may be added up come
// to, so that no total stands among the rows it is the total of.
func totals(all []Filled) (Filled, error) {
	out := Filled{Table: Table{Name: "totals", Says: "what one column of one table comes to", Columns: []Column{
		{"table", Text, "the table"}, {"column", Text, "its column"}, {"rows", Number, "how many rows the table has"}, {"total", Amount, "what the column comes to"},
	}}}
	for _, f := range all {
		for _, name := range f.Totals {
			sum, err := f.Sum(name)
			if err != nil {
				return out, fmt.Errorf("%s: %w", f.Name, err)
			}
			out.Rows = append(out.Rows, []Cell{f.Name, name, int64(len(f.Rows)), sum})
		}
	}
	return out, nil
}

// Columns is a table that says what every column of some tables means.
func Columns(tables ...Table) Filled {
	out := Filled{Table: Table{Name: "columns", Says: "what one column means", Columns: []Column{
		{"table", Text, "the table"}, {"one row is", Text, "what one row of it means"}, {"column", Text, "its column"},
		{"kind", Text, "what it holds"}, {"meaning", Text, "what it says"},
	}}}
	for _, t := range tables {
		for _, c := range t.Columns {
			out.Rows = append(out.Rows, []Cell{t.Name, t.Says, c.Name, string(c.Kind), c.Says})
		}
	}
	return out
}

// whole is the tables, then their totals, then what their columns mean.
func whole(all []Filled) ([]Filled, error) {
	sums, err := totals(all)
	if err != nil {
		return nil, err
	}
	out := append(append([]Filled{}, all...), sums)
	tables := make([]Table, len(out))
	for i, f := range out {
		tables[i] = f.Table
	}
	return append(out, Columns(tables...)), nil
}

// Zip packs each table as a CSV file named after it, with totals.csv and
// columns.csv beside them. at dates the files.
func Zip(w io.Writer, at time.Time, all ...Filled) error {
	set, err := whole(all)
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	for _, f := range set {
		part, err := z.CreateHeader(&zip.FileHeader{Name: f.Name + ".csv", Method: zip.Deflate, Modified: at.UTC()})
		if err != nil {
			return fmt.Errorf("pack %s: %w", f.Name, err)
		}
		if err := Write(part, f.Table, f.Rows); err != nil {
			return err
		}
	}
	return z.Close()
}
