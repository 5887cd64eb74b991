package pricing

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/money"
)

// Each law is tried on 2,000 sheets. For a million:
//
//	go test ./internal/pricing -run Law -rapid.checks=1000000 -timeout 0
func TestMain(m *testing.M) {
	flag.Parse()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if !given {
		if err := errors.Join(flag.Set("rapid.checks", "2000"), flag.Set("rapid.nofailfile", "true")); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

var anyVAT = rapid.SampledFrom([]VAT{{money.Standard, 2000}, {money.Standard, 1750}, {money.Reduced, 500}, {money.Zero, 0}, {money.Exempt, 0}, {money.Outside, 0}})

func pence(t *rapid.T, name string, lo, hi int64) money.Minor {
	return money.Minor(rapid.Int64Range(lo, hi).Draw(t, name))
}

func anyAdjustment(t *rapid.T, most int64) Adjustment {
	a := Adjustment{Text: "for a reason", Up: rapid.Bool().Draw(t, "up")}
	if rapid.Bool().Draw(t, "percent") {
		a.Percent = money.Rate(rapid.Int64Range(1, 3000).Draw(t, "bp"))
	} else {
		a.Amount = pence(t, "off", 1, most)
	}
	return a
}

var anyLine = rapid.Custom(func(t *rapid.T) Line {
	l := Line{VAT: anyVAT.Draw(t, "vat"), Kind: rapid.SampledFrom([]Kind{Labour, Part, Fee, Exchange}).Draw(t, "kind"), Text: "a line"}
	switch rapid.IntRange(0, 6).Draw(t, "how") {
	case 0, 1:
		l.Kind, l.Price = Labour, ByTime{time.Duration(rapid.Int64Range(0, 1200).Draw(t, "min")) * time.Minute, pence(t, "rate", 0, 200_00)}
	case 2:
		l.Price = Fixed{pence(t, "fixed", -500_00, 2000_00)}
	case 3:
		l.Price = Each{Qty: rapid.Int64Range(-9_000, 20_000).Draw(t, "qty"), Net: pence(t, "each", 0, 500_00)}
	case 4:
		l.Price = CostPlus{Qty: rapid.Int64Range(0, 20_000).Draw(t, "qty"), Cost: pence(t, "cost", 0, 500_00), MarkUp: 3000}
	case 5:
		l.Price = CustomersOwn{Qty: 1000}
	case 6:
		l.Price = AllIn{pence(t, "gross", 1, 500_00)}
		return l
	}
	if rapid.IntRange(0, 3).Draw(t, "adjusted") == 0 {
		l.Adjust = []Adjustment{anyAdjustment(t, 5_00)}
	}
	return l
})

// anySheet is a sheet that can be worked out, and what it comes to.
func anySheet(t *rapid.T) (Sheet, Sum) {
	s := Sheet{Lines: rapid.SliceOfN(anyLine, 0, 12).Draw(t, "lines"), Rounding: rapid.SampledFrom(money.Roundings()).Draw(t, "rounding")}
	for i := range s.Lines {
		s.Lines[i].Key = fmt.Sprint("line ", i)
	}
	if rapid.Bool().Draw(t, "menu") {
		var m Menu
		for _, l := range s.Lines {
			if len(l.Adjust) == 0 && rapid.Bool().Draw(t, "in the menu") {
				m.Keys = append(m.Keys, l.Key)
			}
		}
		m.Text, m.Net = "a set", pence(t, "menu", 0, 900_00)
		s.Menus = []Menu{m}
	}
	if rapid.Bool().Draw(t, "sundries") {
		most := pence(t, "cap", 0, 20_00)
		s.Sundries = &Sundries{Text: "sundries", Percent: 250, On: []Kind{Labour}, Cap: &most, VAT: VAT{money.Standard, 2000}}
	}
	for range rapid.IntRange(0, 2).Draw(t, "on the card") {
		s.Card = append(s.Card, anyAdjustment(t, 20_00))
	}
	if rapid.Bool().Draw(t, "deposit") {
		s.Deposits = []Deposit{{Amount: pence(t, "deposit", 1, 500_00)}}
	}
	sum, err := Work(s)
	// A menu or a discount that does not go with the lines is left out.
	for _, without := range []func(){func() { s.Menus = nil }, func() { s.Card = nil }, func() {
		for i := range s.Lines {
			s.Lines[i].Adjust = nil
		}
	}} {
		if err != nil {
			without()
			sum, err = Work(s)
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return s, sum
}

func TestLawThePartsEqualTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, sum := anySheet(t)
		var lines, inside, allow, charge money.Minor
		for _, l := range sum.Lines {
			net := l.List
			for _, a := range l.Adjust {
				net += a.signed()
			}
			if net != l.Net {
				t.Fatalf("%+v does not add up", l)
			}
			if !l.AllIn && money.Share(l.Price, l.Qty, l.Per) != l.List {
				t.Fatalf("%+v: its quantity at its price is not what it comes to", l)
			}
			lines, inside = lines+l.Net, inside+l.Inside
		}
		for _, a := range sum.Card {
			if a.Up {
				charge += a.Amount
			} else {
				allow += a.Amount
			}
		}
		var net, vat money.Minor
		for _, r := range sum.Totals.ByRate {
			net, vat = net+r.Net, vat+r.VAT
		}
		if lines != sum.LineNet || allow != sum.Allowances || charge != sum.Charges ||
			lines-allow+charge != sum.Totals.Net || net != sum.Totals.Net || vat != sum.Totals.VAT ||
			net+vat != sum.Totals.Gross || sum.Totals.Gross-sum.Paid != sum.Due {
			t.Fatalf("%+v does not add up", sum)
		}
	})
}

func TestLawTheOrderOfLinesIsIrrelevant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sheet, sum := anySheet(t)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		r.Shuffle(len(sheet.Lines), func(i, j int) { sheet.Lines[i], sheet.Lines[j] = sheet.Lines[j], sheet.Lines[i] })
		for _, m := range sheet.Menus {
			r.Shuffle(len(m.Keys), func(i, j int) { m.Keys[i], m.Keys[j] = m.Keys[j], m.Keys[i] })
		}
		slices.Reverse(sheet.Card)
		again, err := Work(sheet)
		if err != nil || !reflect.DeepEqual(sum.Totals, again.Totals) || sum.Due != again.Due {
			t.Fatalf("%+v became %+v, %v", sum, again, err)
		}
	})
}

