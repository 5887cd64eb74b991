package outlook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/forecast/law"
	"rampside/internal/forecast/learn"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/roster"
	"rampside/internal/workday"
)

// taughtMax is how many lines are learned from, the latest ones: more than a
// small garage does in two years. taughtDays is how far back they go; what is
// older says little, since a line counts half after a year.
const (
	taughtMax  = 20_000
	taughtDays = 1000
	modelsKept = 30
)

// taught is one line as the model is fitted to it. Names are short since some
// thousands of them are kept in a row.
type taught struct {
	Line      jobcard.LineID     `json:"l"`
	Card      jobcard.CardID     `json:"c"`
	Operation garage.OperationID `json:"o,omitempty"`
	Title     string             `json:"t,omitempty"` // of a line without an operation
	Layout    string             `json:"y,omitempty"`
	Vehicle   int64              `json:"v"`
	Low       float64            `json:"a"` // minutes, as today's hours would have it
	Likely    float64            `json:"m"`
	High      float64            `json:"b"`
	Seconds   int64              `json:"s"`
	Finished  bool               `json:"f,omitempty"`
	At        time.Time          `json:"at"` // of the last work
}

// lessons are what a model rests on.
type lessons struct {
	Lines []taught                `json:"lines"`
	Found map[string]learn.Counts `json:"found"`
	Yes   learn.Counts            `json:"yes"`
}

func (l taught) line(now time.Time) learn.Line {
	e := law.ThreePoint{Least: l.Low / 60, Likely: l.Likely / 60, Most: l.High / 60}
	if e.Check() != nil {
		e = law.Single(leastHours)
	}
	return learn.Line{
		ID: int64(l.Line), Operation: operationKey(l.Operation, l.Title), Layout: l.Layout, Vehicle: vehicleKey(l.Vehicle), Estimate: e,
		Hours: float64(l.Seconds) / 3600, Finished: l.Finished, Age: now.Sub(l.At).Hours() / 24,
	}
}

// fit makes the model; the same lessons and time give the same one.
func (l lessons) fit(now time.Time) *learn.Model {
	lines := make([]learn.Line, len(l.Lines))
	for i, t := range l.Lines {
		lines[i] = t.line(now)
	}
	return learn.Fit(lines, learn.Start)
}

// model is one that was learned, ready to be used.
type model struct {
	id      int64
	at      time.Time
	day     workday.Day
	lessons lessons
	fitted  *learn.Model
}

func (m *model) finding() finding { return finding{m.lessons.Found, m.lessons.Yes} }

// acceptance is an operation's hours that were changed by what was learned.
type acceptance struct {
	operation garage.OperationID
	at        time.Time
	factor    float64
}

type acceptances []acceptance

func acceptedLater(b *pgx.Batch, into *acceptances) {
	b.Queue(`select operation_id, at, now_minutes::float8 / was_minutes from outlook_accepted order by at limit 5000`).Query(func(rows pgx.Rows) error {
		var a acceptance
		_, err := pgx.ForEachRow(rows, []any{&a.operation, &a.at, &a.factor}, func() error {
			*into = append(*into, a)
			return nil
		})
		return err
	})
}

// factor is what the estimate of a line written at that time is multiplied by
// to be one of today's.
func (as acceptances) factor(id garage.OperationID, written time.Time) float64 {
	f := 1.0
	for _, a := range as {
		if a.operation == id && id != 0 && a.at.After(written) {
			f *= a.factor
		}
	}
	return f
}

