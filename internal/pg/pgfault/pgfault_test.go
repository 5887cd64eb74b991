package pgfault_test

import (
	"testing"

	"rampside/internal/pg/pgfault"
	"rampside/internal/pg/pgtest"
)

func TestBeforeLosesTheMessageAndAfterOnlyItsAnswer(t *testing.T) {
	pool, fault := pgfault.Open(t, pgtest.URL(t))
	exec := func(sql string) error { _, err := pool.Exec(t.Context(), sql); return err }
	if err := exec(`create table note (n int)`); err != nil {
		t.Fatal(err)
	}
	for when, want := range map[pgfault.When]int{pgfault.Before: 0, pgfault.After: 1} {
		if err := exec(`delete from note`); err != nil {
			t.Fatal(err)
		}
		fault.Arm(1, when)
		if err := exec(`insert into note values (1)`); err == nil { // without parameters: one message
			t.Errorf("%d: no error", when)
		}
		if !fault.Disarm() {
			t.Errorf("%d: the line did not break", when)
		}
		var n int
		if err := pool.QueryRow(t.Context(), `select count(*) from note`).Scan(&n); err != nil || n != want {
			t.Errorf("%d: %d rows, %v; want %d", when, n, err, want)
		}
	}
	fault.Arm(1000, pgfault.Before)
	if err := exec(`select 1`); err != nil || fault.Disarm() {
		t.Errorf("a line not yet due broke: %v", err)
	}
}
