package reckonerweb

import (
	"context"
	"fmt"
	"strings"

	"rampside/internal/money"
	"rampside/web/ui"
)

func markUp(p pages, ctx context.Context, f *ui.Form, v *view) error {
	house, err := p.house(ctx)
	if err != nil {
		return err
	}
	sign := house.Currency.Symbol()
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("cost", "Cost, "+sign).Decimal().IfKnown().Say("without VAT")},
			{In: f.Field("price", "Price, "+sign).Decimal().IfKnown().Say("without VAT")},
			{In: f.Field("mark_up", "Mark-up, %").Decimal().IfKnown().Say("of the cost")},
			{In: f.Field("margin", "Margin, %").Decimal().IfKnown().Say("of the price")},
		}}}
	}
	v.Formulas = []string{"Mark-up = (price - cost) / cost. Margin = (price - cost) / price. Margin = mark-up / (1 + mark-up)."}
	v.Sources = []string{"Common practice, no published source; names clash, so both are shown. Amounts to the penny, half up; percentages to two places."}
	v.Limits = []string{"Two of the four are enough; or a mark-up or a margin alone. All without VAT."}
	if !sent(f, "cost", "price", "mark_up", "margin") {
		return nil
	}
	typed := func(name string) bool { return strings.TrimSpace(f.Get(name)) != "" }
	cost, price := ui.Read(f, "cost", house.Currency.Parse), ui.Read(f, "price", house.Currency.Parse)
	up, margin := f.Rate("mark_up"), f.Rate("margin")
	for name, m := range map[string]money.Minor{"cost": cost, "price": price} {
		if m < 0 {
			f.Fail(name, "not below nought, please")
		}
	}
	if typed("margin") && margin >= 10_000 {
		f.Fail("margin", "below 100 %%, please: of the price something is cost")
	}
	n := 0
	for _, name := range []string{"cost", "price", "mark_up", "margin"} {
		if typed(name) {
			n++
		}
	}
	switch {
	case n == 0:
		f.Fail("cost", "two of the four, please; or a mark-up or a margin alone")
	case n == 1 && (typed("cost") || typed("price")):
		f.Fail("mark_up", "one more of the four, please")
	case n > 2:
		f.Fail("cost", "two of the four at most, please: the others follow")
	case typed("mark_up") && typed("margin"):
		f.Fail("margin", "a mark-up or a margin, please: the one follows from the other")
	}
	if f.Err() != nil {
		return nil
	}
	switch {
	case typed("margin"):
		up, _ = money.MarkUpFromMargin(margin)
	case typed("mark_up"):
		margin, _ = money.MarginFromMarkUp(up)
	}
	res := &result{}
	switch {
	case typed("cost") && typed("price"):
		res.amounts(house.Currency, cost, price, ofAmounts(money.MarkUpOf(cost, price)), ofAmounts(money.MarginOf(cost, price)))
	case typed("cost"):
		price = priceOf(cost, up, margin, typed("margin"))
		res.amounts(house.Currency, cost, price, up.String(), margin.String())
	case typed("price"):
		cost = costOf(price, up, margin, typed("margin"))
		res.amounts(house.Currency, cost, price, up.String(), margin.String())
	default:
		res.Says = fmt.Sprintf("A mark-up of %s is a margin of %s.", up, margin)
		res.Facts = []figure{{Name: "Mark-up", Value: up.String()}, {Name: "Margin", Value: margin.String()}}
	}
	v.Result = res
	return nil
}

// priceOf and costOf go by the percentage that was typed, so that no rounding
// of the other comes between.
func priceOf(cost money.Minor, up, margin money.Rate, byMargin bool) money.Minor {
	if byMargin {
		return money.PriceAtMargin(cost, margin)
	}
	return money.MarkUp(cost, up)
}

func costOf(price money.Minor, up, margin money.Rate, byMargin bool) money.Minor {
	if byMargin {
		return price - money.Percent(price, margin)
	}
	net, _ := money.SplitGross(price, up)
	return net
}

// amounts shows a cost and a price with the percentages between them; one that
// there is none of is not available.
func (res *result) amounts(c money.Currency, cost, price money.Minor, up, margin string) {
	profit := c.Format(price - cost)
	res.Says = fmt.Sprintf("Cost %s, price %s: a mark-up of %s, a margin of %s.", c.Format(cost), c.Format(price), up, margin)
	res.Facts = []figure{
		{Name: "Cost", Value: c.Format(cost)}, {Name: "Price", Value: c.Format(price)},
		{"Profit", profit, []ui.Step{step("price", c.Format(price)), step("cost", c.Format(cost)), sum("price less cost", profit)}},
		{"Mark-up", up, []ui.Step{step("profit", profit), step("over cost", c.Format(cost)), sum("mark-up", up)}},
		{"Margin", margin, []ui.Step{step("profit", profit), step("over price", c.Format(price)), sum("margin", margin)}},
	}
}

// ofAmounts is a percentage that two amounts give.
func ofAmounts(r money.Rate, ok bool) string {
	if !ok {
		return "not available"
	}
	return r.String()
}

func vat(p pages, ctx context.Context, f *ui.Form, v *view) error {
	house, err := p.house(ctx)
	if err != nil {
		return err
	}
	v.Fields = func() []group {
		return []group{{Entries: []entry{
			{In: f.Field("amount", "Amount, "+house.Currency.Symbol()).Must().Decimal()},
			{In: f.Field("rate", "Rate, %").Decimal().Of(strings.TrimSuffix(house.Standard.String(), "%"))},
		}}}
	}
	v.Formulas = []string{
		"Onto a net amount: net times rate, to the nearest penny. Out of a gross amount: gross times rate / (100 % + rate): one sixth at 20 %, one twenty-first at 5 %; net is the rest.",
	}
	v.Sources = []string{"HMRC, VATREC12030 for the nearest penny, half a penny up; the rate of today from this garage's settings."}
	v.Limits = []string{"For a bill with several lines VAT is rounded once a rate, or line by line, as the garage has chosen: there it may differ from this by pennies. What is outside the scope has none."}
	if !sent(f, "amount") {
		return nil
	}
	f.Required("amount")
	amount := ui.Read(f, "amount", house.Currency.Parse)
	rate := f.Rate("rate")
	if strings.TrimSpace(f.Get("rate")) == "" {
		rate = house.Standard
	}
	if f.Err() != nil {
		return nil
	}
	c := house.Currency
	onto := money.Percent(amount, rate)
	net, out := money.SplitGross(amount, rate)
	v.Result = &result{
		Says: fmt.Sprintf("%s without VAT is %s with it; %s with VAT is %s without it, at %s.", c.Format(amount), c.Format(amount+onto), c.Format(amount), c.Format(net), rate),
		Tables: []table{{
			Caption: "At " + rate.String(), Heads: []ui.Col{{Label: "If the amount is"}, {Label: "Net", Num: true}, {Label: "VAT", Num: true}, {Label: "Gross", Num: true}},
			Rows: [][]string{{"without VAT", c.Format(amount), c.Format(onto), c.Format(amount + onto)}, {"with VAT", c.Format(net), c.Format(out), c.Format(amount)}},
		}},
	}
	return nil
}
