package clocking

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

const clockingSQL = `
	select k.id, k.staff_id, s.name, k.line_id, l.card_id, l.title,
		case when v.mark_shown <> '' then v.mark_shown else coalesce(v.vin, '') end, lower(k.during), upper(k.during), k.voided, k.version
	from clocking k join staff s on s.id = k.staff_id join line l on l.id = k.line_id
	join card c on c.id = l.card_id join vehicle v on v.id = c.vehicle_id`

func scanClocking(r pgx.CollectableRow) (Clocking, error) {
	var k Clocking
	var to *time.Time
	err := r.Scan(&k.ID, &k.StaffID, &k.Name, &k.LineID, &k.CardID, &k.Title, &k.Car, &k.From, &to, &k.Voided, &k.Version)
	k.From = k.From.UTC()
	if to != nil {
		k.To = to.UTC()
	}
	return k, err
}

func byID(ctx context.Context, q pg.Querier, id ID) (Clocking, error) {
	rows, err := q.Query(ctx, clockingSQL+` where k.id = $1`, id)
	if err != nil {
		return Clocking{}, fmt.Errorf("clocking: %w", err)
	}
	k, err := pgx.CollectExactlyOneRow(rows, scanClocking)
	return k, pg.Explain(err, "clocking", nil)
}

// ByID reads one clocking of one's own, or anybody's with the right to see
// margins.
func (s *Service) ByID(ctx context.Context, who actor.Actor, id ID) (Clocking, error) {
	if err := who.Need(actor.Work); err != nil {
		return Clocking{}, err
	}
	k, err := byID(ctx, s.db.Pool, id)
	if err == nil && k.StaffID != who.StaffID && !who.May(actor.SeeMargins) {
		return Clocking{}, apperr.New(apperr.Forbidden, "this is somebody else's clocking")
	}
	return k, err
}

// Current is what the actor is on; ok is false when that is nothing.
func (s *Service) Current(ctx context.Context, who actor.Actor) (k Clocking, ok bool, err error) {
	if err := who.Need(actor.Work); err != nil {
		return k, false, err
	}
	rows, err := s.db.Pool.Query(ctx, clockingSQL+` where k.staff_id = $1 and upper_inf(k.during) and not k.voided`, who.StaffID)
	if err != nil {
		return k, false, fmt.Errorf("current clocking: %w", err)
	}
	found, err := pgx.CollectRows(rows, scanClocking)
	if err != nil || len(found) == 0 {
		return k, false, err
	}
	return found[0], true, nil
}

// DayQuery asks for the clockings of one garage's day.
type DayQuery struct {
	// Day is today when zero.
	Day workday.Day
	// StaffID is one person; 0 is everybody, for those who may see margins.
	StaffID actor.StaffID
}

// Day is one day's clockings, with what was corrected, and those still open
// that seem forgotten, of whatever day.
type Day struct {
	Garage      garage.Settings
	Day         workday.Day
	Now         time.Time
	Clockings   []Clocking
	Corrections map[ID][]Correction
	Forgotten   []Forgotten
}

// Worked is how long somebody worked on the day: clockings that count, as far
// as they fall on it, the open one up to now.
func (d Day) Worked(id actor.StaffID) time.Duration {
	var sum time.Duration
	for _, k := range d.Clockings {
		if k.StaffID == id && !k.Voided {
			sum += k.Span(d.Now).OnDay(d.Day, d.Garage.Location())
		}
	}
	return sum
}

// listMax bounds the lists read here: a day of a garage is a few dozen.
const listMax = 2000

