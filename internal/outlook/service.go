package outlook

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Service reads outlooks, and works them out.
type Service struct {
	db *change.DB

	// Brief works outlooks out from fewer days and without what could be done
	// about them: for made-up days that nobody will look at again.
	Brief bool

	// ask wakes the worker of this server, when there is one.
	ask chan struct{}

	mu   sync.Mutex
	last *model // the one fitted last, kept since fitting takes a while

	// offers lets one promise at a time be looked for.
	offers chan struct{}
}

// New makes the service.
func New(db *change.DB) *Service {
	return &Service{db: db, ask: make(chan struct{}, 1), offers: make(chan struct{}, 1)}
}

const (
	// fresh is how long an outlook holds while nothing happens: time passes,
	// and what runs gets on.
	fresh = 5 * time.Minute
	// lock is held by the server that works the outlook out. The number has no
	// meaning.
	lock = 7_263_517_013
)

// Refresh works today's outlook out when something happened since it was, or
// when it is old, and tells whether it did. Any number of servers may call it
// at once: one works, the others wait and find that it is done.
func (s *Service) Refresh(ctx context.Context) (worked bool, err error) {
	conn, err := s.db.Pool.Acquire(ctx)
	if err != nil {
		return false, fmt.Errorf("outlook: %w", err)
	}
	defer conn.Release()
	if _, err := conn.Exec(ctx, `select pg_advisory_lock($1)`, int64(lock)); err != nil {
		return false, fmt.Errorf("outlook: wait for another server: %w", err)
	}
	defer func() {
		if _, e := conn.Exec(context.WithoutCancel(ctx), `select pg_advisory_unlock($1)`, int64(lock)); e != nil {
			_ = conn.Conn().Close(context.WithoutCancel(ctx)) // and the lock goes with it
		}
	}()
	return s.refresh(ctx, conn)
}

func (s *Service) refresh(ctx context.Context, conn *pgxpool.Conn) (bool, error) {
	began, now := time.Now(), s.db.Now().UTC().Truncate(time.Microsecond)
	was, event, err := lastStamp(ctx, conn)
	if err != nil {
		return false, err
	}
	old := now.Sub(was.at) >= fresh || now.Before(was.at)
	if was.event >= event && !old {
		return false, nil
	}
	b, err := readBoard(ctx, conn, workday.Day{}, workday.Day{}, true, now)
	if err != nil {
		return false, err
	}
	today := b.plan.Garage.Today(now)
	start, _ := workday.Bounds(today, b.plan.Garage.Location())
	if err := s.settle(ctx, conn, start, now); err != nil {
		return false, err
	}
	fix, err := correction(ctx, conn)
	if err != nil {
		return false, err
	}
	mod, err := s.model(ctx, conn, today, now)
	if err != nil {
		return false, err
	}
	print := b.print(today, mod.id, fix.N)
	if was.day == today && !old && string(print) == string(was.print) {
		_, err := conn.Exec(ctx, `update outlook set event_id = $2 where day = $1`, today.UTC(), b.event)
		if err != nil {
			return false, fmt.Errorf("outlook: %w", err)
		}
		return false, nil
	}
	points := fullPoints
	if s.Brief {
		points = briefPoints
	}
	r, err := b.reckon(today, mod, fix, points)
	if err != nil {
		return false, err
	}
	if !s.Brief {
		if err := r.choices(); err != nil {
			return false, err
		}
	}
	return true, s.keep(ctx, conn, r, fix, print, mod.id, time.Since(began))
}

// model is the one of today: learned anew when the last one is of an earlier
// day, by whoever holds the lock.
func (s *Service) model(ctx context.Context, conn *pgxpool.Conn, today workday.Day, now time.Time) (*model, error) {
	s.mu.Lock()
	have := s.last
	s.mu.Unlock()
	m, err := latest(ctx, conn, have)
	if err != nil {
		return nil, err
	}
	if m == nil || m.day.Before(today) {
		if m, err = learnAnew(ctx, conn, now); err != nil {
			return nil, err
		}
	}
	s.mu.Lock()
	s.last = m
	s.mu.Unlock()
	return m, nil
}

// modelNow is the model to go by for whoever only reads: the last one, or an
// empty one.
func (s *Service) modelNow(ctx context.Context) (*model, error) {
	s.mu.Lock()
	have := s.last
	s.mu.Unlock()
	m, err := latest(ctx, s.db.Pool, have)
	if err != nil {
		return nil, err
	}
	if m == nil {
		m = &model{at: s.db.Now().UTC()}
		m.fitted = m.lessons.fit(m.at)
		return m, nil
	}
	s.mu.Lock()
	s.last = m
	s.mu.Unlock()
	return m, nil
}

// Ask has the worker of this server look whether there is something to do. It
// never waits.
func (s *Service) Ask() {
	select {
	case s.ask <- struct{}{}:
	default: // it has been asked already
	}
}

// Today reads the outlook of today as it was worked out last, in one round
// trip, and has it worked out anew when it is old. Sales are there for those
// who may see margins.
func (s *Service) Today(ctx context.Context, who actor.Actor) (Read, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Read{}, err
	}
	r, err := s.read(ctx)
	if err != nil {
		return r, err
	}
	if r.None || r.Newer > 0 || r.Now.Sub(r.At) >= fresh {
		s.Ask()
	}
	if !who.May(actor.SeeMargins) {
		for i := range r.Leave {
			r.Leave[i].Sales = 0
		}
	}
	return r, nil
}

func (s *Service) read(ctx context.Context) (r Read, err error) {
	r.Now = s.db.Now().UTC()
	var body []byte
	var b pgx.Batch
	garage.LoadLater(&b, &r.Garage)
	b.Queue(`select body from outlook order by day desc limit 1`).QueryRow(func(row pgx.Row) error {
		err := row.Scan(&body)
		if errors.Is(err, pgx.ErrNoRows) {
			r.None = true
			return nil
		}
		return err
	})
	b.Queue(`select count(*) from (select from event where id > coalesce((select event_id from outlook order by day desc limit 1), 0) limit 100) e`).
		QueryRow(func(row pgx.Row) error { return row.Scan(&r.Newer) })
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return r, fmt.Errorf("outlook: %w", err)
	}
	if r.None {
		return r, nil
	}
	if err := json.Unmarshal(body, &r.Outlook); err != nil {
		return r, fmt.Errorf("outlook: %w", err)
	}
	if r.Day != r.Garage.Today(r.Now) {
		r.None, r.Outlook = true, Outlook{} // yesterday's says nothing of today
	}
	return r, nil
}

// Currency is what amounts are written in.
func (r Read) Currency() money.Currency { return r.Garage.Money() }
