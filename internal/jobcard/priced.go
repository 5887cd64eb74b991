package jobcard

import (
	"slices"

	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// Entry is one line of a card's price sheet, with what decides whether it is
// quoted, agreed and billed.
type Entry struct {
	// Line is what is priced, with its discounts and surcharges. Its key is
	// stable as long as the row it stands for is on the card: line:12, part:34,
	// fee:5, fee:5:arranging, exchange:34, exchange-back:34.
	Line pricing.Line
	// LineID is the line of the card that it belongs to, 0 for the card as a
	// whole; PartID the part it is the price of, 0 for anything else.
	LineID LineID
	PartID PartID
	// Consent and WorkState are those of its line. What belongs to the card as
	// a whole counts as agreed, and as done once it is fitted.
	Consent   Consent
	WorkState WorkState
	// Fitted tells of a part that it is on the car; true for all other entries.
	Fitted bool
	// Counts is false for what is struck out, declined or deferred, and for
	// parts that go back or never come.
	Counts bool
	// Paid is what was paid on to a third party for the entry.
	Paid money.Minor
	// stands is false for a part that is struck out, goes back or never comes:
	// it has no part in what its line comes to either.
	stands bool
}

// Agreed tells whether the entry counts and the customer agreed to it.
func (e Entry) Agreed() bool { return e.Counts && e.Consent == Agreed }

// Done tells whether the entry counts and is finished: a line that is ticked,
// a part that is fitted on it.
func (e Entry) Done() bool { return e.Counts && e.WorkState == Done && e.Fitted }

// Billable tells whether the entry is agreed and done.
func (e Entry) Billable() bool { return e.Agreed() && e.Done() }

// PricedMenu is one price for a set of lines; its key is menu:3. Each line
// bears its share of the difference as an adjustment of its own, so that it
// costs the same in whatever company it is quoted, agreed and billed.
type PricedMenu struct {
	Key string
	pricing.Menu
	// Alone is what the lines come to without the menu; Broken says why the
	// price cannot be put on them, empty when it is.
	Alone  money.Minor
	Broken string
}

// PricedAdjustment is a discount or surcharge on the whole card; its key is
// adjust:5.
type PricedAdjustment struct {
	Key string
	pricing.Adjustment
}

// Priced is all that a card's prices are worked out from, at the garage's
// rates of the day the card is booked for and with its rounding.
type Priced struct {
	CardID   CardID
	Day      workday.Day
	Entries  []Entry
	Menus    []PricedMenu
	Card     []PricedAdjustment
	Sundries *pricing.Sundries
	Rates    Rates
	Settings PriceSettings

	card   Card
	lines  []Line
	extras Extras
	// short are the adjustments of lines that were more than there was.
	short []AdjustmentID
}

// PriceCard makes the price sheet of a card from what was read of it. It
// cannot fail: an adjustment that finds nothing to be taken off or put on any
// more is left out, and one that is more than there is takes what there is.
func PriceCard(c Card, lines []Line, parts []Part, x Extras, rates Rates, set PriceSettings) Priced {
	p := Priced{CardID: c.ID, Day: c.BookedFor, Rates: rates, Settings: set, Sundries: sundries(c, set, rates), card: c, lines: lines, extras: x}
	p.entries(lines, parts, x)
	if set.WithoutVAT {
		p.withoutVAT()
	}
	for _, m := range x.Menus {
		if !m.Struck() {
			p.putMenu(m)
		}
	}
	for _, a := range x.Adjustments {
		_, inMenu := x.MenuOf(a.LineID)
		switch {
		case a.Struck():
		case a.LineID == 0:
			p.Card = append(p.Card, PricedAdjustment{key("adjust", int64(a.ID)), a.priced()})
		case !inMenu:
			p.adjustLine(a)
		}
	}
	return p
}

// withoutVAT takes VAT off every price, for a garage that is not registered.
// What lies outside its scope anyhow stays there.
func (p *Priced) withoutVAT() {
	none := pricing.VAT{Code: money.Zero}
	for i := range p.Entries {
		if vat := &p.Entries[i].Line.VAT; vat.Code != money.Outside {
			*vat = none
		}
	}
	if p.Sundries != nil {
		p.Sundries.VAT = none
	}
}

// entries lists lines, parts and fees as a document does: each line with what
// belongs to it, what belongs to the card as a whole last.
func (p *Priced) entries(lines []Line, parts []Part, x Extras) {
	for _, l := range lines {
		p.Entries = append(p.Entries, Entry{
			Line: l.Priced(p.Rates[l.VATCode]), LineID: l.ID, Consent: l.Consent, WorkState: l.WorkState,
			Fitted: true, Counts: l.counts(), stands: true,
		})
		for _, f := range x.FeesOf(l.ID) {
			p.putFee(f, l)
		}
		p.putParts(l, parts)
	}
	p.putParts(Line{Consent: Agreed, WorkState: Open}, parts)
}

func (p *Priced) putParts(l Line, parts []Part) {
	for _, q := range parts {
		if q.LineID != l.ID {
			continue
		}
		e := Entry{
			LineID: l.ID, PartID: q.ID, Consent: l.Consent, WorkState: l.WorkState, Fitted: q.Supply == Fitted,
			Counts: q.Counts() && l.counts(), stands: q.Counts(), Line: q.Priced(p.Rates[q.VATCode]),
		}
		if l.ID == 0 && e.Fitted {
			e.WorkState = Done
		}
		p.Entries = append(p.Entries, e)
		if q.Exchange == nil || *q.Exchange == 0 || q.Source == FromCustomer {
			continue
		}
		e.Line = pricing.Line{
			Key: ExchangeKey(q.ID), Kind: pricing.Exchange, Text: "Exchange surcharge, " + q.Name, VAT: e.Line.VAT,
			Price: pricing.Each{Qty: q.Qty, Net: *q.Exchange},
		}
		p.Entries = append(p.Entries, e)
		if q.ExchangeBack > 0 {
			e.Line.Key, e.Line.Text = ExchangeBackKey(q.ID), "Old unit returned, "+q.Name
			e.Line.Price = pricing.Each{Qty: -q.ExchangeBack, Net: *q.Exchange}
			p.Entries = append(p.Entries, e)
		}
	}
}

func (p *Priced) putFee(f Fee, l Line) {
	if f.Struck() {
		return
	}
	lines, _, _, err := f.Test(nil).Lines(pricing.VAT{Code: money.Standard, Rate: p.Rates[money.Standard]})
	if err != nil { // the table's own limits leave no such fee
		return
	}
	for i, one := range lines {
		one.Key = FeeKey(f.ID)
		paid := f.Paid
		if i > 0 {
			one.Key, paid = one.Key+":arranging", 0
		}
		p.Entries = append(p.Entries, Entry{
			Line: one, LineID: l.ID, Consent: l.Consent, WorkState: l.WorkState, Fitted: true, Counts: l.counts(), Paid: paid, stands: true,
		})
	}
}

// counts tells whether the line is in what the card comes to.
func (l Line) counts() bool {
	return !l.Struck() && l.Consent != Declined && l.WorkState != Deferred
}

// putMenu shares a menu's price out over the entries of its lines.
func (p *Priced) putMenu(m Menu) {
	sheet := pricing.Sheet{Rounding: p.Settings.Rounding}
	out := PricedMenu{Key: key("menu", int64(m.ID)), Menu: pricing.Menu{Text: m.What, Net: m.Net}}
	at := map[string]int{}
	for i, e := range p.Entries {
		if e.stands && e.LineID != 0 && slices.Contains(m.Lines, e.LineID) {
			sheet.Lines = append(sheet.Lines, e.Line)
			out.Keys = append(out.Keys, e.Line.Key)
			at[e.Line.Key] = i
		}
	}
	if sum, err := pricing.Work(sheet); err == nil {
		out.Alone = sum.LineNet
	}
	sheet.Menus = []pricing.Menu{out.Menu}
	sum, err := pricing.Work(sheet)
	if err != nil {
		out.Broken = err.Error()
	}
	for _, l := range sum.Lines {
		e := &p.Entries[at[l.Key]]
		for _, a := range l.Adjust {
			e.Line.Adjust = append(e.Line.Adjust, pricing.Adjustment{Text: a.Text, Up: a.Up, Amount: a.Amount})
		}
	}
	p.Menus = append(p.Menus, out)
}

// adjustLine puts an adjustment on the entries of its line: a percentage on
// each, an amount shared out by what each comes to.
func (p *Priced) adjustLine(a Adjustment) {
	var on []int
	var weights []money.Minor
	for i, e := range p.Entries {
		kind := e.Line.Kind == pricing.Labour && a.Applies != ToParts || e.Line.Kind == pricing.Part && a.Applies != ToLabour
		if e.LineID != a.LineID || !e.stands || !kind || !e.Line.VAT.Code.Taxable() {
			continue
		}
		left := e.left()
		if a.Up {
			left = pricing.List(e.Line.Price)
		}
		on, weights = append(on, i), append(weights, left)
	}
	if len(on) == 0 {
		p.short = append(p.short, a.ID)
		return
	}
	shares := make([]money.Minor, len(on))
	if a.Percent != nil {
		for n, i := range on {
			shares[n] = money.Percent(pricing.List(p.Entries[i].Line.Price), *a.Percent)
		}
	} else {
		var total money.Minor
		for _, w := range weights {
			total += w
		}
		amount := *a.Amount
		if !a.Up && amount > total {
			amount = total
			p.short = append(p.short, a.ID)
		}
		if parts, ok := money.Apportion(amount, weights); ok {
			shares = parts
		} else if a.Up { // a line at nothing can still be surcharged
			shares[0] = amount
		}
	}
	for n, i := range on {
		one := pricing.Adjustment{Text: a.What, Up: a.Up, Amount: shares[n]}
		if !a.Up {
			one.Amount = min(one.Amount, weights[n])
			if one.Amount < shares[n] {
				p.short = append(p.short, a.ID)
			}
		}
		if one.Amount <= 0 {
			continue
		}
		if a.Percent != nil && one.Amount == shares[n] {
			one.Percent, one.Amount = *a.Percent, 0
		}
		p.Entries[i].Line.Adjust = append(p.Entries[i].Line.Adjust, one)
	}
}

// left is what an entry comes to after the adjustments it has.
func (e Entry) left() money.Minor {
	list := pricing.List(e.Line.Price)
	net := list
	for _, a := range e.Line.Adjust {
		amount := a.Amount
		if a.Percent != 0 {
			amount = money.Percent(list, a.Percent)
		}
		if a.Up {
			net += amount
		} else {
			net -= amount
		}
	}
	return net
}

// Entry finds an entry by its key.
func (p Priced) Entry(key string) (Entry, bool) {
	i := slices.IndexFunc(p.Entries, func(e Entry) bool { return e.Line.Key == key })
	if i < 0 {
		return Entry{}, false
	}
	return p.Entries[i], true
}
