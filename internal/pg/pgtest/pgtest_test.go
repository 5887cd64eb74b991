package pgtest

import (
	"context"
	"testing"
	"testing/fstest"

	"github.com/jackc/pgx/v5"

	"rampside/internal/pg"
)

func TestEachTestGetsItsOwnMigratedDatabase(t *testing.T) {
	a, b := New(t), New(t)
	if _, err := a.Exec(t.Context(), "CREATE TABLE only_here (n int)"); err != nil {
		t.Fatal(err)
	}
	var there bool
	err := b.QueryRow(t.Context(), "SELECT to_regclass('only_here') IS NOT NULL").Scan(&there)
	if err != nil || there {
		t.Errorf("the other database sees the table: %v, %v", there, err)
	}
	want, err := pg.Latest()
	if err != nil {
		t.Fatal(err)
	}
	if got, err := pg.SchemaVersion(t.Context(), b); err != nil || got != want {
		t.Errorf("schema version %d, %v; want %d", got, err, want)
	}
}

func TestAnEmptyDatabaseHasNoTables(t *testing.T) {
	conn, err := pgx.Connect(t.Context(), Empty(t))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	var n int
	err = conn.QueryRow(t.Context(), "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").Scan(&n)
	if err != nil || n != 0 {
		t.Errorf("%d tables, %v", n, err)
	}
}

func TestDatabasesAreDroppedWhenTheTestEnds(t *testing.T) {
	var url string
	t.Run("inner", func(t *testing.T) {
		url = URL(t)
		// Left open on purpose: a forgotten session must not keep it.
		if _, err := pgx.Connect(context.Background(), url); err != nil {
			t.Fatal(err)
		}
	})
	if conn, err := pgx.Connect(t.Context(), url); err == nil {
		conn.Close(t.Context())
		t.Error("the database is still there")
	}
}

func TestDatabasesMadeAtTheSameTimeDoNotClash(t *testing.T) {
	for range 8 {
		t.Run("clone", func(t *testing.T) {
			t.Parallel()
			if _, err := New(t).Exec(t.Context(), "SELECT 1"); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestTheTemplateFollowsNamesAndBytesOfTheMigrations(t *testing.T) {
	sum := func(files fstest.MapFS) string {
		s, err := fingerprint(files)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	one := sum(fstest.MapFS{"1_a.up.sql": {Data: []byte("SELECT 1")}})
	for what, other := range map[string]fstest.MapFS{
		"other bytes": {"1_a.up.sql": {Data: []byte("SELECT 2")}},
		"other name":  {"1_b.up.sql": {Data: []byte("SELECT 1")}},
		"one more":    {"1_a.up.sql": {Data: []byte("SELECT 1")}, "2_a.up.sql": {}},
	} {
		if sum(other) == one {
			t.Errorf("%s: same fingerprint", what)
		}
	}
	if sum(fstest.MapFS{"1_a.up.sql": {Data: []byte("SELECT 1")}}) != one {
		t.Error("the same files give another fingerprint")
	}
}