// readLessons reads every line that was worked on. One that is not finished
// took longer than it has, nobody knows how much. A clocking that was voided
// counts for nothing, a corrected one as it stands now, and one that was
// forgotten to where it most likely ended.
func readLessons(ctx context.Context, q pg.Querier, now time.Time) (lessons, garage.Settings, error) {
	out := lessons{Found: map[string]learn.Counts{}}
	type open struct {
		line  jobcard.LineID
		staff actor.StaffID
		from  time.Time
	}
	var opens []open
	var set garage.Settings
	var plan roster.Plan
	var accepted acceptances
	created := map[jobcard.LineID]time.Time{}
	since := now.AddDate(0, 0, -taughtDays)
	var b pgx.Batch
	day := workday.FromDate(now)
	if err := roster.PlanLater(&b, day, day, &plan); err != nil {
		return out, set, err
	}
	acceptedLater(&b, &accepted)
	b.Queue(`
		with worked as (
			select k.line_id, sum(extract(epoch from coalesce(upper(k.during), lower(k.during)) - lower(k.during)))::bigint as seconds,
				max(coalesce(upper(k.during), lower(k.during))) as last
			from clocking k where not k.voided and lower(k.during) between $1 and $2 group by k.line_id order by max(lower(k.during)) desc limit $3)
		select l.id, c.id, coalesce(l.operation_id, 0), l.title, coalesce(`+layoutOf+`, ''), c.vehicle_id, l.low_minutes, l.likely_minutes, l.high_minutes,
			w.seconds, l.work_state = 'done', w.last, c.created_at
		from worked w join line l on l.id = w.line_id join card c on c.id = l.card_id where l.struck_at is null order by w.last, l.id`, since, now, taughtMax).
		Query(func(rows pgx.Rows) error {
			var t taught
			var title string
			var at time.Time
			_, err := pgx.ForEachRow(rows, []any{&t.Line, &t.Card, &t.Operation, &title, &t.Layout, &t.Vehicle, &t.Low, &t.Likely, &t.High, &t.Seconds, &t.Finished, &t.At, &at}, func() error {
				t.Title = ""
				if t.Operation == 0 {
					t.Title = title
				}
				created[t.Line] = at
				out.Lines = append(out.Lines, t)
				return nil
			})
			return err
		})
	b.Queue(`select line_id, staff_id, lower(during) from clocking where upper_inf(during) and not voided and lower(during) <= $1 limit 1000`, now).
		Query(func(rows pgx.Rows) error {
			var o open
			_, err := pgx.ForEachRow(rows, []any{&o.line, &o.staff, &o.from}, func() error { opens = append(opens, o); return nil })
			return err
		})
	b.Queue(`
		select l.operation_id, count(*), count(*) filter (where exists (select from line f where f.found_on = l.id))
		from line l where l.inspects and l.work_state = 'done' and l.operation_id is not null and l.done_at between $1 and $2
		group by l.operation_id limit 1000`, since, now).Query(func(rows pgx.Rows) error {
		var id garage.OperationID
		var c learn.Counts
		_, err := pgx.ForEachRow(rows, []any{&id, &c.Of, &c.Yes}, func() error { out.Found[operationKey(id, "")] = c; return nil })
		return err
	})
	b.Queue(`
		select count(*) filter (where f.consent <> 'asked'), count(*) filter (where f.consent = 'agreed')
		from line f join card c on c.id = f.card_id where f.found_on is not null and c.created_at between $1 and $2`, since, now).
		QueryRow(func(r pgx.Row) error { return r.Scan(&out.Yes.Of, &out.Yes.Yes) })
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return out, set, fmt.Errorf("read what was worked: %w", err)
	}
	set = plan.Garage
	running := map[jobcard.LineID]time.Duration{}
	board := board{plan: plan}
	for _, o := range opens {
		to := now
		if clocking.Forgot(set, o.from, now) {
			to = clocking.LikelyEnd(set, board.shift(o.staff, o.from), o.from, now)
		}
		running[o.line] += to.Sub(o.from)
	}
	for i := range out.Lines {
		t := &out.Lines[i]
		t.Seconds += int64(running[t.Line] / time.Second)
		f := accepted.factor(t.Operation, created[t.Line])
		t.Low, t.Likely, t.High = t.Low*f, t.Likely*f, t.High*f
	}
	return out, set, nil
}

// learnAnew reads, and keeps what was read as the model of the day. The rest is
// fitting, which needs no database.
func learnAnew(ctx context.Context, q pg.Querier, now time.Time) (*model, error) {
	l, set, err := readLessons(ctx, q, now)
	if err != nil {
		return nil, err
	}
	m := &model{at: now.UTC().Truncate(time.Microsecond), day: set.Today(now), lessons: l}
	body, err := json.Marshal(l)
	if err != nil {
		return nil, fmt.Errorf("keep what was learned: %w", err)
	}
	var b pgx.Batch
	b.Queue(`
		insert into outlook_model (learned_at, day, lines, body) values ($1, $2, $3, $4)
		on conflict on constraint outlook_model_day_once do update set learned_at = excluded.learned_at, lines = excluded.lines, body = excluded.body
		returning id`, m.at, m.day.UTC(), len(l.Lines), body).QueryRow(func(r pgx.Row) error { return r.Scan(&m.id) })
	b.Queue(`delete from outlook_model where id in (select id from outlook_model order by day desc offset $1)`, modelsKept)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return nil, fmt.Errorf("keep what was learned: %w", err)
	}
	m.fitted = l.fit(m.at)
	return m, nil
}

// latest is the model to go by; nil when nothing has been learned yet.
func latest(ctx context.Context, q pg.Querier, have *model) (*model, error) {
	var m model
	var day time.Time
	err := q.QueryRow(ctx, `select id, learned_at, day from outlook_model order by day desc limit 1`).Scan(&m.id, &m.at, &day)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("what was learned: %w", err)
	case have != nil && have.id == m.id && have.at.Equal(m.at):
		return have, nil
	}
	m.at, m.day = m.at.UTC(), workday.FromDate(day)
	var body []byte
	if err := q.QueryRow(ctx, `select body from outlook_model where id = $1`, m.id).Scan(&body); err != nil {
		return nil, fmt.Errorf("what was learned: %w", err)
	}
	if err := json.Unmarshal(body, &m.lessons); err != nil {
		return nil, fmt.Errorf("what was learned: %w", err)
	}
	m.fitted = m.lessons.fit(m.at)
	return &m, nil
}
