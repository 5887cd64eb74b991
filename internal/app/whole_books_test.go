package app_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// asides are tables that reading or a wrong try may touch: when somebody was
// last seen, and wrong tries at signing in; and what the outlook works out by
// itself beside the requests.
var asides = []string{"session", "device", "sign_in_failure", "schema_migrations", "api_token", "outlook", "outlook_model", "forecast_made"}

// books is the sum of every table's rows: equal when nothing was changed.
func (w *world) books() map[string]string {
	w.t.Helper()
	var parts []string
	for _, table := range w.tables() {
		parts = append(parts, fmt.Sprintf(`select '%[1]s', count(*) || ' ' || coalesce(md5(string_agg(t::text, '|' order by t::text)), '') from %[1]s t`, table))
	}
	return w.sums(strings.Join(parts, " union all "))
}

// counts is how many rows every table has.
func (w *world) counts() map[string]string {
	w.t.Helper()
	var parts []string
	for _, table := range w.tables() {
		parts = append(parts, fmt.Sprintf(`select '%[1]s', count(*)::text from %[1]s`, table))
	}
	return w.sums(strings.Join(parts, " union all "))
}

// count is how many rows of a table the books tell of.
func (w *world) count(books map[string]string, table string) (n int) {
	w.t.Helper()
	_, err := fmt.Sscan(books[table], &n)
	w.OK(err)
	return n
}

// xid is the number that the next transaction that writes will have, in any
// database of the server: while it stands, nothing was written.
func (w *world) xid() (id string) {
	w.t.Helper()
	w.OK(w.App.Pool().QueryRow(w.t.Context(), `select pg_snapshot_xmax(pg_current_snapshot())::text`).Scan(&id))
	return id
}

func (w *world) sums(sql string) map[string]string {
	w.t.Helper()
	rows, err := w.App.Pool().Query(w.t.Context(), sql)
	w.OK(err)
	defer rows.Close()
	out := map[string]string{}
	for rows.Next() {
		var table, sum string
		w.OK(rows.Scan(&table, &sum))
		out[table] = sum
	}
	w.OK(rows.Err())
	return out
}

func (w *world) tables() []string {
	w.t.Helper()
	if w.names == nil {
		rows, err := w.App.Pool().Query(w.t.Context(), `
			select table_name::text from information_schema.tables where table_schema = 'public' and table_type = 'BASE TABLE'`)
		w.OK(err)
		defer rows.Close()
		for rows.Next() {
			var name string
			w.OK(rows.Scan(&name))
			if !slices.Contains(asides, name) {
				w.names = append(w.names, name)
			}
		}
		w.OK(rows.Err())
		if len(w.names) < 25 {
			w.t.Fatalf("only %d tables: %v", len(w.names), w.names)
		}
	}
	return w.names
}

// changed names the tables that are not what they were.
func changed(before, after map[string]string) []string {
	var out []string
	for _, table := range slices.Sorted(maps.Keys(after)) {
		if before[table] != after[table] {
			out = append(out, table)
		}
	}
	return out
}
