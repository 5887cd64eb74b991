package fitment

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// NumberMax is how many characters a part number has at most.
const NumberMax = 60

// NumberKey is a part number as it is compared: "th 1404-A" and "TH1404A" are
// one. It is the SQL function number_key.
func NumberKey(number string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		case r < 0x80 && (r < '0' || r > '9') && (r < 'A' || r > 'Z'):
			return -1
		}
		return r
	}, number)
}

// LinkKind says how two part numbers belong together.
type LinkKind string

// The kinds.
const (
	SameAs     LinkKind = "same as"
	ReplacedBy LinkKind = "replaced by" // the first number by the other
)

// LinkKinds lists the kinds.
var LinkKinds = []LinkKind{SameAs, ReplacedBy}

// Link is one number's belonging to another.
type Link struct {
	Number string
	Other  string
	Kind   LinkKind
}

// LinkNumbers notes that one number is the same part as another, or was
// replaced by it; what was noted of the pair before is replaced. Messages are
// at number, other and kind.
func (s *Service) LinkNumbers(ctx context.Context, who actor.Actor, in Link) (Link, error) {
	in, err := in.clean(who)
	if err != nil {
		return Link{}, err
	}
	if !slices.Contains(LinkKinds, in.Kind) {
		return Link{}, apperr.Field("kind", "a number is the same as another, or was replaced by it")
	}
	return change.Do(ctx, s.db, who, "link part numbers", in, func(ctx context.Context, tx *change.Tx) (Link, error) {
		if _, err := cut(ctx, tx, in); err != nil {
			return Link{}, err
		}
		if err := inCircle(ctx, tx, in); err != nil {
			return Link{}, err
		}
		_, err := tx.Exec(ctx, `
			insert into part_number_link (number_key, other_key, number, other, kind, by_staff, at)
			values (number_key($1), number_key($2), $1, $2, $3, nullif($4::bigint, 0), $5)
			on conflict on constraint part_number_link_pk do nothing`, in.Number, in.Other, in.Kind, who.StaffID, tx.At)
		if err != nil {
			return Link{}, fmt.Errorf("link part numbers: %w", err)
		}
		if err := touchNumbers(ctx, tx, in); err != nil {
			return Link{}, err
		}
		tx.Record("part numbers linked", 0, in.Number, map[string]any{"number": in.Number, "other": in.Other, "kind": in.Kind})
		return in, nil
	})
}

// inCircle refuses a number as the newer one where what it was replaced by, and
// that by, comes back to the older, or it is the same part: then nobody could
// say which to order.
func inCircle(ctx context.Context, tx *change.Tx, in Link) error {
	if in.Kind != ReplacedBy {
		return nil
	}
	k, err := KinOf(ctx, tx, in.Other)
	if err != nil {
		return err
	}
	older := NumberKey(in.Number)
	switch {
	case slices.Contains(k.Same, older):
		return apperr.Field("other", "%s is noted as the same part as %s over other numbers: take that back first if it is wrong", in.Other, in.Number)
	case slices.Contains(k.Newer, older):
		return apperr.Field("other", "%s was itself replaced, and in the end by %s: take that back first if it is wrong", in.Other, in.Number)
	}
	return nil
}

// UnlinkNumbers takes back what was noted of two numbers.
func (s *Service) UnlinkNumbers(ctx context.Context, who actor.Actor, in Link) (Link, error) {
	in, err := in.clean(who)
	if err != nil {
		return Link{}, err
	}
	return change.Do(ctx, s.db, who, "unlink part numbers", in, func(ctx context.Context, tx *change.Tx) (Link, error) {
		n, err := cut(ctx, tx, in)
		if err != nil {
			return Link{}, err
		}
		if n == 0 {
			return Link{}, apperr.NoSuch("link between these numbers")
		}
		if err := touchNumbers(ctx, tx, in); err != nil {
			return Link{}, err
		}
		tx.Record("part numbers unlinked", 0, in.Number, map[string]any{"number": in.Number, "other": in.Other})
		return in, nil
	})
}

// cut removes the link of two numbers, whichever stands first.
func cut(ctx context.Context, tx *change.Tx, in Link) (int64, error) {
	tag, err := tx.Exec(ctx, `delete from part_number_link where (number_key, other_key) in
		((number_key($1), number_key($2)), (number_key($2), number_key($1)))`, in.Number, in.Other)
	if err != nil {
		return 0, fmt.Errorf("unlink part numbers: %w", err)
	}
	return tag.RowsAffected(), nil
}

