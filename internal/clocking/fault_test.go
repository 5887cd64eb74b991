package clocking_test

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
)

// breaker makes the k-th call to the database fail, as if the line broke.
type breaker struct{ left atomic.Int64 }

func (b *breaker) pass(ctx context.Context) context.Context {
	if b.left.Add(-1) != 0 {
		return ctx
	}
	broken, cancel := context.WithCancel(ctx)
	cancel()
	return broken
}

func (b *breaker) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	return b.pass(ctx)
}
func (*breaker) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}
func (b *breaker) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	return b.pass(ctx)
}
func (*breaker) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}
func (*breaker) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData)     {}

// fingerprint is everything that these changes may write.
func fingerprint(t *testing.T, s *clocktest.Shop) string {
	t.Helper()
	var all strings.Builder
	for _, table := range []string{
		"card", "line", "part", "snag", "finding", "clocking", "clocking_correction", "caution_read", "attendance", "event", "write_key",
	} {
		var sum string
		clocktest.Ok(t, s.DB.Pool.QueryRow(t.Context(),
			`select coalesce(md5(string_agg(x::text, '|' order by x::text)), '') from `+table+` x`).Scan(&sum))
		all.WriteString(table + " " + sum + "\n")
	}
	return all.String()
}

func TestWhateverCallFailsNothingIsHalfWritten(t *testing.T) {
	for name, act := range map[string]func(context.Context, *clocking.Service, *clocktest.Shop, []jobcard.LineID) error{
		"clock on": func(ctx context.Context, c *clocking.Service, s *clocktest.Shop, ls []jobcard.LineID) error {
			_, err := c.ClockOn(ctx, s.Posy.WithKey("k"), clocking.OnInput{LineID: ls[1], Read: []caution.Key{caution.Brakes}})
			return err
		},
		"tick": func(ctx context.Context, c *clocking.Service, s *clocktest.Shop, ls []jobcard.LineID) error {
			_, err := c.Tick(ctx, s.Bram.WithKey("k"), clocking.LineInput{LineID: ls[0]})
			return err
		},
		"snag": func(ctx context.Context, c *clocking.Service, s *clocktest.Shop, ls []jobcard.LineID) error {
			_, err := c.Snag(ctx, s.Posy.WithKey("k"), jobcard.SnagInput{LineID: ls[0], Kind: jobcard.JobGrown, Defer: true,
				Found: &jobcard.Found{Title: "Seized bolts", Estimate: hours.One(time.Hour), Severity: jobcard.Minor}})
			return err
		},
		"go home": func(ctx context.Context, c *clocking.Service, s *clocktest.Shop, _ []jobcard.LineID) error {
			_, err := c.GoHome(ctx, s.Posy.WithKey("k"), clocking.OffInput{})
			return err
		},
		"correct": func(ctx context.Context, c *clocking.Service, s *clocktest.Shop, _ []jobcard.LineID) error {
			k, _, err := c.Current(ctx, s.Posy)
			if err != nil {
				return err
			}
			_, err = c.Correct(ctx, s.Posy.WithKey("k"), clocking.CorrectInput{
				ClockingID: k.ID, Version: k.Version, From: k.From.Add(time.Minute), To: k.From.Add(time.Hour), Reason: "forgot",
			})
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := clocktest.Open(t)
			brakes := s.Line("Front pads")
			brakes.Cautions = []caution.Key{caution.Brakes}
			_, ls := s.Car(t, s.Line("Clutch"), brakes)
			s.On(t, s.Posy, ls[0])
			s.Pass(2 * time.Hour)
			var b breaker
			cfg := s.DB.Pool.Config()
			cfg.ConnConfig.Tracer = &b
			pool, err := pgxpool.NewWithConfig(t.Context(), cfg)
			clocktest.Ok(t, err)
			t.Cleanup(pool.Close)
			broken := clocking.New(&change.DB{Pool: pool, Now: s.Now})

			before := fingerprint(t, s)
			calls := int64(1)
			for ; calls < 100; calls++ {
				b.left.Store(calls)
				err := act(t.Context(), broken, s, ls)
				if err == nil && b.left.Load() > 0 {
					break // it took fewer calls than that
				}
				if err == nil {
					t.Fatalf("call %d failed and nobody noticed", calls)
				}
				if after := fingerprint(t, s); after != before {
					t.Fatalf("call %d failed and left\n%swhere there was\n%s", calls, after, before)
				}
			}
			if calls < 5 || calls == 100 {
				t.Errorf("it took %d calls", calls)
			}
			if fingerprint(t, s) == before {
				t.Error("in the end it changed nothing")
			}
		})
	}
}

func TestARefusedWriteKeepsNoKey(t *testing.T) {
	s := clocktest.Open(t)
	brakes := s.Line("Front pads")
	brakes.Cautions = []caution.Key{caution.Brakes}
	_, ls := s.Car(t, brakes)
	who := s.Posy.WithKey("first-tap")
	if _, err := s.Clock.ClockOn(t.Context(), who, clocking.OnInput{LineID: ls[0]}); err == nil {
		t.Fatal("the cautions were not asked for")
	}
	if _, err := s.Clock.ClockOn(t.Context(), who, clocking.OnInput{LineID: ls[0], Read: []caution.Key{caution.Brakes}}); err != nil {
		t.Error(err)
	}
}
