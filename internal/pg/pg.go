// Package pg opens the database, moves its schema, and turns what PostgreSQL
// refuses into errors that a person can read.
package pg

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/apperr"
)

// Querier is what a read needs: a pool, a connection or a transaction.
type Querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
	SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults
}

// Open makes a pool on url and waits until the database answers, or ctx ends.
// Times are read in UTC whatever the server's zone is.
func Open(ctx context.Context, url string) (*pgxpool.Pool, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("the database address cannot be read: %w", err)
	}
	if !strings.Contains(url, "pool_max_conns") {
		cfg.MaxConns = 12
	}
	cfg.MinConns = 2
	cfg.MaxConnIdleTime = 5 * time.Minute
	cfg.HealthCheckPeriod = 15 * time.Second
	cfg.ConnConfig.ConnectTimeout = 5 * time.Second
	params := cfg.ConnConfig.RuntimeParams
	params["timezone"] = "UTC"
	params["application_name"] = "rampside"
	// A lost client must not hold a card's lock for ever, and no page may
	// wait for ever behind one.
	params["idle_in_transaction_session_timeout"] = "30s"
	params["lock_timeout"] = "8s"
	params["statement_timeout"] = "30s"
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, fmt.Errorf("the database does not answer: %w", err)
	}
	return pool, nil
}

// Constraint gives the name of the constraint that err broke, or "".
func Constraint(err error) string {
	var pe *pgconn.PgError
	if errors.As(err, &pe) {
		return pe.ConstraintName
	}
	return ""
}

// Code gives the SQLSTATE of err, or "".
func Code(err error) string {
	var pe *pgconn.PgError
	if errors.As(err, &pe) {
		return pe.Code
	}
	return ""
}

// Again tells whether the same transaction, run again, may well succeed:
// serialization failures (40001) and deadlocks (40P01) only.
func Again(err error) bool {
	c := Code(err)
	return c == "40001" || c == "40P01"
}

// Explain turns a broken constraint into the error that rules names for it,
// and no rows into a NotFound of thing. Other errors pass through wrapped.
func Explain(err error, thing string, rules map[string]*apperr.Error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return apperr.NoSuch(thing)
	}
	if e, ok := rules[Constraint(err)]; ok {
		c := *e
		c.Cause = err
		return &c
	}
	return fmt.Errorf("%s: %w", thing, err)
}

// One reads exactly one row into a struct by column name.
func One[T any](ctx context.Context, q Querier, thing, sql string, args ...any) (T, error) {
	rows, err := q.Query(ctx, sql, args...)
	if err != nil {
		var zero T
		return zero, fmt.Errorf("%s: %w", thing, err)
	}
	v, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[T])
	return v, Explain(err, thing, nil)
}

// All reads rows into structs by column name. The SQL bounds the list.
func All[T any](ctx context.Context, q Querier, thing, sql string, args ...any) ([]T, error) {
	rows, err := q.Query(ctx, sql, args...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", thing, err)
	}
	v, err := pgx.CollectRows(rows, pgx.RowToStructByName[T])
	if err != nil {
		return nil, fmt.Errorf("%s: %w", thing, err)
	}
	return v, nil
}
