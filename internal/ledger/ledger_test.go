package ledger

import (
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"rampside/internal/money"
	"rampside/internal/workday"
)

// Each law is tried on 2,000 accounts. For a million:
//
//	go test ./internal/ledger -run Law -rapid.checks=1000000 -timeout 0
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

var today = workday.Must(2026, 11, 25)

func TestNumbersOfASeriesFollowOneAnother(t *testing.T) {
	s := Series{"B-", 6}
	var last int64
	for _, want := range []string{"B-000001", "B-000002", "B-000003"} {
		last = Next(last)
		if got := s.Format(last); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
	if got := s.Format(1_000_000); got != "B-1000000" {
		t.Errorf("the millionth is %s", got)
	}
	for _, bad := range []string{"", "B-", "B-1", "B-0000001", "B-+00001", "B-000000", "C-000001", "B-00000x", "B--00001", "B-99999999999999999999"} {
		if n, err := s.Parse(bad); !errors.Is(err, ErrNumber) {
			t.Errorf("%q is %d", bad, n)
		}
	}
	if missing, twice := Gaps([]int64{1, 2, 5, 5, 7}, 2); !reflect.DeepEqual(missing, []int64{3, 4}) || !reflect.DeepEqual(twice, []int64{5}) {
		t.Errorf("%v %v", missing, twice)
	}
	if missing, twice := Gaps([]int64{3, 1, 2}, 9); missing != nil || twice != nil {
		t.Errorf("%v %v", missing, twice)
	}
}

func TestASeriesThatCouldBeMistakenIsRefused(t *testing.T) {
	for _, good := range []Series{{"B-", 6}, {"", 1}, {"2026/", 5}, {"RG", 12}} {
		if err := good.Check(); err != nil {
			t.Errorf("%+v: %v", good, err)
		}
	}
	for _, bad := range []Series{{"B-", 0}, {"B-", 13}, {"B2", 4}, {"=B", 4}, {"B ", 4}, {"ABCDEFGHIJKLM", 4}} {
		if err := bad.Check(); !errors.Is(err, ErrSeries) {
			t.Errorf("%+v passes", bad)
		}
	}
}

func TestLawANumberIsReadAsItIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Series{rapid.SampledFrom([]string{"", "B-", "CN/", "2026-"}).Draw(t, "prefix"), rapid.IntRange(1, 12).Draw(t, "width")}
		n := rapid.Int64Range(1, 1<<50).Draw(t, "n")
		if got, err := s.Parse(s.Format(n)); err != nil || got != n {
			t.Fatalf("%d became %s became %d, %v", n, s.Format(n), got, err)
		}
	})
}

// The edges of the buckets: common practice, no published source.
func TestADebtGrowsOlderADayAfterItWasDue(t *testing.T) {
	for late, want := range map[int]Bucket{-1: NotDue, 0: NotDue, 1: To30, 30: To30, 31: To60, 60: To60, 61: To90, 90: To90, 91: Over90, 4000: Over90} {
		if got := BucketOf(late); got != want {
			t.Errorf("%d days late is %s", late, got)
		}
	}
	b := Bill{Issued: today.AddDays(-14), Due: today}
	for days, want := range map[int]int{-1: 0, 0: 0, 1: 1, 30: 30} {
		if got := b.Overdue(today.AddDays(days)); got != want {
			t.Errorf("after %d days it is %d days late", days, got)
		}
	}
	if got := (Bill{Issued: today}).Overdue(today.AddDays(5)); got != 5 {
		t.Errorf("due on issue: %d", got)
	}
}

func TestWhatIsOwedIsSortedByAge(t *testing.T) {
	a := Age([]Bill{
		{Number: "1", Due: today.AddDays(14), Gross: 100_00}, {Number: "2", Due: today.AddDays(-1), Gross: 50_00, Paid: 20_00},
		{Number: "3", Due: today.AddDays(-45), Gross: 80_00, Credited: 30_00}, {Number: "4", Due: today.AddDays(-200), Gross: 10_00, Paid: 10_00},
		{Number: "5", Due: today.AddDays(-91), Gross: 7_00}, {Number: "6", Due: today.AddDays(-3), Gross: 5_00, Paid: 9_00},
	}, 12_00, today)
	want := Aged{In: [buckets]money.Minor{100_00, 30_00, 50_00, 0, 7_00}, Unset: 16_00, Total: 171_00, Oldest: today.AddDays(-91)}
	if a != want {
		t.Errorf("%+v", a)
	}
	for _, b := range Buckets() {
		if b.String() == "" {
			t.Errorf("bucket %d has no words", b)
		}
	}
}

func TestAPaymentGoesToTheOldestFirst(t *testing.T) {
	shares, left := SetAgainst(100_00, []Bill{
		{Number: "new", Due: today, Gross: 60_00}, {Number: "old", Due: today.AddDays(-40), Gross: 50_00, Paid: 20_00}, {Number: "paid", Due: today.AddDays(-90), Gross: 5_00, Paid: 5_00},
	})
	if want := []Share{{"old", 30_00}, {"new", 60_00}}; !reflect.DeepEqual(shares, want) || left != 10_00 {
		t.Errorf("%v, %v left", shares, left)
	}
}

