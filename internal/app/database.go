package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/config"
	"rampside/internal/pg"
	"rampside/internal/pg/pgserver"
)

// privateName is the database in the private cluster.
const privateName = "rampside"

// database is the PostgreSQL in use, and the private server when it is ours.
type database struct {
	url     string
	private *pgserver.Server
}

// clusterDir is where the private cluster lives.
func clusterDir(cfg config.Config) string { return filepath.Join(cfg.Data, "postgres") }

// openDatabase starts the private PostgreSQL, or waits a little for the one
// that is named: in a container it may start at the same time as we do.
func openDatabase(ctx context.Context, cfg config.Config, log *slog.Logger) (*database, error) {
	if !cfg.Private() {
		return &database{url: cfg.DatabaseURL}, awaitDatabase(ctx, cfg.DatabaseURL, log)
	}
	if err := pgserver.MakeFolder(cfg.Data); err != nil {
		return nil, err
	}
	s, err := pgserver.Start(ctx, pgserver.Options{Dir: clusterDir(cfg), Database: privateName, Logger: log.With("from", "postgres")})
	if err != nil {
		return nil, fmt.Errorf("private database: %w", err)
	}
	return &database{url: s.URL(privateName), private: s}, nil
}

// joinDatabase opens the database for a command, which may run beside a server:
// then the private PostgreSQL is that server's, and only connected to.
func joinDatabase(ctx context.Context, cfg config.Config, log *slog.Logger) (*database, error) {
	if !cfg.Private() || !pgserver.InUse(clusterDir(cfg)) {
		return openDatabase(ctx, cfg, log)
	}
	st, err := pgserver.Look(clusterDir(cfg))
	if err != nil {
		return nil, fmt.Errorf("private database: %w", err)
	}
	d := &database{url: st.URL(privateName)}
	conn, err := connect(ctx, d.url)
	if err != nil {
		return nil, fmt.Errorf("the private database of the server that runs does not answer: %w", err)
	}
	return d, conn.Close(ctx)
}

func awaitDatabase(ctx context.Context, url string, log *slog.Logger) error {
	deadline := time.Now().Add(20 * time.Second)
	for told := false; ; told = true {
		conn, err := connect(ctx, url)
		if err == nil {
			return conn.Close(ctx)
		}
		var refused *pgconn.PgError
		// 57P03 is "starting up"; any other answer will not change by waiting.
		if time.Now().After(deadline) || (errors.As(err, &refused) && refused.Code != "57P03") {
			return fmt.Errorf("the database that DATABASE_URL names does not answer: %w", err)
		}
		if !told {
			log.Info("waiting for the database", "error", err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(250 * time.Millisecond):
		}
	}
}

func connect(ctx context.Context, url string) (*pgx.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	return pgx.Connect(ctx, url)
}

// ready checks the version, migrates and opens the pool.
func (d *database) ready(ctx context.Context, log *slog.Logger) (*pgxpool.Pool, error) {
	if err := d.migrate(ctx, log); err != nil {
		return nil, err
	}
	return pg.Open(ctx, d.url)
}

func (d *database) migrate(ctx context.Context, log *slog.Logger) error {
	conn, err := connect(ctx, d.url)
	if err != nil {
		return fmt.Errorf("the database does not answer: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if err := checkVersion(ctx, conn); err != nil {
		return err
	}
	before, err := pg.SchemaVersion(ctx, conn)
	if err != nil {
		return err
	}
	if err := pg.Migrate(ctx, d.url); err != nil {
		return err
	}
	after, err := pg.SchemaVersion(ctx, conn)
	if err != nil {
		return err
	}
	log.Info("the schema is ready", "version", after, "was", before)
	return nil
}

func (d *database) close(ctx context.Context) error {
	if d.private == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	return d.private.Stop(ctx)
}

func checkVersion(ctx context.Context, q pg.Querier) error {
	var number int
	err := q.QueryRow(ctx, `SELECT current_setting('server_version_num')::int`).Scan(&number)
	if err != nil {
		return fmt.Errorf("asking PostgreSQL for its version: %w", err)
	}
	if major := number / 10_000; major < pgserver.MinMajor {
		return fmt.Errorf("PostgreSQL %d is too old; Rampside needs %d or newer", major, pgserver.MinMajor)
	}
	return nil
}

// unsafeSettings names in plain words each setting under which a saved change
// can be lost in a power cut. A killed process alone never shows it.
// https://www.postgresql.org/docs/15/wal-reliability.html
func unsafeSettings(ctx context.Context, q pg.Querier) ([]string, error) {
	var out []string
	for _, s := range []struct{ name, harm string }{
		{"fsync", "a power cut can damage the database beyond repair"},
		{"full_page_writes", "a power cut can damage the database beyond repair"},
		{"synchronous_commit", "a power cut can lose the last changes that were shown as saved"},
	} {
		var v string
		if err := q.QueryRow(ctx, `SELECT current_setting($1)`, s.name).Scan(&v); err != nil {
			return nil, fmt.Errorf("asking PostgreSQL for its settings: %w", err)
		}
		if v == "off" {
			out = append(out, fmt.Sprintf("%s is off in PostgreSQL: %s. Turn it on.", s.name, s.harm))
		}
	}
	return out, nil
}
