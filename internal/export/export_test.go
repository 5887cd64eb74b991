package export

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"

	"rampside/internal/money"
	"rampside/internal/workday"
)

var bills = Table{Name: "bills", Says: "one bill", Columns: []Column{
	{"number", Text, "the bill's number"}, {"issued", Day, "the day it was issued"}, {"customer", Text, "who it was made out to"},
	{"net", Amount, "without VAT"}, {"rate", Rate, "of VAT"}, {"lines", Number, "how many lines"}, {"litres", Qty, "oil"},
}}

func TestATableIsWrittenAsRFC4180Says(t *testing.T) {
	var b bytes.Buffer
	err := Write(&b, bills, [][]Cell{
		{"B-000123", workday.Must(2026, 11, 25), `O'Example, "Bo"`, money.Minor(-3_20), money.Rate(1750), int64(12), Thousandths(4250)},
		{"B-000124", nil, "two\r\nlines", money.Minor(1234_50), nil, nil, nil},
	})
	want := "number,issued,customer,net,rate,lines,litres\r\n" +
		`B-000123,2026-11-25,"O'Example, ""Bo""",-3.20,17.5,12,4.25` + "\r\n" +
		"B-000124,,\"two\nlines\",1234.50,,,\r\n"
	if err != nil || b.String() != want {
		t.Errorf("%v\n%q\nnot\n%q", err, b.String(), want)
	}
	back, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(back) != 3 || back[1][2] != `O'Example, "Bo"` {
		t.Errorf("%q %v", back, err)
	}
}

// The beginnings that OWASP names under CSV Injection, and ways round them.
func TestNothingThatWasTypedBecomesAFormula(t *testing.T) {
	for _, s := range []string{"=1+1", "+44 7700 900123", "-1", "@SUM(A1)", "  =1", "\t=1", "\r=1", "a\n=1", "\u200b=1", "\uff1d1", "=cmd|' /C calc'!A0", "|x", "%0A"} {
		if got := Safe(s); !strings.HasPrefix(got, "'") {
			t.Errorf("%q stays %q", s, got)
		}
	}
	for _, s := range []string{"", "Pads, front", "3 - 4", "a=b", "7%", "Ann O'Example", "10W-40"} {
		if got := Safe(s); got != s || Plain(got) != s {
			t.Errorf("%q became %q", s, got)
		}
	}
	if got := Safe("'=1"); Plain(got) != "'=1" {
		t.Errorf("%q", got)
	}
}

func TestARowThatDoesNotFitIsAMistake(t *testing.T) {
	short := bills
	short.Columns = bills.Columns[:1]
	for _, row := range [][]Cell{{}, {"a", "b"}, {money.Minor(1)}, {3.5}, {int64(1)}} {
		if err := Write(&bytes.Buffer{}, short, [][]Cell{row}); !errors.Is(err, ErrRow) {
			t.Errorf("%v: %v", row, err)
		}
	}
	if err := Write(broken{}, bills, nil); err == nil {
		t.Error("what cannot be written was")
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("full") }

func FuzzSafe(f *testing.F) {
	for _, s := range []string{"=1", "a\n\u2066+b", "'", "\xff=", " \u00a0-"} {
		f.Add(s)
	}
	one := Table{Columns: []Column{{"a", Text, ""}, {"b", Text, ""}}}
	f.Fuzz(func(t *testing.T, s string) {
		safe := Safe(s)
		if risky(safe) && !strings.HasPrefix(safe, "'") || safe != "" && strings.ContainsRune("=+-@", rune(safe[0])) {
			t.Fatalf("%q stays %q", s, safe)
		}
		var b bytes.Buffer
		if err := Write(&b, one, [][]Cell{{s, "end"}}); err != nil {
			t.Fatal(err)
		}
		back, err := csv.NewReader(&b).ReadAll()
		if err != nil || len(back) != 2 || back[1][0] != safe || back[1][1] != "end" {
			t.Fatalf("%q was read as %q, %v", safe, back, err)
		}
	})
}
