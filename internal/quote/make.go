package quote

import (
	"context"
	"maps"
	"strconv"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// Limits of what a version takes.
const (
	MaxNote = 2000
	MaxWait = 300
	// MaxVersions is how many versions one card's quote may have.
	MaxVersions = 99
	// UsualDays is how long a version can be agreed to when nobody says
	// otherwise, and MaxDays the longest: prices of parts do not hold longer.
	UsualDays = 14
	MaxDays   = 180
)

// MakeInput is a new version of a card's quote.
type MakeInput struct {
	CardID jobcard.CardID
	Kind   Kind
	// LastDay is the last day on which it can be agreed to; zero for the usual.
	LastDay workday.Day
	Note    string
	// IfWaits says, for lines of the card, what happens if the work waits.
	IfWaits map[jobcard.LineID]string
}

// Made is the version that was made.
type Made struct {
	VersionID VersionID
	CardID    jobcard.CardID
	Number    int64
	No        int
}

func (in MakeInput) clean() (MakeInput, error) {
	f := apperr.Fields{}
	if !in.Kind.Valid() {
		f.Add("kind", "say whether this is an estimate or a fixed quotation")
	}
	in.Note = f.Prose("note", in.Note, MaxNote)
	in.IfWaits = maps.Clone(in.IfWaits)
	for id, words := range in.IfWaits {
		in.IfWaits[id] = f.Line("if_waits."+strconv.FormatInt(int64(id), 10), words, MaxWait)
	}
	return in, f.Err()
}

// Make issues a new version of a card's quote: what the card comes to now,
// frozen. Earlier versions are superseded by it. Invalid messages are at kind,
// last_day, note and if_waits.<line>; a Conflict when the card is finished,
// has nothing to ask about, or its prices make no sense.
func (s *Service) Make(ctx context.Context, who actor.Actor, in MakeInput) (Made, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return Made{}, err
	}
	in, err := in.clean()
	if err != nil {
		return Made{}, err
	}
	return change.Do(ctx, s.db, who, "make quote version", in, func(ctx context.Context, tx *change.Tx) (Made, error) {
		c, err := jobcard.Lock(ctx, tx, in.CardID)
		if err != nil {
			return Made{}, err
		}
		if !c.Stage.Live() {
			return Made{}, apperr.New(apperr.Conflict, "this card is %s: there is nothing left to quote", c.Stage)
		}
		v, err := freeze(ctx, tx, c, in)
		if err != nil {
			return Made{}, err
		}
		if err := insertVersion(ctx, tx, v); err != nil {
			return Made{}, err
		}
		tx.Record("quote version issued", int64(c.ID), v.Title(), map[string]any{
			"version": v.ID, "kind": v.Kind, "net": v.Totals.Net, "gross": v.Totals.Gross, "valid until": v.ValidUntil, "jobs": len(v.Jobs),
		})
		return Made{VersionID: v.ID, CardID: c.ID, Number: v.Number, No: v.No}, nil
	})
}

// freeze makes the version of what the locked card comes to.
func freeze(ctx context.Context, tx *change.Tx, c jobcard.Card, in MakeInput) (*Version, error) {
	set, err := garage.Load(ctx, tx)
	if err != nil {
		return nil, err
	}
	priced, err := jobcard.LoadPriced(ctx, tx, c.ID)
	if err != nil {
		return nil, err
	}
	sum, err := pricing.Work(priced.Only(nil))
	if err != nil {
		return nil, apperr.New(apperr.Conflict, "the card's prices do not work out: %v", err)
	}
	v := &Version{
		CardID: c.ID, Kind: in.Kind, IssuedAt: tx.At, Note: in.Note, Words: c.CustomerWords,
		Garage: Garage{
			Name: set.Name, Address: set.Address, Phone: set.Phone, Email: set.Email, VATNumber: set.VATNumber, TaxName: set.TaxName,
			Currency: set.Currency, ZoneName: set.ZoneName,
		},
		Adjust: sum.Card, Rounding: sum.Rounding, LineNet: sum.LineNet, Allowances: sum.Allowances, Charges: sum.Charges, Totals: sum.Totals,
	}
	v.whole = whole{Sundries: priced.Sundries, Card: priced.OnWhole()}
	v.Car.Mileage, v.Car.MileageUnit = c.Mileage, c.MileageUnit
	if v.ValidUntil, err = validUntil(in.LastDay, set, tx.At); err != nil {
		return nil, err
	}
	read, err := readAround(ctx, tx, v)
	if err != nil {
		return nil, err
	}
	if v.No > MaxVersions {
		return nil, apperr.New(apperr.Conflict, "this quote has %d versions already, which is as many as there can be", MaxVersions)
	}
	if err := v.gather(priced, sum, read, in.IfWaits); err != nil {
		return nil, err
	}
	if len(v.Jobs) == 0 {
		return nil, apperr.New(apperr.Conflict, "there is no line on this card to ask about")
	}
	return v, nil
}

