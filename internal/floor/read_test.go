package floor_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/change"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/floor"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

func TestTheFloorIsReadAsItStands(t *testing.T) {
	s := clocktest.Open(t)
	svc := floor.New(s.DB)
	brakes := s.Line("Front pads")
	brakes.Cautions, brakes.WheelsOff = []caution.Key{caution.Brakes}, true
	card, ls := s.Book(t, jobcard.Booking{
		Here: true, Lines: []jobcard.NewLine{s.Line("Clutch"), brakes, s.Line("Wipers"), s.Line("Bulb"), s.Line("Struck"), s.Line("Put off")},
		Facts: []vehicle.FactInput{{Key: "fuel", Value: "electric", Source: vehicle.FromCar}},
		Visit: jobcard.Visit{PromisedAt: clocktest.At(clocktest.Today, "16:30")},
	}, true)
	s.Book(t, jobcard.Booking{Lines: []jobcard.NewLine{s.Line("Not here yet")}}, true)
	part := s.Part(t, card, ls[2], "Wiper arms", jobcard.Ordered)
	s.Agree(t, card)
	_, err := s.Cards.SetOrder(t.Context(), s.Desk, jobcard.OrderInput{LineID: ls[3], After: ls[2]})
	clocktest.Ok(t, err)
	_, err = s.Cards.StrikeLine(t.Context(), s.Desk, jobcard.StrikeInput{LineID: ls[4], Version: s.LineOf(t, card, ls[4]).Version, Reason: "twice"})
	clocktest.Ok(t, err)
	_, err = s.Clock.Defer(t.Context(), s.Posy, clocking.DeferInput{LineID: ls[5], Reason: "no time", DecidedBy: "Ottoline Reave"})
	clocktest.Ok(t, err)

	read := []caution.Key{caution.HighVoltage}
	_, err = s.Clock.ClockOn(t.Context(), s.Posy, clocking.OnInput{LineID: ls[0], Read: read})
	clocktest.Ok(t, err)
	s.Pass(30 * time.Minute)
	_, err = s.Clock.ClockOn(t.Context(), s.Bram, clocking.OnInput{LineID: ls[0], Read: read})
	clocktest.Ok(t, err)
	s.Pass(30 * time.Minute)

	p, err := svc.Plan(t.Context(), s.Posy)
	if err != nil || p.Mine == nil || p.Mine.ID != ls[0] || !p.In || len(p.Lines) != 5 {
		t.Fatalf("%+v, %v", p, err)
	}
	if m := p.Mine; m.Worked() != 90*time.Minute || m.Spent() != "1.5 h of 1.0 h" || len(m.On()) != 2 || m.Car.Name != "Corvane Alder" {
		t.Errorf("%v %v %v %+v", m.Worked(), m.Spent(), m.On(), m.Car)
	}
	if got := ids(p.Next); !slices.Equal(got, []jobcard.LineID{ls[1], ls[2], ls[3]}) {
		t.Errorf("next are %v of %v", got, ls)
	}
	if got := p.Next[0].Unread; !slices.Equal(got, []caution.Key{caution.Brakes, caution.HighVoltage}) {
		t.Errorf("to read: %v", got)
	}
	if got := p.Next[1].Hindrances; !slices.Equal(got, []string{"Wiper arms is ordered, due 14:30"}) || p.Next[1].Parts[0].ID != part {
		t.Errorf("%v", got)
	}
	if got := p.Next[2]; !got.OutOfTurn || got.Hindrances[0] != "comes after “Wipers”" {
		t.Errorf("%+v", got)
	}
	if len(p.Deferred) != 1 || p.Deferred[0].StateReason != "no time" || p.Deferred[0].DecidedBy != "Ottoline Reave" {
		t.Errorf("%+v", p.Deferred)
	}

	// Blocked until somebody goes on.
	_, err = s.Clock.Snag(t.Context(), s.Posy, jobcard.SnagInput{LineID: ls[0], Kind: jobcard.Blocked, Note: "ramp 2 is taken"})
	clocktest.Ok(t, err)
	s.Pass(time.Minute)
	p, err = svc.Plan(t.Context(), s.Posy)
	if err != nil || p.Mine != nil || len(p.Next) != 4 || !slices.ContainsFunc(p.Next, func(it floor.Item) bool {
		return it.ID == ls[0] && slices.Equal(it.Hindrances, []string{"blocked: ramp 2 is taken"})
	}) {
		t.Errorf("%+v, %v", p.Next, err)
	}
	s.On(t, s.Posy, ls[0])
	s.Pass(time.Minute)
	p, err = svc.Plan(t.Context(), s.Bram)
	if err != nil || len(p.InHand) != 1 || len(p.InHand[0].Hindrances) != 0 || !strings.HasPrefix(p.Who(p.InHand[0].Line)[0], "Posy Thackeray since 09:01") {
		t.Errorf("%+v, %v", p.InHand, err)
	}

	// A wheel was off: somebody else has to check it.
	_, err = s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[1]})
	clocktest.Ok(t, err)
	if p, err = svc.Plan(t.Context(), s.Posy); err != nil || len(p.ToCheck) != 1 || !p.ToCheck[0].OwnWork {
		t.Errorf("%+v, %v", p.ToCheck, err)
	}
	_, err = s.Cards.SecondCheck(t.Context(), s.Bram, jobcard.CheckInput{LineID: ls[1], TorqueNm: 120})
	clocktest.Ok(t, err)
	if p, err = svc.Plan(t.Context(), s.Bram); err != nil || len(p.ToCheck) != 0 {
		t.Errorf("%+v, %v", p.ToCheck, err)
	}
	_, err = svc.Plan(t.Context(), actor.Actor{})
	if !apperr.Is(err, apperr.Unsigned) {
		t.Error(err)
	}
}

// trips counts how often the database is asked.
type trips struct{ n int }

func (c *trips) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	c.n++
	return ctx
}
func (*trips) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}
func (c *trips) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	c.n++
	return ctx
}
func (*trips) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}
func (*trips) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData)     {}

func TestTheFloorIsReadInOneRoundTrip(t *testing.T) {
	s := clocktest.Open(t)
	s.Car(t, s.Line("Clutch"))
	cfg := s.DB.Pool.Config()
	var c trips
	cfg.ConnConfig.Tracer = &c
	pool, err := pgxpool.NewWithConfig(t.Context(), cfg)
	clocktest.Ok(t, err)
	t.Cleanup(pool.Close)
	if _, err := floor.New(&change.DB{Pool: pool, Now: s.Now}).Plan(t.Context(), s.Posy); err != nil || c.n != 1 {
		t.Errorf("%d round trips, %v", c.n, err)
	}
}
