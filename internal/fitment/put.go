package fitment

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/fit"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
)

// WordsMax is how many characters of a box's words are kept.
const WordsMax = 2000

// Put is what was put on a part: what it asks of a car, and what it is.
type Put struct {
	PartID jobcard.PartID
	// Rule is in the canonical notation; empty for none.
	Rule string
	// Kind is what sort of part it is, Other when fitting with others is no
	// question; Props are its properties by key.
	Kind  string
	Props map[string]string
	// BoxWords are the supplier's or the box's own.
	BoxWords string
	// ForNumber is the key of the number that all this was given for. Holds
	// tells whether that is the number the part has now, or the same part's.
	ForNumber string
	Holds     bool
	// TakenFrom is the part of an earlier card whose words these are, on
	// TakenCard; 0 when they were put here.
	TakenFrom jobcard.PartID
	TakenCard jobcard.CardID
	By        actor.StaffID
	At        time.Time
	Version   int
}

// Empty tells whether nothing follows from it.
func (p *Put) Empty() bool { return p == nil || p.Rule == "" && len(p.Props) == 0 }

// PutInput puts conditions and properties on a part.
type PutInput struct {
	PartID jobcard.PartID
	// Version is that of the Put it was made from, 0 for none.
	Version int
	// Rule is in the notation. Tree is the same made otherwise, by a form; it
	// counts when Rule is empty.
	Rule     string
	Tree     fit.Rule `json:"-"`
	Kind     string
	Props    map[string]string
	BoxWords string
}

// Put keeps what a part asks of a car, for the number it has now, and judges
// the card's parts anew. Messages are at rule, kind, props.KEY and box_words; a
// stale version is a Conflict with the Put as it stands.
func (s *Service) Put(ctx context.Context, who actor.Actor, in PutInput) (jobcard.Changed, error) {
	if err := who.Need(actor.Work); err != nil {
		return jobcard.Changed{}, err
	}
	if err := in.clean(); err != nil {
		return jobcard.Changed{}, err
	}
	return change.Do(ctx, s.db, who, "put conditions", in, func(ctx context.Context, tx *change.Tx) (jobcard.Changed, error) {
		c, p, err := jobcard.LockPart(ctx, tx, in.PartID)
		if err != nil {
			return jobcard.Changed{}, err
		}
		if err := changeable(c, p); err != nil {
			return jobcard.Changed{}, err
		}
		now, err := putOf(ctx, tx, p.ID)
		if err != nil {
			return jobcard.Changed{}, err
		}
		if version := versionOf(now); version != in.Version {
			return jobcard.Changed{}, apperr.Stale("part's conditions", orEmpty(now))
		}
		_, err = tx.Exec(ctx, `
			insert into part_fit (part_id, number_key, kind, rule, props, box_words, put_by, put_at)
			values ($1, number_key($2), $3, $4, $5, $6, nullif($7::bigint, 0), $8)
			on conflict on constraint part_fit_pk do update set number_key = excluded.number_key, kind = excluded.kind,
				rule = excluded.rule, props = excluded.props, box_words = excluded.box_words, taken_from = null,
				put_by = excluded.put_by, put_at = excluded.put_at, version = part_fit.version + 1`,
			p.ID, p.Number, in.Kind, in.Rule, in.Props, in.BoxWords, who.StaffID, tx.At)
		if err != nil {
			return jobcard.Changed{}, fmt.Errorf("put conditions: %w", err)
		}
		tx.Record("part conditions put", int64(c.ID), p.Name, map[string]any{
			"part": p.ID, "number": p.Number, "rule": in.Rule, "kind": in.Kind, "properties": in.Props, "box": in.BoxWords,
			"rule was": orEmpty(now).Rule,
		})
		tx.Touch(change.Card, int64(c.ID))
		return jobcard.Changed{CardID: c.ID, LineID: p.LineID, PartID: p.ID, Version: in.Version + 1}, nil
	})
}

func versionOf(p *Put) int {
	if p == nil {
		return 0
	}
	return p.Version
}

func orEmpty(p *Put) Put {
	if p == nil {
		return Put{}
	}
	return *p
}

