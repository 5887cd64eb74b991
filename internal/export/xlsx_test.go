package export

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"rampside/internal/money"
	"rampside/internal/workday"
)

var packed = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

func someBills() Filled {
	t := bills
	t.Totals = []string{"net"}
	return Filled{t, [][]Cell{
		{"B-000123", workday.Must(2006, 2, 1), "=HYPERLINK(\"x\")\x07", money.Minor(-3_20), money.Rate(1750), int64(12), Thousandths(4250)},
		{"B-000124", nil, "+44 7700 900123", money.Minor(1234_50), nil, nil, nil},
		{"B-000125", workday.Must(2026, 3, 29), "Ann", money.Minor(9_007_199_254_740_91), money.Rate(2000), nil, nil},
	}}
}

func workbook(t *testing.T, all ...Filled) (*excelize.File, []byte) {
	t.Helper()
	var b bytes.Buffer
	if err := WriteXLSX(&b, "November", packed, all...); err != nil {
		t.Fatal(err)
	}
	raw := bytes.Clone(b.Bytes())
	f, err := excelize.OpenReader(&b, excelize.Options{UnzipSizeLimit: 64 << 20})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f, raw
}

// The 1900 date base: DATEVALUE("01-Feb-2006") is 38749 (ECMA-376, Part 3,
// Primer, Date Representation).
func TestAWorkbookHasDatesAsDatesAndMoneyAsNumbers(t *testing.T) {
	f, _ := workbook(t, someBills())
	raw := func(cell string) (string, excelize.CellType) {
		v, err := f.GetCellValue("bills", cell, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		k, err := f.GetCellType("bills", cell)
		if err != nil {
			t.Fatal(err)
		}
		return v, k
	}
	for cell, want := range map[string]string{"B2": "38749", "D2": "-3.2", "E2": "17.5", "F2": "12", "G2": "4.25", "D3": "1234.5", "D4": "9007199254740.91"} {
		if v, k := raw(cell); v != want || k == excelize.CellTypeInlineString || k == excelize.CellTypeSharedString {
			t.Errorf("%s holds %s, kind %v, want the number %s", cell, v, k, want)
		}
	}
	for cell, want := range map[string]string{"B2": "2006-02-01", "B4": "2026-03-29", "D2": "-3.20", "D3": "1,234.50", "E2": "17.5", "G2": "4.25", "B3": "", "F3": ""} {
		if v, err := f.GetCellValue("bills", cell); err != nil || v != want {
			t.Errorf("%s shows %q, want %q (%v)", cell, v, want, err)
		}
	}
	for cell, want := range map[string]string{"A2": "B-000123", "C3": "+44 7700 900123", "C2": "=HYPERLINK(\"x\") "} {
		if v, k := raw(cell); v != want || k != excelize.CellTypeInlineString && k != excelize.CellTypeSharedString {
			t.Errorf("%s holds %q, kind %v, want the text %q", cell, v, k, want)
		}
	}
}

func TestAWorkbookHasNoFormulas(t *testing.T) {
	_, raw := workbook(t, someBills())
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	sheets := 0
	for _, part := range z.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(part.Name, "xl/worksheets/") {
			sheets++
		}
		for _, no := range []string{"<f>", "<f ", "externalLink", "vbaProject", "<hyperlink"} {
			if strings.Contains(string(text), no) {
				t.Errorf("%s has %s", part.Name, no)
			}
		}
	}
	if sheets != 3 {
		t.Errorf("%d sheets", sheets)
	}
}

func TestTotalsStandApartAndEveryColumnIsExplained(t *testing.T) {
	f, _ := workbook(t, someBills())
	rows, err := f.GetRows("totals", excelize.Options{RawCellValue: true})
	if err != nil || len(rows) != 2 || strings.Join(rows[1], "|") != "bills|net|3|9007199255972.21" {
		t.Errorf("%q %v", rows, err)
	}
	if rows, err := f.GetRows("bills"); err != nil || len(rows) != 4 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	rows, err = f.GetRows("columns")
	if err != nil || len(rows) != 1+7+4 || strings.Join(rows[1], "|") != "bills|one bill|number|text|the bill's number" {
		t.Errorf("%q %v", rows, err)
	}
}

func TestAZipHoldsTheSameRowsAsTheWorkbook(t *testing.T) {
	var b bytes.Buffer
	if err := Zip(&b, packed, someBills()); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string][][]string{}
	for _, part := range z.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		if got[part.Name], err = csv.NewReader(r).ReadAll(); err != nil {
			t.Fatal(err)
		}
	}
	if len(got) != 3 || len(got["bills.csv"]) != 4 || got["bills.csv"][2][2] != "'+44 7700 900123" || got["totals.csv"][1][3] != "9007199255972.21" || len(got["columns.csv"]) != 12 {
		t.Errorf("%q", got)
	}
}

func TestAWorkbookRefusesWhatDoesNotFit(t *testing.T) {
	short := Filled{Table{Name: "bills", Columns: bills.Columns[:1], Totals: []string{"number"}}, [][]Cell{{"a"}}}
	if err := WriteXLSX(io.Discard, "x", packed, short); !errors.Is(err, ErrRow) {
		t.Errorf("text is added up: %v", err)
	}
	short.Totals, short.Rows = nil, [][]Cell{{int64(1)}}
	if err := WriteXLSX(io.Discard, "x", packed, short); !errors.Is(err, ErrRow) {
		t.Errorf("a number under text: %v", err)
	}
	if err := Zip(io.Discard, packed, short); !errors.Is(err, ErrRow) {
		t.Errorf("a number under text: %v", err)
	}
	if err := WriteXLSX(broken{}, "x", packed); err == nil {
		t.Error("what cannot be written was")
	}
}

func TestALongTextIsCutToWhatACellHolds(t *testing.T) {
	one := Filled{Table: Table{Name: "notes", Columns: []Column{{"note", Text, ""}}}, Rows: [][]Cell{{strings.Repeat("é", 40_000)}, {"\xff\ufffe\x00"}}}
	f, _ := workbook(t, one)
	if v, err := f.GetCellValue("notes", "A2"); err != nil || len([]rune(v)) != 32_767 {
		t.Errorf("%d characters, %v", len([]rune(v)), err)
	}
	if v, err := f.GetCellValue("notes", "A3"); err != nil || v != "\ufffd  " {
		t.Errorf("%q, %v", v, err)
	}
}