// validUntil is the end of the last day, in the garage's zone.
func validUntil(last workday.Day, set garage.Settings, at time.Time) (time.Time, error) {
	today := set.Today(at)
	if last.IsZero() {
		last = today.AddDays(UsualDays)
	}
	switch days := today.DaysUntil(last); {
	case days < 0:
		return time.Time{}, apperr.Field("last_day", "that day is over: give one from today on")
	case days > MaxDays:
		return time.Time{}, apperr.Field("last_day", "a quote holds for %d days at most", MaxDays)
	}
	_, end := workday.Bounds(last, set.Location())
	return end.UTC(), nil
}

// gather puts the priced lines under the jobs they belong to.
func (v *Version) gather(priced jobcard.Priced, sum pricing.Sum, read around, waits map[jobcard.LineID]string) error {
	of := map[string]jobcard.Entry{}
	for _, e := range priced.Entries {
		of[e.Line.Key] = e
	}
	at := map[jobcard.LineID]int{}
	for _, l := range sum.Lines {
		e := of[l.Key] // sundries have none and belong to the whole
		job := &v.Rest
		if e.LineID != 0 {
			i, ok := at[e.LineID]
			if !ok {
				i = len(v.Jobs)
				at[e.LineID] = i
				row := read.lines[e.LineID]
				v.Jobs = append(v.Jobs, Job{
					Position: i + 1, LineID: e.LineID, Title: row.title, MustDo: row.must, Time: row.likely, IfWaits: waits[e.LineID],
				})
			}
			job = &v.Jobs[i]
		}
		part := read.parts[e.PartID]
		job.Lines = append(job.Lines, l)
		job.About = append(job.About, About{PartID: e.PartID, Number: part.number, CustomersOwn: part.own})
		job.Net += l.Net
	}
	v.Rest.Position = len(v.Jobs) + 1
	v.Rest.Net += v.Charges - v.Allowances
	v.Rest.Gross = v.Totals.Gross
	for i := range v.Jobs {
		j := &v.Jobs[i]
		gross, err := grossOf(j.Lines, v.Rounding)
		if err != nil {
			return apperr.New(apperr.Conflict, "“%s”: %v", j.Title, err)
		}
		j.Gross = gross
		v.Rest.Gross -= gross
	}
	if len(v.Rest.Lines) > 0 || len(v.Adjust) > 0 || v.Rest.Net != 0 || v.Rest.Gross != 0 {
		v.Rest.Title = "For the whole"
		if len(v.Rest.Lines) == 0 && len(v.Adjust) == 0 {
			v.Rest.Title = "Rounding of " + v.Garage.TaxName
		}
	}
	for i := range v.Findings {
		if j, ok := at[v.Findings[i].JobLine]; !ok {
			v.Findings[i].JobLine = 0
		} else {
			v.Jobs[j].worst(v.Findings[i].Severity)
		}
	}
	return nil
}

// worst keeps the graver of two severities.
func (j *Job) worst(s jobcard.Severity) {
	for _, known := range jobcard.Severities {
		if known == s || known == j.Severity {
			j.Severity = known
			return
		}
	}
}

// grossOf is what lines come to with VAT, worked out for themselves.
func grossOf(lines []pricing.LineSum, rounding money.Rounding) (money.Minor, error) {
	var plain, inclusive []money.Taxed
	for _, l := range lines {
		t := money.Taxed{Net: l.Net, Code: l.VAT.Code, Rate: l.VAT.Rate}
		if l.AllIn {
			t.Net += l.Inside
			inclusive = append(inclusive, t)
			continue
		}
		plain = append(plain, t)
	}
	t, err := money.TotalIncluding(plain, inclusive, rounding)
	return t.Gross, err
}