// A quantity that is split at whole pennies changes nothing when VAT is
// rounded for the document. Where each piece has a rounding of its own (a
// third of an hour, a percentage off the line) it cannot, since EN 16931
// rounds each line.
func TestLawSplittingAQuantityChangesNoTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sheet, _ := anySheet(t)
		sheet.Rounding, sheet.Menus = money.PerDocument, nil
		whole := rapid.Int64Range(2, 40).Draw(t, "pieces")
		first := rapid.Int64Range(1, whole-1).Draw(t, "first")
		each := Each{Qty: 1000 * whole, Net: pence(t, "each", 0, 300_00)}
		line := Line{Kind: Part, Text: "split", VAT: anyVAT.Draw(t, "vat"), Price: each}
		one := sheet
		one.Lines = append(slices.Clone(sheet.Lines), line)
		two := sheet
		line.Price = Each{Qty: 1000 * first, Net: each.Net}
		two.Lines = append(slices.Clone(sheet.Lines), line)
		line.Price = Each{Qty: 1000 * (whole - first), Net: each.Net}
		two.Lines = append(two.Lines, line)
		a, err := Work(one)
		if err != nil { // a discount of the card that went with the menu only
			one.Card, two.Card = nil, nil
			if a, err = Work(one); err != nil {
				t.Fatal(err)
			}
		}
		b, err := Work(two)
		if err != nil || !reflect.DeepEqual(a.Totals, b.Totals) || a.Due != b.Due {
			t.Fatalf("%+v split is %+v, %v", a.Totals, b.Totals, err)
		}
	})
}

func TestLawACreditIsTheExactNegativeOfItsBill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, sum := anySheet(t)
		credit := sum.Credit()
		again := credit
		if err := again.add(); err != nil || !reflect.DeepEqual(again.Totals, credit.Totals) || again.LineNet != -sum.LineNet {
			t.Fatalf("the credit %+v works out to %+v, %v", credit.Totals, again.Totals, err)
		}
		rest := Rest(sum.Totals, credit.Totals)
		if rest.Net != 0 || rest.VAT != 0 || rest.Gross != 0 {
			t.Fatalf("%+v is left", rest)
		}
		for _, r := range rest.ByRate {
			if r.Net != 0 || r.VAT != 0 {
				t.Fatalf("%+v is left", r)
			}
		}
		if back := credit.Credit(); !reflect.DeepEqual(back.Lines, sum.Lines) || !reflect.DeepEqual(back.Totals, sum.Totals) {
			t.Fatalf("credited twice %+v is %+v", sum, back)
		}
	})
}

