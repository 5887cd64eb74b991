package jobcard

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// readSheet reads a whole card in one round trip. clock is when "so far" is.
func readSheet(ctx context.Context, q pg.Querier, id CardID, clock time.Time, also ...func(*pgx.Batch)) (*Sheet, error) {
	s := &Sheet{
		After: map[LineID][]LineID{}, Checks: map[LineID]Check{}, Clocked: map[LineID]Clocked{},
		Staff: map[actor.StaffID]string{}, Rates: Rates{}, Costs: true,
	}
	var g garage.Settings
	var b pgx.Batch
	b.Queue(`select `+cardColumns+` from card c where c.id = $1`, id).Query(func(rows pgx.Rows) error {
		c, err := pgx.CollectExactlyOneRow(rows, scanCard)
		s.Card = c
		return pg.Explain(err, "card", nil)
	})
	b.Queue(`select v.id, v.mark_shown, coalesce(v.vin, ''), v.make, v.model, v.colour, u.id, u.name, u.phone, u.email, u.address
		from card c join vehicle v on v.id = c.vehicle_id join customer u on u.id = c.customer_id where c.id = $1`, id).
		QueryRow(func(r pgx.Row) error {
			v, u := &s.Vehicle, &s.Customer
			return r.Scan(&v.ID, &v.Mark, &v.VIN, &v.Make, &v.Model, &v.Colour, &u.ID, &u.Name, &u.Phone, &u.Email, &u.Address)
		})
	var facts []vehicle.Fact
	b.Queue(`select f.key, f.value, f.source, f.noted_at, coalesce(t.name, '')
		from vehicle_fact f join card c on c.vehicle_id = f.vehicle_id left join staff t on t.id = f.noted_by
		where c.id = $1 order by f.id limit 500`, id).Query(collect(&facts, pgx.RowToStructByPos[vehicle.Fact]))
	b.Queue(`select `+lineColumns+lineFrom+`where l.card_id = $1 order by l.position, l.id limit 500`, id).Query(collect(&s.Lines, scanLine))
	PartsLater(&b, id, &s.Parts)
	b.Queue(`select line_id, after_id from line_order where card_id = $1 order by line_id, after_id limit 1000`, id).
		Query(each(func(r pgx.Rows) error {
			var a, before LineID
			err := r.Scan(&a, &before)
			s.After[a] = append(s.After[a], before)
			return err
		}))
	b.Queue(`select x.line_id, x.answer, x.said_by, x.how, x.minutes, x.net_minor, x.up_to_minor, coalesce(x.taken_by, 0), x.at
		from consent x join line l on l.id = x.line_id where l.card_id = $1 order by x.id limit 500`, id).
		Query(collect(&s.Consents, scanConsent))
	b.Queue(`select g.id, g.line_id, coalesce(g.part_id, 0), g.kind, g.note, coalesce(g.by_staff, 0), g.at, coalesce(g.led_to, 0)
		from snag g join line l on l.id = g.line_id where l.card_id = $1 order by g.id limit 500`, id).
		Query(collect(&s.Snags, pgx.RowToStructByPos[Snag]))
	b.Queue(`select id, card_id, coalesce(line_id, 0), severity, what, measured, limit_value, coalesce(proposed_line_id, 0),
		coalesce(by_staff, 0), at from finding where card_id = $1 order by id limit 500`, id).
		Query(collect(&s.Findings, pgx.RowToStructByPos[Finding]))
	b.Queue(`select id, line_id, part_id, verdict, reason, coalesce(by_staff, 0), at from fit_waiver where card_id = $1 order by id limit 500`, id).
		Query(collect(&s.Waivers, pgx.RowToStructByPos[Waiver]))
	b.Queue(`select k.line_id, k.by_staff, coalesce(k.torque_nm, 0)::float8, k.note, k.at
		from second_check k join line l on l.id = k.line_id where l.card_id = $1 and k.undone_at is null limit 500`, id).
		Query(each(func(r pgx.Rows) error {
			var line LineID
			var k Check
			err := r.Scan(&line, &k.By, &k.TorqueNm, &k.Note, &k.At)
			s.Checks[line] = k
			return err
		}))
	b.Queue(`select k.line_id, k.staff_id, upper_inf(k.during),
		greatest(0, extract(epoch from sum(coalesce(upper(k.during), $2) - lower(k.during)))::bigint)
		from clocking k join line l on l.id = k.line_id where l.card_id = $1 and not k.voided
		group by k.line_id, k.staff_id, upper_inf(k.during) order by 1, 2 limit 2000`, id, clock).
		Query(each(s.addClocked))
	b.Queue(`select id, line_id, width, height, caption, at, coalesce(by_staff, 0)
		from photo where card_id = $1 and struck_at is null order by id limit 500`, id).
		Query(collect(&s.Photos, pgx.RowToStructByPos[SheetPhoto]))
	b.Queue(`select id, name from staff order by name limit 500`).Query(each(func(r pgx.Rows) error {
		var sid actor.StaffID
		var name string
		err := r.Scan(&sid, &name)
		s.Staff[sid] = name
		return err
	}))
	garage.LoadLater(&b, &g)
	ratesLater(&b, id, s.Rates)
	ExtrasLater(&b, ofOneCard, []any{id}, func(CardID) *Extras { return &s.Extras })
	for _, queue := range also {
		queue(&b)
	}
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		if apperr.KindOf(err) == apperr.Internal {
			return nil, fmt.Errorf("read card %d: %w", id, err)
		}
		return nil, err
	}
	s.Vehicle.Facts = vehicle.Weigh(facts)
	return s, s.finish(g)
}

