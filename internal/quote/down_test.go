package quote_test

import (
	"testing"

	"rampside/internal/quote"
	"rampside/migrations"
)

// The way down is walked from here, with a quote that was sent and answered,
// and up again: what hangs on the quotes goes first, and comes back after.
func TestTheTablesOfQuotesAreTakenAwayWholeAndComeBack(t *testing.T) {
	r := open(t)
	v := r.make(r.card().ID)
	_, err := r.quotes.Send(t.Context(), r.Desk, quote.SendInput{VersionID: v.ID, Way: quote.ByMail, ToName: "Odette Marlowe", Address: "odette@example.org"})
	r.OK(err)
	_, err = r.answer(v, yes(v, 0))
	r.OK(err)
	count := func(sql string) (n int) {
		r.OK(r.DB.Pool.QueryRow(t.Context(), sql).Scan(&n))
		return n
	}
	const (
		quotes = `select count(*) from pg_class where relkind = 'r' and (relname = 'quote' or relname like 'quote\_%')`
		works  = `select count(*) from pg_proc where proname in ('quote_version_adds_up', 'quote_part_of_new')`
		added  = `select count(*) from information_schema.columns where (table_name, column_name) in (('quote_version', 'whole'), ('letter', 'first_try'))`
		tied   = `select count(*) from pg_constraint where conname = 'consent_version_fk'`
	)
	run := func(file string) {
		t.Helper()
		sql, err := migrations.FS.ReadFile(file)
		r.OK(err)
		if _, err = r.DB.Pool.Exec(t.Context(), string(sql)); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
	}
	check := func(after string, tables, functions, columns, ties int) {
		t.Helper()
		if a, b, c, d := count(quotes), count(works), count(added), count(tied); a != tables || b != functions || c != columns || d != ties {
			t.Errorf("after %s: %d tables, %d functions, %d columns, %d ties; want %d, %d, %d, %d", after, a, b, c, d, tables, functions, columns, ties)
		}
	}
	check("all", 12, 2, 2, 1)
	run("0015_chosen.down.sql")
	check("0015 down", 12, 2, 0, 1)
	run("0009_quotes.down.sql")
	check("0009 down", 0, 0, 0, 0)
	if n := count(`select count(*) from consent`); n == 0 {
		t.Error("what was agreed went with the quotes")
	}
	run("0009_quotes.up.sql")
	run("0015_chosen.up.sql")
	check("all again", 12, 2, 2, 1)
}
