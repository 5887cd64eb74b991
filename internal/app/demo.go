package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/config"
	"rampside/internal/demo"
	"rampside/internal/pg"
)

// Demo makes the demo garage in an empty database. A garage that is there is
// left as it is, be it the demo or somebody's own; a demo whose making was
// interrupted is made anew.
func Demo(ctx context.Context, env config.Env, seed uint64, out, errOut io.Writer) (err error) {
	cfg, err := config.Load(env)
	if err != nil {
		return err
	}
	log := newLogger(errOut, cfg.LogLevel)
	d, err := openDatabase(ctx, cfg, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(context.WithoutCancel(ctx))) }()
	if err := d.migrate(ctx, log); err != nil {
		return err
	}
	pool, err := hurried(ctx, d.url)
	if err != nil {
		return err
	}
	defer pool.Close()
	state, err := demo.StateOf(ctx, pool)
	if err != nil {
		return err
	}
	if state == demo.Begun {
		fmt.Fprintln(out, "The demo was not finished last time; making it anew.")
		if err := wipe(ctx, pool, d.url); err != nil {
			return err
		}
		state = demo.Empty
	}
	switch state {
	case demo.Real:
		fmt.Fprintln(out, "There is a garage in this database already; it is left as it is. The demo wants an empty one: set RAMPSIDE_DATA to another folder.")
		return nil
	case demo.Empty:
		fmt.Fprintln(out, "Making the demo garage, with ten months behind it. This takes a minute or so, once.")
		err := demo.Make(ctx, pool, demo.Options{Seed: seed, Now: time.Now(), Months: demo.Months, Say: func(s string) { fmt.Fprintln(out, "  "+s) }})
		if err != nil {
			return err
		}
	}
	printSignIns(out)
	return nil
}

func printSignIns(out io.Writer) {
	fmt.Fprintf(out, "Sign-ins of the demo, all with the password %s (and the PIN %s on an enrolled tablet):\n", demo.Password, demo.PIN)
	for _, s := range demo.SignIns {
		fmt.Fprintf(out, "  %-6s %s, %s\n", s.SignIn, s.Name, s.What)
	}
}

// hurried opens a pool that does not wait for the disk at each commit. The
// demo is made from nothing and can be made again; its last commit, like all
// of PostgreSQL's, takes the earlier ones to the disk in order.
func hurried(ctx context.Context, url string) (*pgxpool.Pool, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	cfg.ConnConfig.RuntimeParams["synchronous_commit"] = "off"
	cfg.ConnConfig.RuntimeParams["timezone"] = "UTC"
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	return pool, nil
}

// wipe empties a database that holds an unfinished demo and nothing else.
func wipe(ctx context.Context, pool *pgxpool.Pool, url string) error {
	err := pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `drop schema public cascade; create schema public`)
		return err
	})
	if err != nil {
		return fmt.Errorf("clear the unfinished demo away: %w", err)
	}
	pool.Reset()
	return pg.Migrate(ctx, url)
}
