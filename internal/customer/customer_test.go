package customer

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"rampside/internal/apperr"
)

func TestWhatIsWrongWithACustomerIsSaidAtTheField(t *testing.T) {
	long := strings.Repeat("a", 3000)
	for _, c := range []struct {
		name   string
		in     Input
		fields []string
	}{
		{"nothing given", Input{}, []string{"name"}},
		{"only blanks", Input{Name: " \t\u00a0\u200b "}, []string{"name"}},
		{"null byte", Input{Name: "Jo\x00"}, []string{"name"}},
		{"invalid UTF-8", Input{Name: "Jo", Address: "\xff\xfe"}, []string{"address"}},
		{"text turned round", Input{Name: "Jo\u202eoj"}, []string{"name"}},
		{"line breaks in the name", Input{Name: "Jo\nBell"}, []string{"name"}},
		{"enormous", Input{Name: long, Phone: long, Email: long, Address: long, Note: long}, []string{"address", "email", "name", "note", "phone"}},
		{"no number", Input{Name: "Jo", Phone: "ring his mum"}, []string{"phone"}},
		{"too few digits", Input{Name: "Jo", Phone: "-123"}, []string{"phone"}},
		{"no address", Input{Name: "Jo", Email: "jo at example"}, []string{"email"}},
		{"a name in the address", Input{Name: "Jo", Email: "Jo <jo@example.com>"}, []string{"email"}},
		{"no domain", Input{Name: "Jo", Email: "jo@localhost"}, []string{"email"}},
		{"header injection", Input{Name: "Jo", Email: "jo@example.com\r\nBcc: all@example.com"}, []string{"email"}},
	} {
		_, err := c.in.Clean()
		var e *apperr.Error
		if !errors.As(err, &e) || e.Kind != apperr.Invalid {
			t.Errorf("%s: got %v, want an Invalid error", c.name, err)
			continue
		}
		if got := slices.Sorted(maps.Keys(e.Fields)); !slices.Equal(got, c.fields) {
			t.Errorf("%s: messages at %v, want %v", c.name, got, c.fields)
		}
	}
}

func TestACustomerIsKeptAsGivenButForBlanks(t *testing.T) {
	got, err := Input{
		Name: "  Ann   Ó Briain-<b>Bell</b> ", Phone: "07700 900123 or 01632 960123", Email: "ann@example.com",
		Address: "1 Saltmarsh Lane\r\nTidehaven\n", Note: "'; drop table customer; --",
	}.Clean()
	want := Input{
		Name: "Ann Ó Briain-<b>Bell</b>", Phone: "07700 900123 or 01632 960123", Email: "ann@example.com",
		Address: "1 Saltmarsh Lane\nTidehaven", Note: "'; drop table customer; --",
	}
	if err != nil || got != want {
		t.Errorf("got %+v, %v\nwant %+v", got, err, want)
	}
}
