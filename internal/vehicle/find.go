package vehicle

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/pg"
	"rampside/internal/plate"
	"rampside/internal/vin"
	"rampside/internal/workday"
)

// Hit is one car that a search found.
type Hit struct {
	ID       ID
	Mark     string // as it is written; empty for a car without
	VIN      string
	Make     string
	Model    string
	KeeperID customer.ID // 0 when nobody is known to keep it
	Keeper   string
	Phone    string // empty for those who may not see it
	// LastVisit is the day of its latest card; zero when there is none.
	LastVisit workday.Day
}

// Name is make and model together.
func (h Hit) Name() string { return strings.TrimSpace(h.Make + " " + h.Model) }

// Called is what to call the car by: its mark, or else its VIN.
func (h Hit) Called() string {
	if h.Mark != "" {
		return h.Mark
	}
	return h.VIN
}

const (
	// findMax is the most hits that one search gives.
	findMax = 50
	// textMax is the most characters of a search that are looked at.
	textMax = 60
)

// Find finds cars as you type: by mark in any spelling, by any three or more
// characters of the VIN, by their keeper's name, and by the keeper's telephone
// number, the likeliest first, at most limit. Where nothing fits, what is
// spelled nearly alike comes instead. Text of one character finds nothing.
func (s *Service) Find(ctx context.Context, who actor.Actor, text string, limit int) ([]Hit, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	return find(ctx, s.db.Pool, text, limit, who.May(actor.ReadPeople))
}

// Find is the search of the Service, for those who may see telephone numbers.
func Find(ctx context.Context, q pg.Querier, text string, limit int) ([]Hit, error) {
	return find(ctx, q, text, limit, true)
}

// Who may not see numbers must not be able to guess at them either, so phones
// governs looking as well as showing.
func find(ctx context.Context, q pg.Querier, text string, limit int, phones bool) ([]Hit, error) {
	text = searchText(text)
	for _, branches := range []func(string, bool, argue) []string{exactly, nearly} {
		sql, args := findSQL(branches, text, limit, phones)
		if sql == "" {
			continue
		}
		rows, err := q.Query(ctx, sql, args...)
		if err != nil {
			return nil, fmt.Errorf("find a car: %w", err)
		}
		hits, err := pgx.CollectRows(rows, scanHit)
		if err != nil {
			return nil, fmt.Errorf("find a car: %w", err)
		}
		if len(hits) == 0 {
			continue
		}
		for i := range hits {
			if !phones {
				hits[i].Phone = ""
			}
		}
		return hits, nil
	}
	return nil, nil
}

// A branch is one way to find a car: it selects vehicle_id and rank, and each
// has an index behind it. None gives more than 60 cars.
const (
	byMark = `(select v.id, case when v.mark_key = %[1]s then 100 when v.mark_key like %[1]s || '%%' then 80 else 50 end
		from vehicle v where v.mark_key like %[2]s order by 2 desc, 1 desc limit 60)`
	byMarkAlike = `(select v.id, (10 * similarity(v.mark_key, %[1]s))::int from vehicle v where v.mark_key %% %[1]s order by 2 desc limit 20)`
	byVIN       = `(select v.id, case when v.vin = %[1]s then 98 when v.vin like '%%' || %[1]s then 65 else 40 end
		from vehicle v where v.vin like '%%' || %[1]s || '%%' order by 2 desc, 1 desc limit 60)`
	byName = `(select k.vehicle_id, case when lower(c.name) like %[2]s then 70 else 60 end
		from customer c join keeper k on k.customer_id = c.id and upper_inf(k.kept)
		where %[1]s order by 2 desc, 1 desc limit 60)`
	byNameAlike = `(select k.vehicle_id, (10 * word_similarity(lower(%[1]s), lower(c.name)))::int from customer c join keeper k on k.customer_id = c.id and upper_inf(k.kept)
		where lower(%[1]s) <%% lower(c.name) order by 2 desc limit 20)`
	byPhone = `(select k.vehicle_id, case when c.phone_digits like '%%' || %[1]s then 75 else 64 end
		from customer c join keeper k on k.customer_id = c.id and upper_inf(k.kept)
		where c.phone_digits like '%%' || %[1]s || '%%' order by 2 desc, 1 desc limit 60)`
)

