package floor

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// Service reads the floor.
type Service struct{ db *change.DB }

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db} }

// Plan reads the floor and works out what the actor does next.
func (s *Service) Plan(ctx context.Context, who actor.Actor) (Plan, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Plan{}, err
	}
	snap, err := Read(ctx, s.db.Pool, who.StaffID, s.db.Now().UTC())
	if err != nil {
		return Plan{}, err
	}
	return Make(snap), nil
}

// Operation is one of the garage's operations by its name, which a technician
// may give to work that was found.
type Operation struct {
	ID   garage.OperationID
	Name string
}

// operationsMax is how many operations a form offers.
const operationsMax = 500

// Operations lists the operations that found work can be named by.
func (s *Service) Operations(ctx context.Context, who actor.Actor) ([]Operation, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	all, err := garage.SearchOperations(ctx, s.db.Pool, "", operationsMax)
	if err != nil {
		return nil, err
	}
	out := make([]Operation, len(all))
	for i, o := range all {
		out[i] = Operation{o.ID, o.Name}
	}
	return out, nil
}

// here are the cards whose cars can be worked on. Past the bound it is the
// oldest that are left out: a card that nobody ever closed must not hide what
// somebody is working on.
const here = `(select id, vehicle_id from card where stage in ('on site', 'in work') order by id desc limit 300)`

// Read looks at the whole floor, in one round trip.
func Read(ctx context.Context, q pg.Querier, me actor.StaffID, now time.Time) (Snapshot, error) {
	r := reader{
		s:     Snapshot{Now: now, Me: me, Staff: map[actor.StaffID]string{}, Cars: map[jobcard.CardID]Car{}},
		place: map[jobcard.LineID]int{}, facts: map[jobcard.CardID][]vehicle.Fact{},
	}
	var b pgx.Batch
	garage.LoadLater(&b, &r.s.Garage)
	b.Queue(`select id, name from staff order by id limit 1000`).Query(each(r.staff))
	b.Queue(`select exists (select from attendance where staff_id = $1 and upper_inf(during))`, me).
		QueryRow(func(row pgx.Row) error { return row.Scan(&r.s.In) })
	b.Queue(`
		select c.id, case when v.mark_shown <> '' then v.mark_shown else coalesce(v.vin, '') end, v.make, v.model, c.promised_at, coalesce(o.place, 0)
		from `+here+` h join card c on c.id = h.id join vehicle v on v.id = c.vehicle_id
		left join outlook_order o on o.card_id = c.id and o.day = ($1::timestamptz at time zone coalesce((select zone from garage where id = 1), 'UTC'))::date order by c.id`, now).Query(each(r.car))
	b.Queue(`
		select h.id, f.key, f.value, f.source from ` + here + ` h join vehicle_fact f on f.vehicle_id = h.vehicle_id
		order by h.id, f.id limit 20000`).Query(each(r.fact))
	b.Queue(`
		select l.id, l.card_id, l.position, l.title, l.must_do, l.work_state, l.state_reason, l.decided_by, l.consent,
			l.agreed_net_minor is not null, l.ahead_reason,
			l.low_minutes, l.likely_minutes, l.high_minutes, l.cautions, l.safety, l.wheels_off, l.stripped_at is not null, coalesce(l.assigned_to, 0),
			coalesce(l.done_by, 0), exists (select from second_check k where k.line_id = l.id and k.undone_at is null),
			coalesce((select r.cautions from caution_read r where r.line_id = l.id and r.staff_id = $1), '{}'),
			coalesce((select g.kind || case when g.note = '' then '' else ': ' || g.note end from snag g
				where g.line_id = l.id and g.kind = 'blocked' and g.at >= coalesce((select max(lower(k.during))
					from clocking k where k.line_id = l.id and not k.voided), g.at)
				order by g.id desc limit 1), '')
		from `+here+` h join line l on l.card_id = h.id where l.struck_at is null
		order by l.card_id, l.position, l.id limit 10000`, me).Query(each(r.line))
	b.Queue(`
		select p.id, p.line_id, p.name, p.number, p.supply, p.verdict, ` + jobcard.HeldSQL + `, p.due_at from ` + here + ` h join part p on p.card_id = h.id
		where p.line_id is not null and p.struck_at is null order by p.id limit 20000`).Query(each(r.part))
	b.Queue(`select o.line_id, o.after_id from ` + here + ` h join line_order o on o.card_id = h.id
		order by o.line_id, o.after_id limit 20000`).Query(each(r.order))
	b.Queue(`
		select k.line_id, k.staff_id,
			greatest(0, extract(epoch from sum(coalesce(upper(k.during), $1) - lower(k.during)))::bigint),
			max(lower(k.during)) filter (where upper_inf(k.during))
		from `+here+` h join line l on l.card_id = h.id join clocking k on k.line_id = l.id
		where not k.voided group by k.line_id, k.staff_id order by k.line_id, min(k.id) limit 20000`, now).Query(each(r.hand))
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return Snapshot{}, fmt.Errorf("read the floor: %w", err)
	}
	car := make(map[jobcard.CardID][]caution.Key, len(r.facts))
	for id, facts := range r.facts {
		car[id] = vehicle.Cautions(vehicle.Weigh(facts))
	}
	for i, l := range r.s.Lines {
		r.s.Lines[i].Cautions = caution.Merge(l.Cautions, car[l.CardID])
	}
	return r.s, nil
}

