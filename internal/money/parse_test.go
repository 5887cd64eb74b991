package money

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"github.com/bojanz/currency"
	"pgregory.net/rapid"
)

func TestAmountsAreReadAsPeopleTypeThem(t *testing.T) {
	for in, want := range map[string]Minor{
		"12": 12_00, "12.5": 12_50, "£1,234.50": 1234_50, "-3.20": -3_20, " 7 ": 7_00,
		"£ 12.30": 12_30, "-£3.20": -3_20, "£-3.20": -3_20, "\u22123.20": -3_20, "- £ 3.20": -3_20,
		".5": 50, "0.05": 5, "007": 7_00, "1,234,567.8": 1234567_80, "\u00a012\u00a0": 12_00,
		"9,999,999.99": MaxTyped, "9999999.99": MaxTyped, "-9999999.99": -MaxTyped, "0": 0, "-0": 0,
		"000000000000000000000001": 1_00,
	} {
		if got, err := Parse(in); err != nil || got != want {
			t.Errorf("Parse(%q) = %d, %v, want %d", in, got, err, want)
		}
	}
}

func TestEntriesThatAreNotAnAmountAreRefusedInPlainWords(t *testing.T) {
	for in, want := range map[string]error{
		"": ErrEmpty, "   ": ErrEmpty,
		"1e5": ErrNotAmount, "NaN": ErrNotAmount, "Infinity": ErrNotAmount, "0x10": ErrNotAmount,
		"twelve": ErrNotAmount, "£": ErrNotAmount, "-": ErrNotAmount, ".": ErrNotAmount, "12.": ErrNotAmount,
		"--3": ErrNotAmount, "££3": ErrNotAmount, "+3": ErrNotAmount, "3-": ErrNotAmount, "3£": ErrNotAmount,
		"1 234": ErrNotAmount, "1.2.3": ErrNotAmount, "1_000": ErrNotAmount, "$5": ErrNotAmount,
		"12\x00": ErrNotAmount, "\xff\xfe": ErrNotAmount, "١٢": ErrNotAmount, "１２": ErrNotAmount,
		"'; drop table bill; --": ErrNotAmount, "<script>": ErrNotAmount,
		"12,34": ErrComma, "1,2345": ErrComma, ",123": ErrComma, "1,,234": ErrComma, "1.234,50": ErrComma,
		"0,123": ErrComma, "1234,567": ErrComma, "1,": ErrComma,
		"1.234": ErrPence, "1.000": ErrPence,
		"10000000": ErrTypedLarge, "10,000,000.00": ErrTypedLarge, "-10000000": ErrTypedLarge,
		strings.Repeat("9", 100_000): ErrTypedLarge,
	} {
		if got, err := Parse(in); !errors.Is(err, want) {
			t.Errorf("Parse(%.40q) = %v, %v, want %v", in, got, err, want)
		}
	}
}

func TestRatesAreReadInPercent(t *testing.T) {
	for in, want := range map[string]Rate{
		"20": 2000, "17.5%": 1750, " 5 % ": 500, "0": 0, "0.01": 1, "1000": MaxRate, "33.33": 3333,
	} {
		if got, err := ParseRate(in); err != nil || got != want {
			t.Errorf("ParseRate(%q) = %d, %v", in, got, err)
		}
	}
	for in, want := range map[string]error{
		"": ErrNotRate, "%": ErrNotRate, "20%%": ErrNotRate, "a": ErrNotRate, "1e2": ErrNotRate, "20.": ErrNotRate,
		"17.555": ErrRateExact, "1000.01": ErrRateLarge, "-5": ErrRateLarge, "-5%": ErrRateLarge, "-x": ErrNotRate,
	} {
		if got, err := ParseRate(in); !errors.Is(err, want) {
			t.Errorf("ParseRate(%q) = %d, %v, want %v", in, got, err, want)
		}
	}
}

func TestQuantitiesAreReadInThousandths(t *testing.T) {
	for in, want := range map[string]int64{
		"1": 1000, "0.5": 500, "4.25": 4250, "0.125": 125, ".5": 500, "0": 0, "99999.999": MaxQuantity,
	} {
		if got, err := ParseQuantity(in); err != nil || got != want {
			t.Errorf("ParseQuantity(%q) = %d, %v", in, got, err)
		}
	}
	for in, want := range map[string]error{
		"": ErrNotQuantity, "one": ErrNotQuantity, "1,000": ErrNotQuantity, "1e3": ErrNotQuantity, "½": ErrNotQuantity,
		"1.0005": ErrQuantityExact, "100000": ErrQuantityLarge, "-1": ErrQuantityLarge,
	} {
		if got, err := ParseQuantity(in); !errors.Is(err, want) {
			t.Errorf("ParseQuantity(%q) = %d, %v, want %v", in, got, err, want)
		}
	}
}