var anyBills = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Bill {
	b := Bill{Issued: today.AddDays(-rapid.IntRange(0, 200).Draw(t, "age")), Gross: money.Minor(rapid.Int64Range(0, 500_00).Draw(t, "gross"))}
	b.Due = b.Issued.AddDays(rapid.IntRange(0, 60).Draw(t, "days"))
	b.Paid = money.Minor(rapid.Int64Range(0, 600_00).Draw(t, "paid"))
	b.Credited = money.Minor(rapid.Int64Range(0, 100_00).Draw(t, "credited"))
	return b
}), 0, 12)

func TestLawTheBucketsAddUpToWhatIsOwed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bills := anyBills.Draw(t, "bills")
		account := money.Minor(rapid.Int64Range(0, 100_00).Draw(t, "on account"))
		a := Age(bills, account, today.AddDays(rapid.IntRange(-10, 300).Draw(t, "on")))
		owed := -account
		for _, b := range bills {
			owed += b.Gross - b.Paid - b.Credited
		}
		var in money.Minor
		for _, m := range a.In {
			if m < 0 {
				t.Fatalf("%+v", a)
			}
			in += m
		}
		if a.Total != owed || in-a.Unset != owed {
			t.Fatalf("%+v, owed %v", a, owed)
		}
	})
}

func TestLawAPaymentIsSetOnceAndNoBillIsOverpaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bills := anyBills.Draw(t, "bills")
		for i := range bills {
			bills[i].Number = string(rune('a' + i))
		}
		payment := money.Minor(rapid.Int64Range(0, 3000_00).Draw(t, "payment"))
		shares, left := SetAgainst(payment, bills)
		sum := left
		for _, s := range shares {
			sum += s.Amount
			for i := range bills {
				if bills[i].Number == s.Number {
					bills[i].Paid += s.Amount
					if s.Amount <= 0 || bills[i].Open() < 0 {
						t.Fatalf("%+v took %v", bills[i], s.Amount)
					}
				}
			}
		}
		if sum != payment {
			t.Fatalf("%v became %v and %v", payment, shares, left)
		}
		for _, b := range bills {
			if left > 0 && b.Open() > 0 {
				t.Fatalf("%v is left and %+v open", left, b)
			}
		}
	})
}

func TestLawAStatementAddsUpInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Entry {
			return Entry{
				Day: today.AddDays(-rapid.IntRange(0, 90).Draw(t, "day")), Sort: rapid.SampledFrom(sorts).Draw(t, "sort"),
				Amount: money.Minor(rapid.Int64Range(0, 500_00).Draw(t, "amount")),
			}
		}), 0, 15).Draw(t, "entries")
		from, to := today.AddDays(-60), today.AddDays(-20)
		s := State(entries, from, to)
		var before, until money.Minor
		for _, e := range entries {
			if e.Day.Before(from) {
				before += e.Effect()
			}
			if !e.Day.After(to) {
				until += e.Effect()
			}
		}
		if s.Opening != before || s.Closing != until || s.Opening+s.Billed+s.Refunded-s.Credited-s.Paid != s.Closing {
			t.Fatalf("%+v", s)
		}
		if n := len(s.Rows); n > 0 && s.Rows[n-1].Balance != s.Closing {
			t.Fatalf("%+v", s)
		}
		// The next statement opens with what this one closed with.
		if next := State(entries, to.AddDays(1), today); next.Opening != s.Closing {
			t.Fatalf("%v is not %v", next.Opening, s.Closing)
		}
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		r.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		if again := State(entries, from, to); !reflect.DeepEqual(again, s) {
			t.Fatalf("%+v\nbecame\n%+v", s, again)
		}
	})
}

func TestAStatementShowsABillItsPaymentAndWhatIsLeft(t *testing.T) {
	// £198.85 billed, £100.00 paid, £20.00 credited, £1.15 paid back: common
	// practice, no published source.
	s := State([]Entry{
		{Day: today, Sort: Paid, Amount: 100_00}, {Day: today, Sort: Billed, Number: "B-000123", Amount: 198_85},
		{Day: today.AddDays(2), Sort: Refunded, Amount: 1_15}, {Day: today.AddDays(1), Sort: Credited, Number: "C-000001", Amount: 20_00},
		{Day: today.AddDays(-40), Sort: Billed, Amount: 10_00},
	}, today, today.AddDays(30))
	want := []money.Minor{208_85, 108_85, 88_85, 90_00}
	for i, r := range s.Rows {
		if r.Balance != want[i] {
			t.Errorf("row %d: %v, want %v", i, r.Balance, want[i])
		}
	}
	if s.Opening != 10_00 || s.Closing != 90_00 || len(s.Rows) != 4 {
		t.Errorf("%+v", s)
	}
}
