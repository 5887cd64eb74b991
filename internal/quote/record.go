package quote

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
)

// Deed is what an entry of the record tells of.
type Deed string

// The deeds.
const (
	WasIssued    Deed = "issued"
	WasSent      Deed = "sent"
	WasOpened    Deed = "opened"
	WasAnswered  Deed = "answered"
	WasWithdrawn Deed = "withdrawn"
	WasSaid      Deed = "said at the desk" // to the card, and to no version
)

// Entry is one thing that happened to a card's quote. Which of the pointers
// is set goes by the deed.
type Entry struct {
	At      time.Time
	Deed    Deed
	Version *Version
	Sending *Sending
	Answers []Given
	Title   string // of the line, where it was said to the card
}

// Record is everything about a card's quote, for whoever disputes it later.
type Record struct {
	CardID   jobcard.CardID
	Versions []*Version // the oldest first
	Entries  []Entry    // in order of time
	Now      time.Time
}

// recordMax bounds the versions of the record: all that there can be.
const recordMax = MaxVersions

// Record reads all about a card's quote in two round trips. Error: NotFound.
func (s *Service) Record(ctx context.Context, who actor.Actor, card jobcard.CardID) (*Record, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return nil, err
	}
	r := &Record{CardID: card, Now: s.db.Now()}
	var ids []VersionID
	var there bool
	var b pgx.Batch
	b.Queue(`select exists (select from card where id = $1)`, card).QueryRow(func(row pgx.Row) error { return row.Scan(&there) })
	b.Queue(`select id from quote_version where card_id = $1 order by version_no desc limit $2`, card, recordMax).Query(collect(&ids, pgx.RowTo[VersionID]))
	b.Queue(`
		select x.line_id, l.title, x.answer, x.said_by, x.how, x.net_minor, x.at, coalesce(s.name, ''), x.up_to_minor
		from consent x join line l on l.id = x.line_id left join staff s on s.id = x.taken_by
		where l.card_id = $1 and x.version_id is null order by x.id limit 500`, card).Query(each(func(row pgx.Rows) error {
		var g Given
		e := Entry{Deed: WasSaid}
		err := row.Scan(&g.LineID, &e.Title, &g.Answer, &g.SaidBy, &g.How, &g.Net, &g.At, &g.TakenBy, &g.UpTo)
		g.SaidAt, e.At, e.Answers = g.At, g.At, []Given{g}
		r.Entries = append(r.Entries, e)
		return err
	}))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("read the record of a quote: %w", err)
	}
	if !there {
		return nil, apperr.NoSuch("card")
	}
	if len(ids) > 0 {
		slices.Reverse(ids)
		var all pgx.Batch
		for _, id := range ids {
			r.Versions = append(r.Versions, LoadLater(&all, id))
		}
		if err := s.db.Pool.SendBatch(ctx, &all).Close(); err != nil {
			return nil, fmt.Errorf("read the record of a quote: %w", err)
		}
	}
	for _, v := range r.Versions {
		r.of(v)
	}
	slices.SortStableFunc(r.Entries, func(a, b Entry) int { return a.At.Compare(b.At) })
	return r, nil
}

// of adds what happened to one version.
func (r *Record) of(v *Version) {
	add := func(e Entry) {
		if !e.At.IsZero() {
			e.Version = v
			r.Entries = append(r.Entries, e)
		}
	}
	add(Entry{At: v.IssuedAt, Deed: WasIssued})
	for i := range v.Sendings {
		s := &v.Sendings[i]
		add(Entry{At: s.At, Deed: WasSent, Sending: s})
		add(Entry{At: s.FirstOpened, Deed: WasOpened, Sending: s})
		if s.LastOpened.After(s.FirstOpened) {
			add(Entry{At: s.LastOpened, Deed: WasOpened, Sending: s})
		}
	}
	for _, sitting := range v.Sittings() {
		add(Entry{At: sitting[0].At, Deed: WasAnswered, Answers: sitting})
	}
	add(Entry{At: v.Withdrawn.At, Deed: WasWithdrawn})
}

// Sittings gives the version's answers by the times they were given.
func (v *Version) Sittings() [][]Given {
	var out [][]Given
	for _, g := range v.Answers {
		if n := len(out); n > 0 && out[n-1][0].Sitting == g.Sitting {
			out[n-1] = append(out[n-1], g)
			continue
		}
		out = append(out, []Given{g})
	}
	return out
}
