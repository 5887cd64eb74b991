package money

import (
	"errors"
	"fmt"
	"slices"
)

// Rounding says where and how VAT is rounded to the penny. HMRC lets an
// invoice trader choose, and asks for the same choice throughout (VAT Notice
// 700, 17.5, and VAT manual VATREC12010).
type Rounding string

// The policies. The last three are for prices that are set without VAT: a
// retailer may not round down (VATREC12020). Amounts that were set with VAT
// in them are always rounded to the nearest penny.
const (
	// PerDocument rounds once for each category: base times rate, as EN 16931
	// asks in BR-CO-17.
	PerDocument Rounding = "document"
	// PerLine rounds each line to the nearest penny and adds up.
	PerLine Rounding = "line"
	// DocumentDown leaves off any fraction of a penny of the document's VAT.
	DocumentDown Rounding = "document down"
	// LineTenthDown takes each line down to a tenth of a penny, adds up, and
	// leaves off any fraction of a penny of the total.
	LineTenthDown Rounding = "line, tenths down"
	// LineHalf takes each line to the nearest half penny, adds up, and leaves
	// off a half penny of the total.
	LineHalf Rounding = "line, half pennies"
)

var roundings = []Rounding{PerDocument, PerLine, DocumentDown, LineTenthDown, LineHalf}

// Roundings lists the policies.
func Roundings() []Rounding { return slices.Clone(roundings) }

// Valid tells whether r is one of the policies.
func (r Rounding) Valid() bool { return slices.Contains(roundings, r) }

// Down tells whether the policy takes fractions of a penny off, which is
// allowed only where prices are set without VAT.
func (r Rounding) Down() bool { return r == DocumentDown || r == LineTenthDown || r == LineHalf }

// Label is the policy in words.
func (r Rounding) Label() string {
	switch r {
	case PerDocument:
		return "once for each rate, to the nearest penny"
	case PerLine:
		return "on each line, to the nearest penny"
	case DocumentDown:
		return "once for the document, down to a penny"
	case LineTenthDown:
		return "on each line down to a tenth of a penny, the total down to a penny"
	case LineHalf:
		return "on each line to the nearest half penny, the total down to a penny"
	}
	return string(r)
}

// finest is how many parts of a penny the policy counts before it rounds the
// total: 1 where every rounding is to a whole penny.
func (r Rounding) finest() int64 {
	switch r {
	case DocumentDown:
		return wholeRate
	case LineTenthDown:
		return 10
	case LineHalf:
		return 2
	}
	return 1
}

// Taxed is one line of a document: its net amount, negative for a discount or
// a credit, and what VAT applies.
type Taxed struct {
	Net  Minor
	Code VATCode
	Rate Rate
}

// RateTotal is what a document comes to in one category at one rate.
type RateTotal struct {
	Code     VATCode
	Rate     Rate
	Net, VAT Minor
}

// Totals is what a document comes to. Gross is Net plus VAT (EN 16931
// BR-CO-15), and Net and VAT are the sums of ByRate (BR-CO-14), which lists
// the categories in their order and the higher rate first.
type Totals struct {
	Net, VAT, Gross Minor
	ByRate          []RateTotal
}

// Negative is the total with every sign turned: that of a credit note.
func (t Totals) Negative() Totals {
	n := Totals{Net: -t.Net, VAT: -t.VAT, Gross: -t.Gross, ByRate: slices.Clone(t.ByRate)}
	for i := range n.ByRate {
		n.ByRate[i].Net, n.ByRate[i].VAT = -n.ByRate[i].Net, -n.ByRate[i].VAT
	}
	return n
}

// Problems with the lines of a document, as a person may read them.
var (
	ErrRounding = errors.New("choose how VAT is rounded: once for the document or on each line")
	ErrTooLong  = fmt.Errorf("a document has at most %d lines", MaxLines)
)