// argue notes an argument of the SQL and gives its place.
type argue = func(any) string

// exactly gives the branches for what holds the text as it was typed.
func exactly(text string, phones bool, arg argue) []string {
	var out []string
	if key, n := markKey(text); n >= 2 {
		a := arg(key)
		// Two characters in the middle of a mark have no index, and say little.
		within := a + ` || '%'`
		if n >= 3 {
			within = `'%' || ` + within
		}
		out = append(out, fmt.Sprintf(byMark, a, within))
	}
	if v := vinPart(text); len(v) >= 3 && len(v) <= vin.Length {
		out = append(out, fmt.Sprintf(byVIN, arg(v)))
	}
	if d := customer.SearchDigits(text); phones && len(d) >= 3 && len(d) <= 20 {
		out = append(out, fmt.Sprintf(byPhone, arg(d)))
	}
	if where := customer.NameLike(text, "c.name", arg); where != "" {
		out = append(out, fmt.Sprintf(byName, where, `lower(`+arg(customer.EscapeLike(text))+`) || '%'`))
	}
	return out
}

// nearly gives the branches for what is spelled nearly like the text.
func nearly(text string, _ bool, arg argue) []string {
	var out []string
	if key, n := markKey(text); n >= 5 {
		out = append(out, fmt.Sprintf(byMarkAlike, arg(key)))
	}
	if utf8.RuneCountInString(text) >= 4 {
		out = append(out, fmt.Sprintf(byNameAlike, arg(text)))
	}
	return out
}

func markKey(text string) (key string, length int) {
	key = plate.Key(text)
	if length = utf8.RuneCountInString(key); length > plate.MaxLength {
		return "", 0
	}
	return key, length
}

// findSQL puts the branches together that the text calls for; no SQL when it
// calls for none. Everything typed goes in as an argument.
func findSQL(branches func(string, bool, argue) []string, text string, limit int, phones bool) (sql string, args []any) {
	arg := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("$%d", len(args))
	}
	ways := branches(text, phones, arg)
	if len(ways) == 0 {
		return "", nil
	}
	return `with hit (id, rank) as (select id, max(rank) from (` + strings.Join(ways, " union all ") + `) as b (id, rank) group by id)
		select v.id, v.mark_shown, coalesce(v.vin, ''), v.make, v.model, coalesce(c.id, 0), coalesce(c.name, ''), coalesce(c.phone, ''),
			visit.last
		from hit join vehicle v on v.id = hit.id
		left join keeper k on k.vehicle_id = v.id and upper_inf(k.kept)
		left join customer c on c.id = k.customer_id
		left join lateral (select max(booked_for) from card where vehicle_id = v.id and stage <> 'cancelled') as visit (last) on true
		order by hit.rank desc, visit.last desc nulls last, v.id desc
		limit ` + arg(max(0, min(limit, findMax))), args
}

// searchText is what is left of a search when nothing in it can do harm: real
// text on one line, not endless.
func searchText(s string) string {
	s = strings.Join(strings.Fields(strings.ReplaceAll(strings.ToValidUTF8(s, " "), "\x00", " ")), " ")
	if n := 0; len(s) > textMax {
		for i := range s {
			if n++; n > textMax {
				return s[:i]
			}
		}
	}
	return s
}

// vinPart reads text as part of a VIN, in which I, O and Q never stand: who
// types one means the figure. What has other characters is no VIN.
func vinPart(s string) string {
	s = strings.ToUpper(strings.ReplaceAll(s, " ", ""))
	if strings.Trim(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") != "" {
		return ""
	}
	return strings.NewReplacer("I", "1", "O", "0", "Q", "0").Replace(s)
}

func scanHit(row pgx.CollectableRow) (Hit, error) {
	var h Hit
	var last *time.Time
	err := row.Scan(&h.ID, &h.Mark, &h.VIN, &h.Make, &h.Model, &h.KeeperID, &h.Keeper, &h.Phone, &last)
	if last != nil {
		h.LastVisit = workday.FromDate(*last)
	}
	return h, err
}
