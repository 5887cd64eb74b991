// Package pgtest gives each test its own database on a real PostgreSQL.
//
//	pool := pgtest.New(t)   // migrated, empty of rows, dropped after the test
//	url := pgtest.URL(t)    // the same, for tests that open their own pools
//	url := pgtest.Empty(t)  // no schema at all
//
// The server is, in this order: the one that TEST_DATABASE_URL names (a
// postgres:// address whose role may create databases); one run from this
// machine's own binaries, shared by all test processes and stopped a few
// seconds after the last of them ended (keeper.go); one in a container, when
// there are no binaries and Docker answers. Without any, the test fails and
// says what to install. Durability is off on the server we run: a test about
// crashes starts its own with pgserver.
//
// Databases are cloned from a template that carries the migrations, made once
// per state of the migration files, in 30 to 100 ms.
//
// A test inside package pg itself must be in package pg_test, since pgtest
// uses pg.
package pgtest

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/pg"
)

// New is a pool on a fresh database with the schema and no rows. It is closed
// and the database dropped when the test ends.
func New(t testing.TB) *pgxpool.Pool {
	t.Helper()
	pool, err := pg.Open(t.Context(), URL(t))
	if err != nil {
		t.Fatalf("opening the test database: %v", err)
	}
	t.Cleanup(pool.Close)
	return pool
}

// URL is the address of a fresh database with the schema and no rows, dropped
// when the test ends. Sessions still open then are cut off.
func URL(t testing.TB) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	server := serverURL(t)
	tpl, err := template(ctx, server)
	if err != nil {
		t.Fatalf("preparing the template database: %v", err)
	}
	// Copying files costs a third of copying through the log, without fsync.
	return create(ctx, t, server, " TEMPLATE "+tpl+" STRATEGY file_copy")
}

// Empty is the address of a fresh database without any schema.
func Empty(t testing.TB) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	return create(ctx, t, serverURL(t), " TEMPLATE template0")
}

func create(ctx context.Context, t testing.TB, server, from string) string {
	t.Helper()
	name := prefix + strings.ToLower(rand.Text()[:16])
	if err := admin(ctx, server, "CREATE DATABASE "+name+from); err != nil {
		t.Fatalf("making a test database: %v", err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		defer cancel()
		if err := admin(ctx, server, "DROP DATABASE IF EXISTS "+name+" WITH (FORCE)"); err != nil {
			t.Errorf("dropping the test database: %v", err)
		}
	})
	return withDatabase(server, name)
}

// prefix begins the name of every database that one test owns.
const prefix = "rampside_t_"

// admin runs one statement that no transaction may hold, on a connection of
// its own: a pool kept between tests would look like a leak to them.
func admin(ctx context.Context, server, sql string) error {
	conn, err := pgx.Connect(ctx, server)
	if err != nil {
		return fmt.Errorf("test server: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, sql); err != nil {
		return fmt.Errorf("%s: %w", sql, err)
	}
	return nil
}

func serverURL(t testing.TB) string {
	t.Helper()
	s, err := source()
	if err != nil {
		t.Fatalf("no PostgreSQL for the tests: %v", err)
	}
	return s
}

// withDatabase is the same server's address with another database. The
// address was parsed before, so it parses again.
func withDatabase(server, name string) string {
	u, err := url.Parse(server)
	if err != nil {
		panic(err)
	}
	u.Path = "/" + name
	return u.String()
}
