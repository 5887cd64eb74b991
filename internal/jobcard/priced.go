package jobcard

import (
	"context"
	"slices"
	"strconv"

	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// Entry is one line of a card's price sheet, with what decides whether it is
// quoted, agreed and billed.
type Entry struct {
	// Line is what is priced. Its key is stable as long as the row it stands
	// for is on the card: line:12, part:34.
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
}

// Agreed tells whether the entry counts and the customer agreed to it.
func (e Entry) Agreed() bool { return e.Counts && e.Consent == Agreed }

// Done tells whether the entry counts and is finished: a line that is ticked,
// a part that is fitted on it.
func (e Entry) Done() bool { return e.Counts && e.WorkState == Done && e.Fitted }

// Billable tells whether the entry is agreed and done.
func (e Entry) Billable() bool { return e.Agreed() && e.Done() }

// PricedMenu is one price for a set of lines; its key is menu:3.
type PricedMenu struct {
	Key string
	pricing.Menu
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
}

// LoadPriced reads a card's price sheet in one round trip. Error: NotFound.
func LoadPriced(ctx context.Context, q pg.Querier, id CardID) (Priced, error) {
	s, err := readSheet(ctx, q, id, noClock)
	if err != nil {
		return Priced{}, err
	}
	return s.Priced(), nil
}

// Priced is the price sheet of the card as it was read. Of a sheet without
// costs it says nothing.
func (s *Sheet) Priced() Priced {
	p := Priced{CardID: s.ID, Day: s.BookedFor, Rates: s.Rates, Settings: PriceSettings{Rounding: s.Rounding}}
	if s.Costs {
		p.Entries = entries(s.Lines, s.Parts, s.Rates)
	}
	return p
}

// entries lists lines and parts as a document does: each line with its parts,
// what belongs to the card as a whole last.
func entries(lines []Line, parts []Part, rates Rates) []Entry {
	var out []Entry
	of := func(l Line, id LineID) {
		for _, p := range parts {
			if p.LineID == id {
				out = append(out, partEntry(p, l, rates))
			}
		}
	}
	for _, l := range lines {
		out = append(out, Entry{
			Line: l.Priced(rates[l.VATCode]), LineID: l.ID, Consent: l.Consent, WorkState: l.WorkState, Fitted: true, Counts: l.counts(),
		})
		of(l, l.ID)
	}
	of(Line{Consent: Agreed}, 0)
	return out
}

func partEntry(p Part, l Line, rates Rates) Entry {
	e := Entry{
		Line: p.Priced(rates[p.VATCode]), LineID: p.LineID, PartID: p.ID, Consent: l.Consent, WorkState: l.WorkState,
		Fitted: p.Supply == Fitted, Counts: p.Counts() && (p.LineID == 0 || l.counts()),
	}
	if p.LineID == 0 {
		e.WorkState = Open
		if e.Fitted {
			e.WorkState = Done
		}
	}
	return e
}

// counts tells whether the line is in what the card comes to.
func (l Line) counts() bool {
	return !l.Struck() && l.Consent != Declined && l.WorkState != Deferred
}

// Only is the price sheet of the entries that count and that keep lets
// through; nil keeps all that count.
func (p Priced) Only(keep func(Entry) bool) pricing.Sheet {
	s := pricing.Sheet{Rounding: p.Settings.Rounding}
	for _, e := range p.Entries {
		if e.Counts && (keep == nil || keep(e)) {
			s.Lines = append(s.Lines, e.Line)
		}
	}
	return s
}

// Entry finds an entry by its key.
func (p Priced) Entry(key string) (Entry, bool) {
	i := slices.IndexFunc(p.Entries, func(e Entry) bool { return e.Line.Key == key })
	if i < 0 {
		return Entry{}, false
	}
	return p.Entries[i], true
}

// LineKey and PartKey are the keys of a line and a part on a price sheet.
func LineKey(id LineID) string { return "line:" + strconv.FormatInt(int64(id), 10) }

// PartKey is LineKey of a part.
func PartKey(id PartID) string { return "part:" + strconv.FormatInt(int64(id), 10) }