// OnDay reads a day's clockings. Errors: Forbidden for the clockings of others
// without the right to see margins.
func (s *Service) OnDay(ctx context.Context, who actor.Actor, q DayQuery) (Day, error) {
	if err := who.Need(actor.Work); err != nil {
		return Day{}, err
	}
	if (q.StaffID != who.StaffID || q.StaffID == 0) && !who.May(actor.SeeMargins) {
		return Day{}, apperr.New(apperr.Forbidden, "your sign-in may see your own clockings only")
	}
	set, err := garage.Load(ctx, s.db.Pool)
	if err != nil {
		return Day{}, err
	}
	d := Day{Garage: set, Day: q.Day, Now: s.db.Now().UTC(), Corrections: map[ID][]Correction{}}
	if d.Day.IsZero() {
		d.Day = set.Today(d.Now)
	}
	start, end := workday.Bounds(d.Day, set.Location())
	var stillOpen []Clocking
	var b pgx.Batch
	b.Queue(clockingSQL+`
		where k.during && tstzrange($1, $2) and ($3::bigint = 0 or k.staff_id = $3)
		order by s.name, lower(k.during), k.id limit $4`, start, end, q.StaffID, listMax).Query(collect(&d.Clockings))
	b.Queue(clockingSQL+`
		where upper_inf(k.during) and not k.voided and ($1::bigint = 0 or k.staff_id = $1)
		order by lower(k.during), k.id limit $2`, q.StaffID, listMax).Query(collect(&stillOpen))
	b.Queue(`
		select x.clocking_id, lower(x.was), upper(x.was), lower(x.became), upper(x.became), x.became is null, x.reason, coalesce(s.name, ''), x.at
		from clocking_correction x join clocking k on k.id = x.clocking_id left join staff s on s.id = x.by_staff
		where k.during && tstzrange($1, $2) and ($3::bigint = 0 or k.staff_id = $3)
		order by x.id limit $4`, start, end, q.StaffID, listMax).Query(d.addCorrections)
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return Day{}, fmt.Errorf("clockings of a day: %w", err)
	}
	d.Forgotten, err = forgotten(ctx, s.db.Pool, set, stillOpen, d.Now)
	return d, err
}

func (d *Day) addCorrections(rows pgx.Rows) error {
	var x Correction
	var wasTo, from, to *time.Time
	_, err := pgx.ForEachRow(rows, []any{&x.ClockingID, &x.Was.From, &wasTo, &from, &to, &x.Voided, &x.Reason, &x.By, &x.At}, func() error {
		x.Was.To, x.Became = orZero(wasTo), workday.Span{From: orZero(from), To: orZero(to)}
		d.Corrections[x.ClockingID] = append(d.Corrections[x.ClockingID], x)
		return nil
	})
	return err
}

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}

// Forgotten lists the clockings that are still open although the garage has
// closed since they began: the actor's own, or everybody's for those who may
// see margins.
func (s *Service) Forgotten(ctx context.Context, who actor.Actor) ([]Forgotten, error) {
	if err := who.Need(actor.Work); err != nil {
		return nil, err
	}
	var only actor.StaffID
	if !who.May(actor.SeeMargins) {
		only = who.StaffID
	}
	var set garage.Settings
	var on []Clocking
	var b pgx.Batch
	garage.LoadLater(&b, &set)
	b.Queue(clockingSQL+`
		where upper_inf(k.during) and not k.voided and ($1::bigint = 0 or k.staff_id = $1)
		order by lower(k.during), k.id limit $2`, only, listMax).Query(collect(&on))
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("open clockings: %w", err)
	}
	return forgotten(ctx, s.db.Pool, set, on, s.db.Now().UTC())
}

func forgotten(ctx context.Context, q pg.Querier, set garage.Settings, on []Clocking, now time.Time) ([]Forgotten, error) {
	var out []Forgotten
	for _, k := range on {
		if Forgot(set, k.From, now) {
			out = append(out, Forgotten{Clocking: k})
		}
	}
	if len(out) == 0 {
		return nil, nil
	}
	w, err := readWeeks(ctx, q)
	if err != nil {
		return nil, err
	}
	for i, k := range out {
		out[i].Likely = w.likelyEnd(set, k.StaffID, k.From, now)
	}
	return out, nil
}

func collect(into *[]Clocking) func(pgx.Rows) error {
	return func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, scanClocking)
		return err
	}
}

// OnLine reads every clocking on one line, the oldest first.
func OnLine(ctx context.Context, q pg.Querier, id jobcard.LineID) ([]Clocking, error) {
	rows, err := q.Query(ctx, clockingSQL+` where k.line_id = $1 order by lower(k.during), k.id limit $2`, id, listMax)
	if err != nil {
		return nil, fmt.Errorf("clockings of a line: %w", err)
	}
	return pgx.CollectRows(rows, scanClocking)
}
