package pgtest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"sync"

	"github.com/jackc/pgx/v5"

	"rampside/internal/pg"
	"rampside/migrations"
)

// templateLock is held while the template is made, so that test processes
// which start together make it once. The number has no meaning.
const templateLock = 7_263_517_002

// template returns the name of a database that carries all migrations, making
// it when this server has none yet for these very files.
var template = func() func(context.Context, string) (string, error) {
	var mu sync.Mutex
	ready := map[string]string{}
	return func(ctx context.Context, server string) (string, error) {
		mu.Lock()
		defer mu.Unlock()
		if name, ok := ready[server]; ok {
			return name, nil
		}
		sum, err := fingerprint(migrations.FS)
		if err != nil {
			return "", err
		}
		name := "rampside_tpl_" + sum
		if err := ensureTemplate(ctx, server, name); err != nil {
			return "", err
		}
		ready[server] = name
		return name, nil
	}
}()

// fingerprint covers the names as well as the bytes: a renamed migration is
// another schema.
func fingerprint(files fs.FS) (string, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return "", err
	}
	h := sha256.New()
	for _, n := range names {
		b, err := fs.ReadFile(files, n)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%s %d\n", n, len(b))
		h.Write(b)
	}
	return hex.EncodeToString(h.Sum(nil)[:10]), nil
}

func ensureTemplate(ctx context.Context, server, name string) error {
	conn, err := pgx.Connect(ctx, server)
	if err != nil {
		return fmt.Errorf("test server: %w", err)
	}
	// Closing it gives the lock back.
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, `SELECT pg_advisory_lock($1)`, templateLock); err != nil {
		return fmt.Errorf("waiting for the template: %w", err)
	}
	var there bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, name).Scan(&there)
	if err != nil || there {
		return err
	}
	building := name + "_making"
	for _, sql := range []string{
		"DROP DATABASE IF EXISTS " + building + " WITH (FORCE)",
		"CREATE DATABASE " + building + " TEMPLATE template0",
	} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return fmt.Errorf("%s: %w", sql, err)
		}
	}
	if err := pg.Migrate(ctx, withDatabase(server, building)); err != nil {
		return err
	}
	// No connections: one that lingers would stop it from being cloned.
	for _, sql := range []string{
		"ALTER DATABASE " + building + " WITH ALLOW_CONNECTIONS false",
		"ALTER DATABASE " + building + " RENAME TO " + name,
	} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return fmt.Errorf("%s: %w", sql, err)
		}
	}
	return nil
}
