package plate

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The examples of the Road Vehicles (Display of Registration Marks)
// Regulations 2001 (SI 2001/561), Schedule 3, Part 1, Table A.
func TestEveryLayoutOfTheRegulationsIsWrittenAsTheyWriteIt(t *testing.T) {
	for mark, layout := range map[string]Layout{
		"DE51 ABC": Current,
		"A123 ABC": Prefix, "A12 ABC": Prefix, "A1 ABC": Prefix,
		"ABC 123A": Suffix, "ABC 12A": Suffix, "ABC 1A": Suffix,
		"1234 AB": Dateless, "1234 A": Dateless,
		"123 ABC": Dateless, "123 AB": Dateless, "12 A": Dateless,
		"ABC 123": Dateless, "AB 123": Dateless, "A 12": Dateless,
		"AB 1234": Dateless, "A 1234": Dateless,
		"ABZ 1234": Northern, "1234 ABZ": Northern,
	} {
		want := Mark{Compact: strings.ReplaceAll(mark, " ", ""), Display: mark, Layout: layout}
		for _, typed := range []string{
			mark, strings.ToLower(mark), want.Compact, " " + mark + " ", strings.ReplaceAll(mark, " ", "-"),
			strings.Join(strings.Split(want.Compact, ""), " "), strings.ReplaceAll(mark, " ", "\u00a0"),
		} {
			got, err := Parse(typed)
			got.Alternatives = nil
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("Parse(%q) = %+v, %v, want %+v", typed, got, err, want)
			}
		}
	}
}

func TestTheTableOfLayoutsHasNoTwoAlike(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range shapes {
		if seen[s.slots] || len(s.slots) > 7 {
			t.Errorf("%+v", s)
		}
		seen[s.slots] = true
	}
	if len(seen) != 1+3+3+9+9+2+2+2 {
		t.Errorf("there are %d", len(seen))
	}
}

func TestAMistakenOOrIIsPutRightWhereTheLayoutFixesIt(t *testing.T) {
	for typed, want := range map[string]string{
		"bd5i smr": "BD51 SMR",
		"ABO1 CDE": "AB01 CDE", // in form only: 01 was not issued
		"bd5lsmr":  "",         // an l is a letter, not a mistaken I
		"BD51 0MR": "BD51 OMR",
		"0E51 ABC": "OE51 ABC",
		"A1O ABC":  "A10 ABC",
		"AIO ABC":  "A10 ABC",
		"ABC I2A":  "ABC 12A",
		"AB0 123A": "ABO 123A",
	} {
		got, err := Parse(typed)
		if err != nil || (want != "" && got.Display != want) || (want == "" && got.Layout != Other) {
			t.Errorf("Parse(%q) = %+v, %v, want %q", typed, got, err, want)
		}
	}
}

func TestADatelessMarkStaysAsTypedAndOffersTheOthers(t *testing.T) {
	for typed, want := range map[string]struct {
		display      string
		layout       Layout
		alternatives []string
	}{
		"100 ABC": {"100 ABC", Dateless, nil},
		"1OO ABC": {"1OO ABC", Other, []string{"100 ABC"}},
		"ABC 1OO": {"ABC 1OO", Other, []string{"ABC 100"}},
		"ABC 12O": {"ABC 12O", Suffix, []string{"ABC 120"}},
		"AB 12O":  {"AB 12O", Other, []string{"ABI 20", "AB 120"}}, // the first of Northern Ireland
		"I 1":     {"I 1", Dateless, []string{"1 I"}},
		"OI":      {"OI", Other, []string{"O 1"}},
	} {
		got, err := Parse(typed)
		if err != nil || got.Display != want.display || got.Layout != want.layout || !slices.Equal(got.Alternatives, want.alternatives) {
			t.Errorf("Parse(%q) = %+v, %v, want %+v", typed, got, err, want)
		}
	}
}

