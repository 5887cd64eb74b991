package pg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"github.com/golang-migrate/migrate/v4"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"rampside/migrations"
)

// migrationLock is the advisory lock that one starting server holds while it
// moves the schema; the others wait. The number has no meaning.
const migrationLock = 7_263_517_001

// ErrNewerSchema means that a newer rampside has used this database.
var ErrNewerSchema = errors.New("this database was made by a newer rampside: start that one, or restore a backup from before the upgrade")

// Latest is the schema version that this program works with.
func Latest() (uint, error) {
	names, err := fs.Glob(migrations.FS, "*.up.sql")
	if err != nil {
		return 0, err
	}
	var latest uint64
	for _, n := range names {
		v, err := strconv.ParseUint(n[:strings.IndexByte(n, '_')], 10, 32)
		if err != nil {
			return 0, fmt.Errorf("migration %s has no number: %w", n, err)
		}
		latest = max(latest, v)
	}
	return uint(latest), nil
}

// SchemaVersion reads the version that the database is at; 0 when it is empty.
func SchemaVersion(ctx context.Context, q Querier) (uint, error) {
	var v int64
	err := q.QueryRow(ctx, `select version from schema_migrations limit 1`).Scan(&v)
	switch {
	case err == nil:
		return uint(v), nil
	case errors.Is(err, pgx.ErrNoRows), Code(err) == "42P01":
		return 0, nil
	}
	return 0, fmt.Errorf("read the schema version: %w", err)
}

// Migrate brings the database at url up to Latest. Any number of servers may
// call it at once: one works, the others wait for it. It refuses a database
// from a newer program, and never forces past a failed migration.
func Migrate(ctx context.Context, url string) error {
	cc, err := pgx.ParseConfig(url)
	if err != nil {
		return fmt.Errorf("the database address cannot be read: %w", err)
	}
	conn, err := pgx.ConnectConfig(ctx, cc)
	if err != nil {
		return fmt.Errorf("the database does not answer: %w", err)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	if _, err := conn.Exec(ctx, `select pg_advisory_lock($1)`, int64(migrationLock)); err != nil {
		return fmt.Errorf("wait for another server's migration: %w", err)
	}
	latest, err := Latest()
	if err != nil {
		return err
	}
	at, err := SchemaVersion(ctx, conn)
	if err != nil {
		return err
	}
	if at > latest {
		return fmt.Errorf("%w (it is at %d, this program knows %d)", ErrNewerSchema, at, latest)
	}
	if at == latest {
		return nil
	}
	return up(cc)
}

func up(cc *pgx.ConnConfig) error {
	db := stdlib.OpenDB(*cc)
	defer func() { _ = db.Close() }()
	driver, err := migratepgx.WithInstance(db, &migratepgx.Config{})
	if err != nil {
		return fmt.Errorf("prepare to migrate: %w", err)
	}
	src, err := iofs.New(migrations.FS, ".")
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	m, err := migrate.NewWithInstance("iofs", src, "pgx5", driver)
	if err != nil {
		return fmt.Errorf("prepare to migrate: %w", err)
	}
	defer func() { _, _ = m.Close() }()
	if err := m.Up(); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return fmt.Errorf("migrate: %w", err)
	}
	return nil
}