func TestLawAMenuCostsItsPrice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sheet, sum := anySheet(t)
		for _, m := range sheet.Menus {
			var net money.Minor
			for _, l := range sum.Lines {
				if slices.Contains(m.Keys, l.Key) {
					net += l.Net
				}
			}
			if net != m.Net && len(m.Keys) > 0 {
				t.Fatalf("%v, not %v: %+v", net, m.Net, sum)
			}
		}
	})
}

func TestLawAMixedBillIsTheSumOfItsTwoDocuments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, sum := anySheet(t)
		taxed, outside := sum.Apart()
		for _, part := range []Sum{taxed, outside} {
			again := part
			if err := again.add(); err != nil || !reflect.DeepEqual(again, part) {
				t.Fatalf("%+v by itself is %+v, %v", part, again, err)
			}
		}
		if taxed.Totals.Net+outside.Totals.Net != sum.Totals.Net || taxed.Totals.VAT != sum.Totals.VAT || outside.Totals.VAT != 0 ||
			taxed.Totals.Gross+outside.Totals.Gross != sum.Totals.Gross || taxed.Due+outside.Due != sum.Due || taxed.Paid+outside.Paid != sum.Paid {
			t.Fatalf("%+v\nis not\n%+v\nand\n%+v", sum, taxed, outside)
		}
	})
}

func TestLawADepositIsSharedOutToThePenny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, sum := anySheet(t)
		deposit := pence(t, "deposit", 1, 500_00)
		part, ok := DepositVAT(deposit, sum.Totals)
		if !ok {
			for _, r := range sum.Totals.ByRate {
				if r.Net+r.VAT > 0 {
					t.Fatalf("nothing of %+v was found for the deposit", sum.Totals)
				}
			}
			return
		}
		if part.Gross != deposit || part.Net+part.VAT != deposit {
			t.Fatalf("%v became %+v", deposit, part)
		}
	})
}

func TestLawCreditsInPiecesComeToTheBill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, sum := anySheet(t)
		pieces := make([][]string, rapid.IntRange(1, 4).Draw(t, "pieces"))
		for _, l := range sum.Lines {
			i := rapid.IntRange(0, len(pieces)-1).Draw(t, "piece")
			pieces[i] = append(pieces[i], l.Key)
		}
		var already []string
		var credits []money.Totals
		for _, keys := range pieces {
			c, err := sum.CreditLines(keys, already)
			if err != nil {
				t.Fatal(err)
			}
			if c.Totals.Net != c.LineNet-c.Allowances+c.Charges || c.Totals.Gross != c.Totals.Net+c.Totals.VAT {
				t.Fatalf("%+v does not add up", c)
			}
			already, credits = append(already, keys...), append(credits, c.Totals)
		}
		rest := Rest(sum.Totals, credits...)
		if rest.Net != 0 || rest.VAT != 0 || rest.Gross != 0 {
			t.Fatalf("%+v is left of %+v after %+v", rest, sum.Totals, credits)
		}
		for _, r := range rest.ByRate {
			if r.Net != 0 || r.VAT != 0 {
				t.Fatalf("%+v is left", r)
			}
		}
		if len(pieces) == 1 && !reflect.DeepEqual(credits[0], sum.Credit().Totals) {
			t.Fatalf("%+v credited is %+v", sum.Totals, credits[0])
		}
	})
}

// A frozen document is kept as JSON.
func TestLawASumSurvivesJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, sum := anySheet(t)
		b, err := json.Marshal(sum)
		if err != nil {
			t.Fatal(err)
		}
		var back Sum
		if err := json.Unmarshal(b, &back); err != nil || !reflect.DeepEqual(back, sum) {
			t.Fatalf("%+v\nbecame\n%+v, %v\n%s", sum, back, err, b)
		}
	})
}
