package quote

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
)

// Change says what became of a line from one version to another.
type Change string

// The changes. A line can be reworded and dearer: the price is named then, and
// the words stand beside it.
const (
	Same     Change = "the same"
	Added    Change = "added"
	Gone     Change = "gone"
	Dearer   Change = "dearer"
	Cheaper  Change = "cheaper"
	Reworded Change = "reworded"
)

// JobChange is one job in two versions; Was or Is is the zero Job where it is
// in one only.
type JobChange struct {
	Change Change
	Was    Job
	Is     Job
	// By is what it costs more, with VAT; below nothing for less.
	By    money.Minor
	Lines []LineChange
}

// Title is what the job is called, by the later version if it can be.
func (c JobChange) Title() string {
	if c.Is.Title != "" {
		return c.Is.Title
	}
	return c.Was.Title
}

// LineChange is one priced line in two versions.
type LineChange struct {
	Change  Change
	Was, Is pricing.LineSum
	By      money.Minor // net
}

// Words is what the line is called.
func (c LineChange) Words() string {
	if c.Change == Gone {
		return LineWords(c.Was)
	}
	return LineWords(c.Is)
}

// Comparison is what changed from version A to version B.
type Comparison struct {
	A, B *Version
	Jobs []JobChange
	// By is what the whole costs more, with VAT.
	By   money.Minor
	Kind bool // an estimate became a fixed quotation, or the other way
	Days bool // it can be agreed to until another day
	Note bool // the garage's words changed
}

// Alike tells whether nothing that the customer is asked about changed.
func (c Comparison) Alike() bool {
	for _, j := range c.Jobs {
		if j.Change != Same {
			return false
		}
	}
	return c.By == 0 && !c.Kind && !c.Days && !c.Note
}

// Compare says what changed from a to b, by the lines of the card.
func Compare(a, b *Version) Comparison {
	out := Comparison{
		A: a, B: b, By: b.Totals.Gross - a.Totals.Gross, Kind: a.Kind != b.Kind, Days: !a.ValidUntil.Equal(b.ValidUntil), Note: a.Note != b.Note,
	}
	for _, j := range b.Jobs {
		was, there := a.Job(j.LineID)
		out.Jobs = append(out.Jobs, compareJobs(was, j, there, true))
	}
	for _, j := range a.Jobs {
		if _, there := b.Job(j.LineID); !there {
			out.Jobs = append(out.Jobs, compareJobs(j, Job{}, true, false))
		}
	}
	if a.Rest.Title != "" || b.Rest.Title != "" {
		out.Jobs = append(out.Jobs, compareJobs(a.Rest, b.Rest, a.Rest.Title != "", b.Rest.Title != ""))
	}
	return out
}

func compareJobs(was, is Job, before, after bool) JobChange {
	c := JobChange{Was: was, Is: is, By: is.Gross - was.Gross, Lines: compareLines(was.Lines, is.Lines)}
	reworded := was.Title != is.Title || was.IfWaits != is.IfWaits
	for _, l := range c.Lines {
		reworded = reworded || l.Change != Same
	}
	switch {
	case !before:
		c.Change = Added
	case !after:
		c.Change = Gone
	case c.By > 0:
		c.Change = Dearer
	case c.By < 0:
		c.Change = Cheaper
	case reworded:
		c.Change = Reworded
	default:
		c.Change = Same
	}
	return c
}

func compareLines(was, is []pricing.LineSum) []LineChange {
	before := map[string]pricing.LineSum{}
	for _, l := range was {
		before[l.Key] = l
	}
	var out []LineChange
	for _, l := range is {
		old, there := before[l.Key]
		delete(before, l.Key)
		c := LineChange{Was: old, Is: l, By: l.Net - old.Net}
		switch {
		case !there:
			c.Change = Added
		case c.By > 0:
			c.Change = Dearer
		case c.By < 0:
			c.Change = Cheaper
		case old.Text != l.Text || old.Measure != l.Measure || old.VAT != l.VAT:
			c.Change = Reworded
		default:
			c.Change = Same
		}
		out = append(out, c)
	}
	for _, l := range was {
		if _, left := before[l.Key]; left {
			out = append(out, LineChange{Change: Gone, Was: l, By: -l.Net})
		}
	}
	return out
}

// Compare reads two versions of one card's quote by their numbers and compares
// them. Without b it is the newest, without a the one before b, or b itself
// where it is the first. Errors: NotFound.
func (s *Service) Compare(ctx context.Context, who actor.Actor, card jobcard.CardID, a, b int) (Comparison, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return Comparison{}, err
	}
	ids := map[int]VersionID{}
	newest := 0
	var batch pgx.Batch
	batch.Queue(`select version_no, id from quote_version where card_id = $1 order by version_no limit $2`, card, MaxVersions).
		Query(each(func(r pgx.Rows) error {
			var no int
			var id VersionID
			err := r.Scan(&no, &id)
			ids[no], newest = id, no
			return err
		}))
	if err := s.db.Pool.SendBatch(ctx, &batch).Close(); err != nil {
		return Comparison{}, err
	}
	if b == 0 {
		b = newest
	}
	if a == 0 {
		a = max(b-1, 1)
	}
	if ids[a] == 0 || ids[b] == 0 {
		return Comparison{}, apperr.NoSuch("version of this quote")
	}
	var two pgx.Batch
	va, vb := LoadLater(&two, ids[a]), LoadLater(&two, ids[b])
	if err := s.db.Pool.SendBatch(ctx, &two).Close(); err != nil {
		return Comparison{}, err
	}
	return Compare(va, vb), nil
}
