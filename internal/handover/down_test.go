package handover_test

import (
	"testing"

	"rampside/internal/jobcard/cardtest"
	"rampside/migrations"
)

// The way down is walked from here, with a handover there, and up again.
func TestTheTablesOfTheHandoverAreTakenAwayWholeAndComeBack(t *testing.T) {
	r := open(t)
	c := r.Book(cardtest.Op(r.Service))
	r.Agree(c.ID)
	r.tick(c.Lines[0].ID)
	_, err := r.hands.Make(t.Context(), r.Desk, r.input(c.ID))
	r.OK(err)
	count := func() (n int) {
		r.OK(r.DB.Pool.QueryRow(t.Context(), `select (select count(*) from pg_class where relname in ('handover', 'handover_item', 'acknowledgement', 'due_interval'))
			+ (select count(*) from pg_proc where proname like 'handover\_%')`).Scan(&n))
		return n
	}
	before := count()
	for _, step := range []struct {
		file string
		want int
	}{{"0012_handover.down.sql", 0}, {"0012_handover.up.sql", before}} {
		sql, err := migrations.FS.ReadFile(step.file)
		r.OK(err)
		_, err = r.DB.Pool.Exec(t.Context(), string(sql))
		r.OK(err)
		if n := count(); n != step.want {
			t.Errorf("after %s there are %d of %d", step.file, n, step.want)
		}
	}
	if before != 6 {
		t.Errorf("%d tables and functions, want 4 and 2", before)
	}
}