// finish works out what follows from what was read.
func (s *Sheet) finish(g garage.Settings) (err error) {
	s.Zone, s.Rounding, s.Set = g.Location(), g.VATRounding, PriceSettingsOf(g)
	s.Vehicle.Caution = vehicle.Cautions(s.Vehicle.Facts)
	s.Quote, err = s.Priced().Quote()
	return err
}

// Priced is the price sheet of the card as it was read. A sheet without costs
// has none.
func (s *Sheet) Priced() Priced {
	if !s.Costs {
		return Priced{CardID: s.ID, Day: s.BookedFor}
	}
	return PriceCard(s.Card, s.Lines, s.Parts, s.Extras, s.Rates, s.Set)
}

func (s *Sheet) addClocked(r pgx.Rows) error {
	var line LineID
	var staff actor.StaffID
	var on bool
	var seconds int64
	if err := r.Scan(&line, &staff, &on, &seconds); err != nil {
		return err
	}
	c := s.Clocked[line]
	c.Worked += time.Duration(seconds) * time.Second
	if on {
		c.On = append(c.On, staff)
	}
	c.Hands = append(c.Hands, staff)
	s.Clocked[line] = c
	return nil
}

func scanConsent(r pgx.CollectableRow) (ConsentGiven, error) {
	var c ConsentGiven
	var min int
	err := r.Scan(&c.LineID, &c.Answer, &c.SaidBy, &c.How, &min, &c.Net, &c.UpTo, &c.TakenBy, &c.At)
	c.Time = time.Duration(min) * time.Minute
	return c, err
}

// collect reads all rows of a batch's query into dst.
func collect[T any](dst *[]T, scan pgx.RowToFunc[T]) func(pgx.Rows) error {
	return func(rows pgx.Rows) (err error) {
		*dst, err = pgx.CollectRows(rows, scan)
		return err
	}
}

// each calls f for every row of a batch's query.
func each(f func(pgx.Rows) error) func(pgx.Rows) error {
	return func(rows pgx.Rows) error {
		defer rows.Close()
		for rows.Next() {
			if err := f(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	}
}

// PartsLater queues the reading of a card's parts.
func PartsLater(b *pgx.Batch, id CardID, into *[]Part) {
	b.Queue(`select `+partColumns+partFrom+`where p.card_id = $1 order by p.id limit 500`, id).Query(collect(into, scanPart))
}
