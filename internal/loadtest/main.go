// Command loadtest measures the server on the demo garage: the card's page
// against a bare handler with the same SQL and template and against pgbench
// with the same SQL, in one run, as ratios; then pages, ticks and the live
// line at a steady rate. It starts a PostgreSQL of its own, with everything
// that keeps data safe turned on, and touches nothing else.
//
// These figures compare within one run. The machine, and what else it does,
// moves all of them together; nothing here passes or fails.
//
//	go run ./internal/loadtest            (after web/assets/build.sh)
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/demo"
	"rampside/internal/pg"
	"rampside/internal/pg/pgserver"
)

type options struct {
	seconds int
	rounds  int
	months  int
	steady  int // seconds of the steady part
}

func main() {
	var o options
	flag.IntVar(&o.seconds, "seconds", 4, "how long each measurement of the closed loop takes")
	flag.IntVar(&o.rounds, "rounds", 3, "how often each is taken; the median counts")
	flag.IntVar(&o.months, "months", 3, "months of cards behind the demo's day")
	flag.IntVar(&o.steady, "steady", 20, "seconds of the steady 100 requests a second")
	generate := flag.String("generate", "", "used by itself: a load to make, as JSON")
	flag.Parse()
	if *generate != "" {
		if err := generateLoad(*generate); err != nil {
			fmt.Fprintln(os.Stderr, "load:", err)
			os.Exit(1)
		}
		return
	}
	if err := run(o); err != nil {
		fmt.Fprintln(os.Stderr, "loadtest:", err)
		os.Exit(1)
	}
}

func run(o options) (err error) {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "rampside-load-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o755); err != nil { //nolint:gosec // PostgreSQL runs as another user under root
		return err
	}
	server, err := pgserver.Start(ctx, pgserver.Options{Dir: filepath.Join(dir, "postgres"), Database: "rampside"})
	if err != nil {
		return err
	}
	defer func() { _ = server.Stop(ctx) }()
	say("making a garage with %d months of cards", o.months)
	url := server.URL("rampside")
	pool, err := garageIn(ctx, url, o.months)
	if err != nil {
		return err
	}
	defer pool.Close()
	bin, err := build(dir)
	if err != nil {
		return err
	}
	m := &measuring{o: o, dir: dir, url: url, pool: pool, bin: bin}
	if err := m.prepare(ctx); err != nil {
		return err
	}
	defer stop(m.server)
	for _, part := range []func(context.Context) error{m.sizes, m.closedLoop, m.steadyPages, m.steadyTicks} {
		if err := part(ctx); err != nil {
			return err
		}
	}
	return nil
}

func say(format string, args ...any) { fmt.Printf(format+"\n", args...) }

func garageIn(ctx context.Context, url string, months int) (*pgxpool.Pool, error) {
	if err := pg.Migrate(ctx, url); err != nil {
		return nil, err
	}
	pool, err := pg.Open(ctx, url)
	if err != nil {
		return nil, err
	}
	if err := demo.Make(ctx, pool, demo.Options{Seed: 1, Now: time.Now(), Months: months}); err != nil {
		return nil, err
	}
	_, err = pool.Exec(ctx, "analyze")
	return pool, err
}

// build makes the program as it is shipped.
func build(dir string) (string, error) {
	bin := filepath.Join(dir, "rampside")
	out, err := exec.Command("go", "build", "-o", bin, "rampside/cmd/rampside").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("build: %w\n%s", err, out)
	}
	return bin, nil
}
