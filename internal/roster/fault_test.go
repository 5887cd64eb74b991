package roster_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/change"
	"rampside/internal/pg/pgfault"
	"rampside/internal/roster"
)

func TestTheLineBreakingAnywhereLeavesNobodyHalfIn(t *testing.T) {
	h := open(t)
	h.plan(t, roster.Week{StaffID: h.posy.StaffID, Days: everyDay(shift("08:30", "17:30", time.Hour))})
	h.now = at(monday, "12:00")
	on := func(p *pgxpool.Pool) *roster.Service { return roster.New(&change.DB{Pool: p, Now: h.db.Now}) }
	count := func(sums string) func() []int {
		return func() []int {
			out := make([]int, 4)
			h.ok(t, h.db.Pool.QueryRow(t.Context(), `select `+sums+`, (select count(*) from event), (select count(*) from write_key)`).
				Scan(&out[0], &out[1], &out[2], &out[3]))
			return out
		}
	}
	inAndOut := `(select count(*) from attendance), (select count(*) from attendance where not upper_inf(during))`
	var sent int
	var sentFrom int64
	arrived := func(int) { h.now = h.now.Add(time.Minute); h.arrive(t, h.bram, h.now); h.now = h.now.Add(time.Minute) }
	for _, c := range []struct {
		name string
		pgfault.Act
	}{
		{"arriving", pgfault.Act{
			Prepare: func(int) {
				if in, _ := roster.Open(t.Context(), h.db.Pool); len(in) > 0 {
					h.now = h.now.Add(time.Minute)
					h.leave(t, h.posy, h.now)
				}
			},
			Do: func(p *pgxpool.Pool, n int) error {
				_, err := on(p).Arrive(t.Context(), h.posy.WithKey(fmt.Sprint("arrive-", n)))
				return err
			},
			Count: count(inAndOut), Want: []int{1, 0, 1, 1},
		}},
		{"leaving", pgfault.Act{
			Prepare: arrived,
			Do: func(p *pgxpool.Pool, n int) error {
				_, err := on(p).Leave(t.Context(), h.bram.WithKey(fmt.Sprint("leave-", n)))
				return err
			},
			Count: count(inAndOut), Want: []int{0, 1, 1, 1},
		}},
		{"a correction", pgfault.Act{
			Do: func(p *pgxpool.Pool, n int) error {
				d := monday.AddDays(-n)
				_, err := on(p).Correct(t.Context(), h.owner.WithKey(fmt.Sprint("correct-", n)),
					roster.CorrectionInput{StaffID: h.bram.StaffID, From: at(d, "08:00"), To: at(d, "09:00"), Reason: "test"})
				return err
			},
			Count: count(inAndOut), Want: []int{1, 1, 1, 1},
		}},
		{"an absence of three days", pgfault.Act{
			Do: func(p *pgxpool.Pool, n int) error {
				d := monday.AddDays(10 * n)
				return on(p).AddAbsence(t.Context(), h.owner.WithKey(fmt.Sprint("away-", n)),
					roster.AbsenceInput{StaffID: h.bram.StaffID, From: d, To: d.AddDays(2)})
			},
			Count: count(`(select count(*) from absence), 0`), Want: []int{3, 0, 1, 1},
		}},
		{"the shifts of two", pgfault.Act{
			Do: func(p *pgxpool.Pool, n int) error {
				_, version, err := roster.Shifts(t.Context(), h.db.Pool)
				h.ok(t, err)
				if n == sent {
					version = sentFrom // the same request again
				}
				sent, sentFrom = n, version
				s := shift("06:00", "07:00", time.Duration(n)*time.Minute)
				return on(p).SaveShifts(t.Context(), h.owner.WithKey(fmt.Sprint("shifts-", n)), roster.ShiftsInput{Version: version, Weeks: []roster.Week{
					{StaffID: h.bram.StaffID, Days: everyDay(s)}, {StaffID: h.owner.StaffID, Days: everyDay(s)},
				}})
			},
			Count: count(`(select coalesce(sum(break_minutes), 0) from shift_pattern where starts = '06:00'), 0`), Want: []int{14, 0, 2, 1},
		}},
	} {
		t.Run(c.name, func(t *testing.T) { pgfault.Every(t, h.db.Pool.Config().ConnString(), c.Act) })
	}
}
