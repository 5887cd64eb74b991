// Package demo makes Saltmarsh Lane Garage: an invented garage on an invented
// coast, with ten months behind it and one day in full swing. Everything is
// made through the same services as real use, at the times it would have
// happened, and the same seed makes the same garage.
package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/bill"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/outlook"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/internal/roster"
	"rampside/internal/stores"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// zone is where the garage stands.
const zone = "Europe/London"

// Months is how many months of finished cards usually lie behind the day.
const Months = 10

// Options say which demo to make. The same options, and the same program, make
// the same rows.
type Options struct {
	Seed uint64
	// Now is the present that the day is told up to.
	Now time.Time
	// Months of finished cards; 0 makes the day alone.
	Months int
	// Say is told how far it has come; nil tells nobody.
	Say func(string)
}

// State is what a database holds.
type State int

// The states of a database.
const (
	Empty    State = iota // no garage yet
	Begun                 // a demo whose making was interrupted
	Finished              // the demo
	Real                  // somebody's garage
)

// StateOf tells what a database holds.
func StateOf(ctx context.Context, pool *pgxpool.Pool) (State, error) {
	var any, begun, finished bool
	err := pool.QueryRow(ctx, `select exists (select from staff) or exists (select from garage),
		exists (select from event where kind = 'demo begun'), exists (select from event where kind = 'demo finished')`).
		Scan(&any, &begun, &finished)
	switch {
	case err != nil:
		return 0, fmt.Errorf("look for a garage: %w", err)
	case finished:
		return Finished, nil
	case begun:
		return Begun, nil
	case any:
		return Real, nil
	}
	return Empty, nil
}

// maker makes one demo.
type maker struct {
	db       *change.DB
	at       time.Time // what its clock shows
	now      time.Time // the present, in the garage's zone
	loc      *time.Location
	today    workday.Day
	first    workday.Day // of the past that is made
	rand     *rand.Rand
	say      func(string)
	accounts *account.Service
	settings *garage.Service
	roster   *roster.Service
	cards    *jobcard.Service
	clocks   *clocking.Service
	cars     *vehicle.Service
	stores   *stores.Service
	fits     *fitment.Service
	bills    *bill.Service
	quotes   *quote.Service
	hands    *handover.Service
	looks    *outlook.Service

	wren, ida, posy, bram actor.Actor

	ops       map[string]garage.OperationID
	suppliers []garage.SupplierID
	fleet     []car

	// luck is what becomes of bills, apart from rand so that neither moves the
	// other; owing is what happens to them later.
	luck  *rand.Rand
	owing []deed

	seed uint64
	room stockroom
}

// Make fills an empty database with the demo.
func Make(ctx context.Context, pool *pgxpool.Pool, o Options) error {
	state, err := StateOf(ctx, pool)
	if err != nil {
		return err
	}
	if state != Empty {
		return apperr.New(apperr.Conflict, "there is a garage in this database already: the demo needs an empty one")
	}
	loc, err := workday.Zone(zone)
	if err != nil {
		return err
	}
	m := &maker{now: o.Now.In(loc).Truncate(time.Minute), loc: loc, seed: o.Seed, rand: rand.New(rand.NewPCG(o.Seed, 0x5a17)), luck: rand.New(rand.NewPCG(o.Seed, 0xb111)), say: o.Say}
	if m.say == nil {
		m.say = func(string) {}
	}
	m.today = workday.Of(m.now, loc)
	m.first = m.today.AddDays(-30 * o.Months)
	m.at = m.now.AddDate(0, 0, -30*o.Months-7)
	m.db = &change.DB{Pool: pool, Now: func() time.Time { return m.at }, Follow: fitment.Follow}
	m.accounts = account.New(m.db, account.Options{})
	m.settings = garage.New(m.db)
	m.roster = roster.New(m.db)
	m.cards = jobcard.New(m.db)
	m.clocks = clocking.New(m.db)
	m.cars = vehicle.New(m.db)
	m.stores = stores.New(m.db)
	m.fits = fitment.New(m.db)
	m.bills = bill.New(m.db)
	// Nothing of the demo goes out by mail, and its addresses are bare.
	letters, public := post.New(m.db, ""), func(path string) string { return path }
	m.quotes = quote.New(m.db, public, letters)
	m.hands = handover.New(m.db, m.cards, public, letters)
	m.looks = outlook.New(m.db)
	m.looks.Brief = true
	for _, step := range []func(context.Context) error{m.begin, m.people, m.house, m.terms, m.papers, m.openStores, m.garageFleet, m.past, m.ahead, m.day, m.storesToday, m.finish} {
		if err := step(ctx); err != nil {
			return fmt.Errorf("make the demo: %w", err)
		}
	}
	return nil
}

func (m *maker) begin(ctx context.Context) error { return m.note(ctx, "demo begun") }

func (m *maker) finish(ctx context.Context) error {
	m.at = m.now
	return m.note(ctx, "demo finished")
}

func (m *maker) note(ctx context.Context, kind string) error {
	_, err := change.Do(ctx, m.db, actor.Command("demo"), kind, nil, func(_ context.Context, tx *change.Tx) (int, error) {
		tx.Record(kind, 0, "", nil)
		return 0, nil
	})
	return err
}