func (in *PutInput) clean() error {
	f := apperr.Fields{}
	in.BoxWords = f.Prose("box_words", in.BoxWords, WordsMax)
	if in.Rule == "" && !in.Tree.IsZero() {
		in.Rule = in.Tree.String()
	}
	if in.Rule != "" {
		r, err := fit.Parse(in.Rule)
		if err != nil {
			f.Add("rule", "%s", err.Error())
		}
		in.Rule = r.String()
	}
	in.Kind, in.Props = cleanProps(f, in.Kind, in.Props)
	return f.Err()
}

func noPart(err error) error { return pg.Explain(err, "part", nil) }

// changeable refuses changes to a part that is struck, or on a card that is
// finished.
func changeable(c jobcard.Card, p jobcard.Part) error {
	switch {
	case c.Stage == jobcard.Collected || c.Stage == jobcard.Cancelled:
		return apperr.New(apperr.Conflict, "this card is %s: nothing on it can be changed any more", c.Stage)
	case p.Struck():
		return apperr.New(apperr.Conflict, "this part has been struck out")
	}
	return nil
}

const putColumns = `f.part_id, f.rule, f.kind, f.props, f.box_words, f.number_key,
	f.number_key in ('', number_key(p.number)) or exists (select from part_number_link l where l.kind = 'same as'
		and (l.number_key, l.other_key) in ((f.number_key, number_key(p.number)), (number_key(p.number), f.number_key))),
	coalesce(f.taken_from, 0), coalesce((select t.card_id from part t where t.id = f.taken_from), 0), coalesce(f.put_by, 0), f.put_at, f.version`

func scanPut(r pgx.CollectableRow) (*Put, error) {
	p := &Put{}
	err := r.Scan(&p.PartID, &p.Rule, &p.Kind, &p.Props, &p.BoxWords, &p.ForNumber, &p.Holds, &p.TakenFrom, &p.TakenCard, &p.By, &p.At, &p.Version)
	p.At = p.At.UTC()
	return p, err
}

// putOf reads what was put on a part; nil for nothing.
func putOf(ctx context.Context, q pg.Querier, id jobcard.PartID) (*Put, error) {
	rows, err := q.Query(ctx, `select `+putColumns+` from part_fit f join part p on p.id = f.part_id where f.part_id = $1`, id)
	if err != nil {
		return nil, fmt.Errorf("read conditions: %w", err)
	}
	p, err := pgx.CollectExactlyOneRow(rows, scanPut)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	return p, err
}

// takeOver puts on the parts of a locked card that have a number and nothing
// put on them for it, what was last put on that number elsewhere.
func takeOver(ctx context.Context, tx *change.Tx, card jobcard.CardID) error {
	rows, err := tx.Query(ctx, `
		with bare as (
			select p.id, number_key(p.number) as key from part p left join part_fit f on f.part_id = p.id
			where p.card_id = $1 and p.number <> '' and p.struck_at is null and p.verdict <> 'does not fit'
				and (f.part_id is null or f.number_key not in ('', number_key(p.number)))
		)
		insert into part_fit (part_id, number_key, kind, rule, props, box_words, taken_from, put_by, put_at)
		select distinct on (b.id) b.id, b.key, f.kind, f.rule, f.props, f.box_words, f.part_id, f.put_by, $2::timestamptz
		from bare b join part_fit f on f.part_id <> b.id and (f.rule <> '' or f.props <> '{}')
			and (f.number_key = b.key or exists (select from part_number_link l where l.kind = 'same as'
				and (l.number_key, l.other_key) in ((f.number_key, b.key), (b.key, f.number_key))))
		where f.number_key <> ''
		order by b.id, f.number_key = b.key desc, f.put_at desc, f.part_id desc
		on conflict on constraint part_fit_pk do update set number_key = excluded.number_key, kind = excluded.kind,
			rule = excluded.rule, props = excluded.props, box_words = excluded.box_words, taken_from = excluded.taken_from,
			put_by = excluded.put_by, put_at = excluded.put_at, version = part_fit.version + 1
		returning part_id, rule`, card, tx.At)
	if err != nil {
		return fmt.Errorf("take conditions over: %w", err)
	}
	type taken struct {
		Part jobcard.PartID
		Rule string
	}
	all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[taken])
	if err != nil {
		return fmt.Errorf("take conditions over: %w", err)
	}
	for _, t := range all {
		tx.Record("part conditions taken over", int64(card), "", map[string]any{"part": t.Part, "rule": t.Rule})
	}
	return nil
}