// Total adds up the lines of a document. The order of the lines does not
// matter. Errors: a line or a category beyond the limits, an unknown category,
// a rate on a category that has none, too many lines, an unknown policy.
func Total(lines []Taxed, policy Rounding) (Totals, error) {
	return TotalIncluding(lines, nil, policy)
}

// TotalIncluding is Total with further lines whose amounts, each in Net, were
// set with VAT in them. Their VAT is the published fraction of each amount, to
// the nearest penny, so that what was agreed is what is asked.
func TotalIncluding(lines, inclusive []Taxed, policy Rounding) (Totals, error) {
	if !policy.Valid() {
		return Totals{}, ErrRounding
	}
	if len(lines)+len(inclusive) > MaxLines {
		return Totals{}, ErrTooLong
	}
	g := groups{policy: policy, by: map[vatKey]*group{}}
	for _, l := range lines {
		if err := l.check(); err != nil {
			return Totals{}, err
		}
		g.add(l)
	}
	for _, l := range inclusive {
		if err := l.check(); err != nil {
			return Totals{}, err
		}
		into := g.of(l)
		net, vat := SplitGross(l.Net, l.Rate)
		into.net, into.fixed = into.net+net, into.fixed+vat
	}
	return g.total()
}

func (l Taxed) check() error {
	switch {
	case !slices.Contains(codes, l.Code):
		return fmt.Errorf("there is no VAT category %.20q", string(l.Code))
	case l.Rate < 0 || l.Rate > MaxRate:
		return errors.New("a VAT rate lies between 0 and 1000 %")
	case l.Rate != 0 && l.Code != Standard && l.Code != Reduced:
		return fmt.Errorf("%s carries no VAT, but a rate was given", l.Code.Label())
	}
	return l.Net.Check()
}

type vatKey struct {
	code VATCode
	rate Rate
}

// group is one category at one rate while a document is added up: base is
// what the policy's VAT is worked out on, fine the VAT in the policy's finest
// parts, fixed the VAT that came inside a price.
type group struct {
	vatKey
	net, base Minor
	fine      int64
	fixed     Minor
}

type groups struct {
	policy Rounding
	by     map[vatKey]*group
}

func (g groups) of(l Taxed) *group {
	k := vatKey{l.Code, l.Rate}
	if g.by[k] == nil {
		g.by[k] = &group{vatKey: k}
	}
	return g.by[k]
}

func (g groups) add(l Taxed) {
	into := g.of(l)
	into.net += l.Net
	into.base += l.Net
	switch g.policy {
	case PerLine:
		into.fine += share(int64(l.Net), int64(l.Rate), wholeRate)
	case LineTenthDown:
		into.fine += down(int64(l.Net), int64(l.Rate), wholeRate/10)
	case LineHalf:
		into.fine += share(int64(l.Net), int64(l.Rate), wholeRate/2)
	}
}

func (g groups) total() (Totals, error) {
	list := make([]*group, 0, len(g.by))
	for _, one := range g.by {
		if err := one.net.Check(); err != nil {
			return Totals{}, err
		}
		switch g.policy {
		case PerDocument:
			one.fine = share(int64(one.base), int64(one.rate), wholeRate)
		case DocumentDown: // cannot overflow: base was checked, and so was the rate
			one.fine = int64(one.base) * int64(one.rate)
		}
		list = append(list, one)
	}
	slices.SortFunc(list, func(a, b *group) int { return CompareVAT(a.code, b.code, a.rate, b.rate) })
	fine := make([]int64, len(list))
	for i, one := range list {
		fine[i] = one.fine
	}
	var t Totals
	for i, vat := range wholeDown(fine, g.policy.finest()) {
		r := RateTotal{Code: list[i].code, Rate: list[i].rate, Net: list[i].net, VAT: Minor(vat) + list[i].fixed}
		t.Net, t.VAT = t.Net+r.Net, t.VAT+r.VAT
		t.ByRate = append(t.ByRate, r)
	}
	t.Gross = t.Net + t.VAT
	return t, t.Gross.Check()
}