func TestAmountsAreWrittenForReading(t *testing.T) {
	for m, want := range map[Minor]string{
		0: "£0.00", 5: "£0.05", 12_00: "£12.00", 999_99: "£999.99", 1234_50: "£1,234.50",
		-3_20: "-£3.20", -1_234_567_89: "-£1,234,567.89", -9223372036854775808: "-£92,233,720,368,547,758.08",
	} {
		if got := Format(m); got != want || m.String() != want {
			t.Errorf("Format(%d) = %q", int64(m), got)
		}
	}
	for m, want := range map[Minor]string{0: "0.00", 1234_50: "1234.50", -3_20: "-3.20", -5: "-0.05"} {
		if got := FormatPlain(m); got != want {
			t.Errorf("FormatPlain(%d) = %q", int64(m), got)
		}
	}
}

func TestRatesAndQuantitiesAreWrittenWithoutNeedlessZeros(t *testing.T) {
	for r, want := range map[Rate]string{2000: "20%", 1750: "17.5%", 0: "0%", 5: "0.05%", -225: "-2.25%", 10: "0.1%"} {
		if got := r.String(); got != want {
			t.Errorf("FormatRate(%d) = %q", int64(r), got)
		}
	}
	for q, want := range map[int64]string{1000: "1", 500: "0.5", 4250: "4.25", 125: "0.125", 1: "0.001", 0: "0"} {
		if got := FormatQuantity(q); got != want {
			t.Errorf("FormatQuantity(%d) = %q", q, got)
		}
	}
}

// CLDR's rules for English in the United Kingdom, by way of bojanz/currency.
func TestAmountsAreWrittenAsCLDRHasIt(t *testing.T) {
	cldr := currency.NewFormatter(currency.NewLocale("en-GB"))
	rapid.Check(t, func(t *rapid.T) {
		m := Minor(rapid.Int64().Draw(t, "m"))
		a, err := currency.NewAmount(FormatPlain(m), "GBP")
		if err != nil {
			t.Fatal(err)
		}
		if got, want := Format(m), cldr.Format(a); got != want {
			t.Fatalf("%q, CLDR %q", got, want)
		}
	})
}

func TestWhatIsWrittenReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Minor(rapid.Int64Range(-int64(MaxTyped), int64(MaxTyped)).Draw(t, "m"))
		for _, s := range []string{Format(m), FormatPlain(m)} {
			if got, err := Parse(s); err != nil || got != m {
				t.Fatalf("%q read back as %d, %v", s, got, err)
			}
		}
		r := Rate(rapid.Int64Range(0, int64(MaxRate)).Draw(t, "r"))
		if got, err := ParseRate(FormatRate(r)); err != nil || got != r {
			t.Fatalf("%v read back as %v, %v", r, got, err)
		}
		q := rapid.Int64Range(0, MaxQuantity).Draw(t, "q")
		if got, err := ParseQuantity(FormatQuantity(q)); err != nil || got != q {
			t.Fatalf("%d read back as %d, %v", q, got, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"12", "12.5", "£1,234.50", "-3.20", "1e5", "NaN", "12,34", "\x00", "-£ 9,999,999.99", "."} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := Parse(s)
		if err != nil {
			if m != 0 {
				t.Fatalf("%q is refused but gives %d", s, m)
			}
			return
		}
		if m > MaxTyped || m < -MaxTyped {
			t.Fatalf("%q gives %d", s, m)
		}
		if back, err := Parse(Format(m)); err != nil || back != m {
			t.Fatalf("%q: %v reads back as %v, %v", s, m, back, err)
		}
		// An independent reading: without the marks it is a plain decimal.
		plain := strings.NewReplacer("£", "", ",", "", " ", "", "\u00a0", "", "\u202f", "", "\u2212", "-",
			"\t", "", "\r", "", "\n", "").Replace(s)
		v, err := strconv.ParseFloat(plain, 64)
		if d := v*100 - float64(m); err != nil || d > 0.01 || d < -0.01 {
			t.Fatalf("%q gives %d, a decimal reader %v, %v", s, m, v, err)
		}
	})
}

func FuzzParseRateAndQuantity(f *testing.F) {
	for _, s := range []string{"20", "17.5%", "-1", "0.125", "1e9", "%", "\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if r, err := ParseRate(s); err == nil {
			if r < 0 || r > MaxRate {
				t.Fatalf("%q gives %d", s, r)
			}
			if back, err := ParseRate(FormatRate(r)); err != nil || back != r {
				t.Fatalf("%q: %v reads back as %v, %v", s, r, back, err)
			}
		}
		if q, err := ParseQuantity(s); err == nil {
			if q < 0 || q > MaxQuantity {
				t.Fatalf("%q gives %d", s, q)
			}
			if back, err := ParseQuantity(FormatQuantity(q)); err != nil || back != q {
				t.Fatalf("%q: %v reads back as %v, %v", s, q, back, err)
			}
		}
	})
}
