package pricing

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rampside/internal/money"
)

func whole(s Sum) map[string]int64 {
	all := map[string]int64{}
	for _, l := range s.Lines {
		all[l.Key] = l.Qty
	}
	return all
}

func TestLawCreditingEveryQuantityAtOnceIsTheCreditOfTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, s := anySheet(t)
		if len(s.Lines) == 0 {
			return
		}
		got, err := s.CreditPart(whole(s), nil)
		if want := s.Credit(); err != nil || got.Totals.Gross != want.Totals.Gross || got.Totals.VAT != want.Totals.VAT || got.LineNet != want.LineNet ||
			got.Allowances != want.Allowances || got.Charges != want.Charges || !reflect.DeepEqual(got.Totals.ByRate, want.Totals.ByRate) {
			t.Fatalf("%+v\nwant %+v, %v", got, want, err)
		}
	})
}

func TestLawCreditsOfQuantitiesInAnyPiecesComeToTheBill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, s := anySheet(t)
		if len(s.Lines) == 0 {
			return
		}
		rest, already := s.Totals, map[string]int64{}
		for round := 0; len(already) < len(s.Lines) || left(s, already) > 0; round++ {
			take := map[string]int64{}
			for _, l := range s.Lines {
				was, before := already[l.Key]
				open := l.Qty - was
				switch {
				case l.Qty == 0 && before, l.Qty != 0 && open == 0:
				case l.Qty == 0 || l.AllIn || round > 4:
					take[l.Key] = open
				default:
					if n := rapid.Int64Range(min(open, 0), max(open, 0)).Draw(t, "qty"); n != 0 {
						take[l.Key] = n
					}
				}
			}
			if len(take) == 0 {
				continue
			}
			c, err := s.CreditPart(take, already)
			if err != nil {
				t.Fatal(err)
			}
			var lines money.Minor
			for _, l := range c.Lines {
				lines += l.Net
				net := l.List
				for _, a := range l.Adjust {
					net += a.signed()
				}
				if net != l.Net || l.List != money.Share(l.Price, l.Qty, l.Per) {
					t.Fatalf("a piece does not add up: %+v", l)
				}
			}
			if lines != c.LineNet || c.Totals.Net != c.LineNet-c.Allowances+c.Charges || c.Totals.Gross != c.Totals.Net+c.Totals.VAT {
				t.Fatalf("the credit does not add up: %+v", c)
			}
			rest = Rest(rest, c.Totals)
			for k, n := range take {
				already[k] += n
			}
		}
		if rest.Net != 0 || rest.VAT != 0 || rest.Gross != 0 {
			t.Fatalf("%+v is left of %+v", rest, s.Totals)
		}
	})
}

func left(s Sum, already map[string]int64) (n int) {
	for _, l := range s.Lines {
		if l.Qty != already[l.Key] {
			n++
		}
	}
	return n
}

func TestLawPushingAdjustmentsDownChangesNoTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, s := anySheet(t)
		got := s.PushDown()
		var lines money.Minor
		for _, l := range got.Lines {
			lines += l.Net
		}
		if lines != s.Totals.Net || got.LineNet != s.Totals.Net || got.Totals.Gross != s.Totals.Gross {
			t.Fatalf("lines %v, want %v", lines, s.Totals.Net)
		}
	})
}

func TestMoreThanIsLeftOfALineIsNotCredited(t *testing.T) {
	s, err := Work(Sheet{Rounding: money.PerDocument, Lines: []Line{
		{Key: "plugs", Text: "Spark plug", VAT: VAT{money.Standard, 2000}, Price: Each{Qty: 4000, Net: 875}},
		{Key: "hours", Text: "Fitting", VAT: VAT{money.Standard, 2000}, Price: ByTime{time.Hour, 6000}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		take, already map[string]int64
		want          error
	}{
		"five of four":       {map[string]int64{"plugs": 5000}, nil, ErrTooMuch},
		"two of one left":    {map[string]int64{"plugs": 2000}, map[string]int64{"plugs": 3000}, ErrTooMuch},
		"none":               {map[string]int64{"plugs": 0}, nil, ErrTooMuch},
		"less than none":     {map[string]int64{"plugs": -1000}, nil, ErrTooMuch},
		"what is gone":       {map[string]int64{"hours": 1000}, map[string]int64{"hours": 1000}, ErrCredited},
		"what was not there": {map[string]int64{"oil": 1000}, nil, ErrUnknownKey},
		"nothing named":      {nil, nil, ErrNothing},
	} {
		if _, err := s.CreditPart(c.take, c.already); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	c, err := s.CreditPart(map[string]int64{"plugs": 1000}, nil)
	if err != nil || c.Totals.Net != -875 || c.Totals.VAT != -175 || c.Totals.Gross != -1050 {
		t.Errorf("one plug of four: %+v, %v", c.Totals, err)
	}
}
