package fifo_test

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/fifo"
	"rampside/internal/money"
)

func lot(units int64, each money.Minor) fifo.Lot {
	return fifo.Lot{Qty: units * 1000, Value: money.Minor(units) * each}
}

// shelf is what a shop would have on it.
type shelf []fifo.Lot

func (s shelf) take(t interface{ Fatal(...any) }, units int64) money.Minor {
	taken, err := fifo.Take(s, units*1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range taken {
		s[x.Lot].Qty -= x.Qty
		s[x.Lot].Value -= x.Cost
	}
	return fifo.Cost(taken)
}

func (s shelf) worth() (sum money.Minor) {
	for _, l := range s {
		sum += l.Value
	}
	return sum
}

// TestATextbookShopIsCostedAsInTheBook is the perpetual example of OpenStax,
// Principles of Accounting, Volume 1 (2019), chapter 10, "The Spy Who Loves
// You": 150 units at $21; 120 sold; 225 bought at $27; 180 sold; 210 bought at
// $33. First in first out gives a cost of goods sold of $7,200 and an ending
// inventory of $8,955. The figures are from memory; their sum, $16,155, is
// what was paid.
func TestATextbookShopIsCostedAsInTheBook(t *testing.T) {
	s := shelf{lot(150, 21_00)}
	sold := s.take(t, 120)
	s = append(s, lot(225, 27_00))
	sold += s.take(t, 180)
	s = append(s, lot(210, 33_00))
	if sold != 7_200_00 || s.worth() != 8_955_00 {
		t.Errorf("sold %s, left %s", sold, s.worth())
	}
}

func TestAPennyThatDoesNotDivideStaysWithTheRest(t *testing.T) {
	s := shelf{{Qty: 3000, Value: 100}}
	for _, want := range []money.Minor{33, 34, 33} { // 100/3, 67/2, 33
		if got := s.take(t, 1); got != want {
			t.Errorf("one of three for a pound costs %d, want %d", got, want)
		}
	}
	if s.worth() != 0 {
		t.Errorf("%d left of nothing", s.worth())
	}
}

func TestTooLittleIsRefusedAndSaysHowMuchThereIs(t *testing.T) {
	_, err := fifo.Take([]fifo.Lot{{Qty: 1500, Value: 10}, {}}, 1501)
	var short *fifo.ShortError
	if !errors.As(err, &short) || short.Have != 1500 || err.Error() != "there are only 1.5 on the shelf" {
		t.Errorf("%v", err)
	}
	for _, odd := range []int64{0, -1} {
		if taken, err := fifo.Take([]fifo.Lot{{Qty: 1500, Value: 10}}, odd); err == nil {
			t.Errorf("%d took %v", odd, taken)
		}
	}
}

// TestWhatCameInIsWhatWentOutAndWhatIsLeft holds every penny and every
// thousandth over any history of a shelf.
func TestWhatCameInIsWhatWentOutAndWhatIsLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s shelf
		var in, out money.Minor
		var qtyIn, qtyOut int64
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			if rapid.Bool().Draw(t, "comes") {
				l := fifo.Lot{Qty: rapid.Int64Range(1, 100_000_000).Draw(t, "qty"), Value: money.Minor(rapid.Int64Range(0, 99_999_999_999).Draw(t, "value"))}
				s, in, qtyIn = append(s, l), in+l.Value, qtyIn+l.Qty
				continue
			}
			want := rapid.Int64Range(1, 120_000_000).Draw(t, "want")
			taken, err := fifo.Take(s, want)
			if (err == nil) != (want <= qtyIn-qtyOut) {
				t.Fatalf("%d of %d: %v", want, qtyIn-qtyOut, err)
			}
			var got int64
			for i, x := range taken {
				if i > 0 && x.Lot <= taken[i-1].Lot {
					t.Fatal("a newer lot before an older one")
				}
				s[x.Lot].Qty -= x.Qty
				s[x.Lot].Value -= x.Cost
				if l := s[x.Lot]; l.Qty < 0 || l.Value < 0 || l.Qty == 0 && l.Value != 0 {
					t.Fatalf("lot %+v after it gave %+v", l, x)
				}
				for _, older := range s[:x.Lot] {
					if older.Qty != 0 {
						t.Fatal("an older lot still has some")
					}
				}
				got += x.Qty
			}
			if err == nil && got != want {
				t.Fatalf("%d taken of %d", got, want)
			}
			out, qtyOut = out+fifo.Cost(taken), qtyOut+got
			if in != out+s.worth() {
				t.Fatalf("in %d, out %d, left %d", in, out, s.worth())
			}
		}
	})
}
