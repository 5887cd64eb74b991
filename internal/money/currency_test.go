package money

import (
	"errors"
	"testing"
)

func TestAGarageElsewhereWritesItsOwnCurrency(t *testing.T) {
	for code, want := range map[string][3]string{
		"GBP": {"£", "£1,234.50", "-£3.20"},
		"EUR": {"€", "€1,234.50", "-€3.20"},
		"CHF": {"CHF", "CHF\u00a01,234.50", "-CHF\u00a03.20"},
	} {
		c, err := CurrencyOf(code)
		if err != nil || c.Code() != code || c.Symbol() != want[0] {
			t.Errorf("%s: %q %q %v", code, c.Code(), c.Symbol(), err)
		}
		for i, m := range []Minor{1234_50, -3_20} {
			if got := c.Format(m); got != want[i+1] {
				t.Errorf("%s: %q, want %q", code, got, want[i+1])
			}
			if got, err := c.Parse(c.Format(m)); err != nil || got != m {
				t.Errorf("%s: %q read back as %d, %v", code, c.Format(m), got, err)
			}
		}
	}
	if (Currency{}).Format(5) != "£0.05" {
		t.Error("the zero currency is not sterling")
	}
	euro, _ := CurrencyOf("EUR")
	if m, err := euro.Parse("£5"); !errors.Is(err, ErrNotAmount) {
		t.Errorf("pounds were taken for euros: %v", m)
	}
}

func TestACurrencyWithoutHundredthsIsRefused(t *testing.T) {
	for _, code := range []string{"JPY", "KWD", "", "gbp", "XXZ", "€"} {
		if c, err := CurrencyOf(code); !errors.Is(err, ErrCurrency) {
			t.Errorf("%q: %+v", code, c)
		}
	}
}