// touchNumbers has the cards judged anew whose parts go by these numbers: what
// was put on one may hold for the other from now on, or no longer.
func touchNumbers(ctx context.Context, tx *change.Tx, in Link) error {
	rows, err := tx.Query(ctx, `
		select distinct p.card_id from part p join card c on c.id = p.card_id
		where number_key(p.number) in (number_key($1), number_key($2)) and p.number <> ''
			and p.struck_at is null and c.stage not in ('collected', 'cancelled') order by p.card_id limit 200`, in.Number, in.Other)
	if err != nil {
		return fmt.Errorf("look for parts of these numbers: %w", err)
	}
	cards, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return fmt.Errorf("look for parts of these numbers: %w", err)
	}
	for _, id := range cards {
		tx.Touch(change.Card, id)
	}
	return nil
}

func (l Link) clean(who actor.Actor) (Link, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return l, err
	}
	f := apperr.Fields{}
	l.Number = f.Line("number", l.Number, NumberMax)
	l.Other = f.Line("other", l.Other, NumberMax)
	if NumberKey(l.Number) == "" {
		f.Add("number", "please give the part number")
	}
	if NumberKey(l.Other) == "" {
		f.Add("other", "please give the other number")
	} else if NumberKey(l.Other) == NumberKey(l.Number) {
		f.Add("other", "this is the same number")
	}
	return l, f.Err()
}

// Kin are the numbers that belong with one: itself, what is the same, and
// over any number of steps what it replaced and what replaced it.
type Kin struct {
	// Same are the keys of numbers of the same part, itself among them; Newer
	// those that replaced it, Older those that it replaced.
	Same, Newer, Older []string
	// Links are the notes that this rests on.
	Links []Link
}

// All are all keys of the kin.
func (k Kin) All() []string { return slices.Concat(k.Same, k.Newer, k.Older) }

// kinMax bounds how many notes are followed.
const kinMax = 60

// KinOf reads the kin of a number.
func KinOf(ctx context.Context, q pg.Querier, number string) (Kin, error) {
	all, err := kinOfEach(ctx, q, []string{number})
	return all[NumberKey(number)], err
}

// kinOfEach reads the kin of several numbers, by their keys.
func kinOfEach(ctx context.Context, q pg.Querier, numbers []string) (map[string]Kin, error) {
	var keys []string
	for _, n := range numbers {
		if k := NumberKey(n); k != "" {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	keys = slices.Compact(keys)
	out := make(map[string]Kin, len(keys))
	if len(keys) == 0 {
		return out, nil
	}
	rows, err := q.Query(ctx, `
		select n.key, k.number, k.other, k.kind
		from unnest($1::text[]) n (key) left join lateral (
			with recursive kin (key) as (
				select n.key
				union
				select case when l.number_key = k.key then l.other_key else l.number_key end
				from kin k join part_number_link l on k.key in (l.number_key, l.other_key)
			), few as (select key from kin limit $2)
			select l.number, l.other, l.kind, l.at, l.number_key, l.other_key from part_number_link l
			where l.number_key in (select key from few) and l.other_key in (select key from few)
			order by l.at, l.number_key, l.other_key limit $2) k on true
		order by n.key, k.at, k.number_key, k.other_key`, keys, kinMax)
	if err != nil {
		return nil, fmt.Errorf("read what a number belongs with: %w", err)
	}
	links := map[string][]Link{}
	var key string
	var number, other, kind *string
	_, err = pgx.ForEachRow(rows, []any{&key, &number, &other, &kind}, func() error {
		if number != nil {
			links[key] = append(links[key], Link{Number: *number, Other: *other, Kind: LinkKind(*kind)})
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read what a number belongs with: %w", err)
	}
	for _, k := range keys {
		out[k] = sortKin(k, links[k])
	}
	return out, nil
}

// sortKin sorts the numbers that links lead to from key: by the same part, then
// what came after any of these, and what came before.
func sortKin(key string, links []Link) Kin {
	k := Kin{Links: links}
	seen := map[string]bool{key: true}
	k.Same = spread([]string{key}, seen, links, true, false, false)
	// A number that replaces an older one of the same kind is followed on in
	// its own direction only: what else replaced the older one is a sibling.
	k.Newer = spread(k.Same, seen, links, true, true, false)
	k.Older = spread(k.Same, seen, links, true, false, true)
	return k
}

// spread follows links from keys and gives what is found anew; from the first
// keys themselves it gives those too when it follows sameness alone.
func spread(from []string, seen map[string]bool, links []Link, same, newer, older bool) []string {
	var out []string
	if !newer && !older {
		out = slices.Clone(from)
	}
	todo := slices.Clone(from)
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		for _, l := range links {
			a, b := NumberKey(l.Number), NumberKey(l.Other)
			to := ""
			switch {
			case l.Kind == SameAs && same && a == at:
				to = b
			case l.Kind == SameAs && same && b == at:
				to = a
			case l.Kind == ReplacedBy && newer && a == at:
				to = b
			case l.Kind == ReplacedBy && older && b == at:
				to = a
			}
			if to != "" && !seen[to] {
				seen[to] = true
				todo = append(todo, to)
				out = append(out, to)
			}
		}
	}
	return out
}