func TestAMarkThatFitsAsTypedIsNotPutRightButOffersTheOther(t *testing.T) {
	got, err := Parse("AI23 ABC")
	if err != nil || got.Display != "AI23 ABC" || got.Note == "" || !slices.Equal(got.Alternatives, []string{"A123 ABC"}) {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestAMarkOfAnotherCountryIsTakenAsTyped(t *testing.T) {
	for typed, display := range map[string]string{
		"b-xy 1234e":   "B-XY 1234E",
		"1-abc-234":    "1-ABC-234",
		"м 123 ав 77":  "М 123 АВ 77",
		"dü·ab 12":     "DÜ·AB 12",
		"ABCDEFGHIJKL": "ABCDEFGHIJKL",
		"12345678":     "12345678",
	} {
		got, err := Parse(typed)
		if err != nil || got.Display != display || got.Layout != Other || got.Note == "" {
			t.Errorf("Parse(%q) = %+v, %v", typed, got, err)
		}
	}
}

func TestWhatCannotBeAMarkIsRefused(t *testing.T) {
	for typed, want := range map[string]error{
		"": ErrEmpty, "   ": ErrEmpty, "---": ErrEmpty, ".": ErrEmpty,
		"ABCDEFGHIJKLM": ErrLong, strings.Repeat("A ", 100_000): ErrLong,
		"AB12 CDE;": ErrOdd, "<script>": ErrOdd, "AB12\x00CDE": ErrOdd, "\xff\xfe": ErrOdd, "AB12 🚗": ErrOdd,
		"' or 1=1": ErrOdd, "AB/12": ErrOdd, "AB12\nCDE": ErrOdd, "AB²": ErrOdd,
	} {
		if got, err := Parse(typed); !errors.Is(err, want) || got.Compact != "" {
			t.Errorf("Parse(%.20q) = %+v, %v, want %v", typed, got, err, want)
		}
	}
}

// I and Q are not used in current marks and Z only in the last three; a Q
// prefix means that the age is not known (DVLA, reported by DVLARegCheck).
func TestAMarkThatIsHardlyIssuedSaysSo(t *testing.T) {
	for typed, note := range map[string]string{
		"DI51 ABC": "I and Q", "DE51 AQC": "I and Q", "ZE51 ABC": "Z stands only", "DE51 ABZ": "",
		"Q123 ABC": "age of the vehicle is not known", "O123 ABC": "never a year letter", "ABC 123U": "never a year letter",
		"AB00 CDE": "has not been issued", "AB01 CDE": "has not been issued", "AB50 CDE": "has not been issued",
		"AB02 CDE": "", "AB49 CDE": "", "AB51 CDE": "", "AB99 CDE": "",
	} {
		got, err := Parse(typed)
		if err != nil || (note == "") != (got.Note == "") || !strings.Contains(got.Note, note) {
			t.Errorf("Parse(%q) notes %q, want %q, %v", typed, got.Note, note, err)
		}
	}
}

// Current marks: DVLA, INF104, with 51 for September 2001 and 12 for March
// 2012. Prefixes: a published list of year letters. Suffixes: from memory.
func TestAMarkTellsWhenItsKindWasIssued(t *testing.T) {
	for typed, want := range map[string]Age{
		"DE51 ABC": {2001, time.September}, "AB12 CDE": {2012, time.March}, "AB02 CDE": {2002, time.March},
		"AB62 CDE": {2012, time.September}, "AB74 CDE": {2024, time.September},
		"A123 ABC": {Year: 1983}, "J1 ABC": {Year: 1991}, "P1 ABC": {Year: 1996}, "S1 ABC": {Year: 1998},
		"T1 ABC": {Year: 1999}, "V1 ABC": {Year: 1999}, "W1 ABC": {Year: 2000}, "X1 ABC": {Year: 2000}, "Y1 ABC": {Year: 2001},
		"ABC 1A": {Year: 1963}, "ABC 1Y": {Year: 1982},
	} {
		m, err := Parse(typed)
		if got, ok := m.Age(); err != nil || !ok || got != want {
			t.Errorf("%s: %+v %v %v", typed, got, ok, err)
		}
	}
	for _, typed := range []string{"AB50 CDE", "Q1 ABC", "ABC 123", "ABZ 1234", "B-XY 1234E"} {
		m, _ := Parse(typed)
		if got, ok := m.Age(); ok {
			t.Errorf("%s: %+v", typed, got)
		}
	}
}

var anyMark = rapid.Custom(func(t *rapid.T) string {
	s := rapid.SampledFrom(shapes).Draw(t, "shape")
	b := []byte(s.slots)
	for i := range b {
		from := "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
		if b[i] == 'N' {
			from = "0123456789"
		}
		b[i] = from[rapid.IntRange(0, len(from)-1).Draw(t, "c")]
	}
	return string(b)
})

func TestAMarkInAnySpellingIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMark.Draw(t, "mark")
		doubles := strings.NewReplacer("O", "0", "0", "O", "I", "1", "1", "I")
		var typed string
		for _, c := range strings.Split(m, "") {
			if rapid.Bool().Draw(t, "mistaken") {
				c = doubles.Replace(c)
			}
			typed += c + rapid.SampledFrom([]string{"", " ", "-", "."}).Draw(t, "gap")
		}
		if rapid.Bool().Draw(t, "lower") {
			typed = strings.ToLower(typed)
		}
		got, err := Parse(typed)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range []string{typed, got.Compact, got.Display} {
			if Key(s) != Key(m) {
				t.Fatalf("%q has the key %q, %q has %q", s, Key(s), m, Key(m))
			}
		}
	})
}

func TestAMarkReadsBackAsItIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMark.Draw(t, "mark")
		got, err := Parse(m)
		if err != nil || got.Compact != m {
			t.Fatalf("%q became %+v, %v", m, got, err)
		}
		if back, err := Parse(got.Display); err != nil || !reflect.DeepEqual(back, got) {
			t.Fatalf("%+v read back as %+v, %v", got, back, err)
		}
		for _, a := range got.Alternatives {
			if alt, err := Parse(a); err != nil || alt.Display != a || Key(a) != Key(m) || alt.Compact == m {
				t.Fatalf("%q offers %q: %+v, %v", m, a, alt, err)
			}
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"DE51 ABC", "bd5i smr", "1OO ABC", "m 123 aв", "Q1 ABC", "", "\x00", "\xff", "AB12🚗"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if k := Key(s); Key(k) != k { // takes anything, and its own keys as they are
			t.Errorf("the key of %q is %q, and the key of that %q", s, k, Key(k))
		}
		m, err := Parse(s)
		if err != nil {
			return
		}
		back, err := Parse(m.Display)
		if err != nil || back.Compact != m.Compact || back.Layout != m.Layout {
			t.Fatalf("%q: %+v reads back as %+v, %v", s, m, back, err)
		}
		if Key(s) != Key(m.Compact) || m.Compact == "" {
			t.Fatalf("%q is not found by %+v", s, m)
		}
	})
}
