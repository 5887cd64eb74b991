// Package pricing works out what a quote or a bill comes to: the price of each
// line, discounts and surcharges, sundries, fees outside the scope of VAT,
// deposits, credit. Amounts are whole minor units and net of VAT unless their
// name says otherwise; the order of the sums is that of EN 16931, so that a
// bill can be sent as an electronic invoice: each line is rounded to the
// penny, allowances and charges of the document are rounded for each VAT rate,
// and VAT comes last. What is divided and rounded is done in package money.
package pricing

import (
	"errors"
	"fmt"

	"rampside/internal/money"
)

// VAT is what tax a line carries. The rate travels with the line, so that an
// old bill keeps the rate it was made at.
type VAT struct {
	Code money.VATCode
	Rate money.Rate
}

// Kind says what a line is for; sundries and some discounts look at it.
type Kind string

// The kinds.
const (
	Labour Kind = "labour"
	Part   Kind = "part"
	// Fee is a fee paid on or charged by law, such as that of a statutory test.
	Fee Kind = "fee"
	// Exchange is the surcharge on an exchange unit until the old one is back.
	Exchange Kind = "exchange surcharge"
	Sundry   Kind = "sundries"
)

// Line is one line of a quote or a bill before it is worked out.
type Line struct {
	// Key is the caller's own mark, by which menus and credits name the line.
	Key    string
	Kind   Kind
	Text   string
	VAT    VAT
	Price  Price
	Adjust []Adjustment
}

// Adjustment is a discount, or a surcharge when Up: a percentage or an amount,
// never both. On a line, a percentage is taken of the line's price before any
// adjustment. On a card it is taken of what its lines come to, for each VAT
// rate apart.
type Adjustment struct {
	Text    string
	Up      bool
	Percent money.Rate
	Amount  money.Minor
	// On limits an adjustment of a card to lines of these kinds; none means all.
	On []Kind
}

// Menu is one price for a set of lines, named by their keys. The difference to
// what they come to by themselves is shared out over those that carry VAT or
// could; a fee outside the scope of VAT stays what it is.
type Menu struct {
	Text string
	Keys []string
	Net  money.Minor
}

// Sundries is a charge for small material: a percentage of what lines of
// some kinds come to, with the most it may be; Cap nil means no limit.
type Sundries struct {
	Text    string
	Percent money.Rate
	On      []Kind
	Cap     *money.Minor
	VAT     VAT
}

// Deposit is money received before the document, VAT included.
type Deposit struct {
	Text   string
	Amount money.Minor
}

// Sheet is all that a quote or a bill is worked out from.
type Sheet struct {
	Lines    []Line
	Menus    []Menu
	Sundries *Sundries
	Card     []Adjustment
	Deposits []Deposit
	Rounding money.Rounding
}

// Problems with a sheet, as a person may read them.
var (
	ErrBoth       = errors.New("give a percentage or an amount, not both")
	ErrNoWord     = errors.New("say what the discount or surcharge is for")
	ErrPercent    = errors.New("a percentage lies between 0 and 1000")
	ErrDiscount   = errors.New("the discounts come to more than the price")
	ErrNothing    = errors.New("there is nothing that this could be taken off or put on")
	ErrMenuLine   = errors.New("a line of a menu has no discount of its own and is in one menu only")
	ErrMenuPrice  = errors.New("the menu price is less than the fees in it that cannot be discounted")
	ErrAllIn      = errors.New("a price with VAT in it takes no discount or surcharge: change the price")
	ErrDeposit    = errors.New("a deposit is an amount above nothing")
	ErrSameKey    = errors.New("two lines cannot have one key")
	ErrUnknownKey = errors.New("there is no such line")
)

func (a Adjustment) check() error {
	switch {
	case a.Text == "":
		return ErrNoWord
	case a.Percent != 0 && a.Amount != 0:
		return ErrBoth
	case a.Percent < 0 || a.Percent > money.MaxRate:
		return ErrPercent
	case a.Amount < 0:
		return errors.New("write a discount or a surcharge without a sign")
	case a.Percent == 0 && a.Amount == 0:
		return errors.New("give a percentage or an amount")
	}
	return a.Amount.Check()
}

func where(l Line, err error) error {
	if err == nil {
		return nil
	}
	name := l.Text
	if name == "" {
		name = l.Key
	}
	return fmt.Errorf("%.60s: %w", name, err)
}
