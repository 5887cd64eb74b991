package money

import (
	"errors"

	"github.com/bojanz/currency"
)

// ErrCurrency says that a currency cannot be used here.
var ErrCurrency = errors.New("choose a currency with two decimals by its code, such as GBP or EUR")

// Currency writes and reads amounts of one currency as English of the United
// Kingdom has it (CLDR). The zero Currency is sterling. It is safe to share.
type Currency struct {
	code, symbol string
	cldr         *currency.Formatter
}

// CurrencyOf finds a currency by its ISO 4217 code. Only those with two
// decimals will do, since a Minor is a hundredth: the error is ErrCurrency.
func CurrencyOf(code string) (Currency, error) {
	if digits, ok := currency.GetDigits(code); !ok || digits != 2 {
		return Currency{}, ErrCurrency
	}
	if code == "GBP" {
		return Currency{}, nil
	}
	locale := currency.NewLocale("en-GB")
	symbol, _ := currency.GetSymbol(code, locale)
	return Currency{code: code, symbol: symbol, cldr: currency.NewFormatter(locale)}, nil
}

// Code is the ISO 4217 code.
func (c Currency) Code() string {
	if c.code == "" {
		return "GBP"
	}
	return c.code
}

// Symbol is the sign people write, such as £ or €.
func (c Currency) Symbol() string {
	if c.code == "" {
		return "£"
	}
	return c.symbol
}

// Format writes an amount for a page: "€1,234.50".
func (c Currency) Format(m Minor) string {
	if c.cldr == nil {
		return Format(m)
	}
	a, err := currency.NewAmount(FormatPlain(m), c.code)
	if err != nil { // neither the number nor the code can be wrong here
		return FormatPlain(m) + " " + c.code
	}
	return c.cldr.Format(a)
}

// Parse is the package's Parse with this currency's sign in place of £.
func (c Currency) Parse(s string) (Minor, error) { return parse(s, c.Symbol()) }