// reader gathers the rows of a look.
type reader struct {
	s     Snapshot
	place map[jobcard.LineID]int // of a line in s.Lines
	facts map[jobcard.CardID][]vehicle.Fact
}

func (r *reader) staff(row pgx.Rows) error {
	var id actor.StaffID
	var name string
	err := row.Scan(&id, &name)
	r.s.Staff[id] = name
	return err
}

func (r *reader) car(row pgx.Rows) error {
	var c Car
	var model string
	var promised *time.Time
	err := row.Scan(&c.CardID, &c.Mark, &c.Name, &model, &promised, &c.Place)
	if model != "" {
		c.Name += " " + model
	}
	c.PromisedAt = orZero(promised)
	r.s.Cars[c.CardID] = c
	return err
}

func (r *reader) fact(row pgx.Rows) error {
	var id jobcard.CardID
	var f vehicle.Fact
	err := row.Scan(&id, &f.Key, &f.Value, &f.Source)
	r.facts[id] = append(r.facts[id], f)
	return err
}

func (r *reader) line(row pgx.Rows) error {
	var l Line
	var low, likely, high int
	err := row.Scan(&l.ID, &l.CardID, &l.Position, &l.Title, &l.MustDo, &l.WorkState, &l.StateReason, &l.DecidedBy, &l.Consent, &l.Again, &l.Ahead,
		&low, &likely, &high, &l.Cautions, &l.Safety, &l.WheelsOff, &l.Stripped, &l.AssignedTo, &l.DoneBy, &l.Checked, &l.Read, &l.Blocked)
	l.Estimate = hours.Estimate{Low: minutes(low), Likely: minutes(likely), High: minutes(high)}
	r.place[l.ID] = len(r.s.Lines)
	r.s.Lines = append(r.s.Lines, l)
	return err
}

func (r *reader) part(row pgx.Rows) error {
	var p Part
	var due *time.Time
	if err := row.Scan(&p.ID, &p.LineID, &p.Name, &p.Number, &p.Supply, &p.Verdict, &p.Held, &due); err != nil {
		return err
	}
	p.DueAt = orZero(due)
	r.on(p.LineID, func(l *Line) { l.Parts = append(l.Parts, p) })
	return nil
}

func (r *reader) order(row pgx.Rows) error {
	var id, after jobcard.LineID
	err := row.Scan(&id, &after)
	r.on(id, func(l *Line) { l.After = append(l.After, after) })
	return err
}

func (r *reader) hand(row pgx.Rows) error {
	var id jobcard.LineID
	var h Hand
	var seconds int64
	var since *time.Time
	err := row.Scan(&id, &h.StaffID, &seconds, &since)
	h.Worked, h.Since = time.Duration(seconds)*time.Second, orZero(since)
	r.on(id, func(l *Line) { l.Hands = append(l.Hands, h) })
	return err
}

// on changes a line that was read; one that was struck out is not there.
func (r *reader) on(id jobcard.LineID, change func(*Line)) {
	if i, ok := r.place[id]; ok {
		change(&r.s.Lines[i])
	}
}

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

func minutes(n int) time.Duration { return time.Duration(n) * time.Minute }

func orZero(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
