package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/pg/pgserver"
)

// One server serves every test process of this user. A keeper process holds
// it: a copy of the first test binary that needs it, told apart by an
// environment variable. Each test process holds a shared lock on users.lock
// until it ends, however it ends; when nobody has held it for some seconds
// the keeper stops the server and ends. Starting and stopping happen under
// start.lock, so that nobody arrives in between.

const (
	keeperEnv    = "RAMPSIDE_PGTEST_KEEPER"
	containerEnv = "RAMPSIDE_PGTEST_CONTAINER"
	// bridge is the longest gap between two packages of one go test run that
	// the server is kept over.
	bridge = 3 * time.Second
	// layout changes when older keepers' folders no longer fit.
	layout = "1"
)

func init() {
	if dir := os.Getenv(keeperEnv); dir != "" {
		if err := keep(dir, bridge, startLocal); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
}

// Serve is a running server and how to stop it.
type Serve struct {
	URL  string
	Stop func(context.Context) error
}

func startLocal(ctx context.Context, dir string) (Serve, error) {
	opt := pgserver.Options{Dir: filepath.Join(dir, "pg"), FastUnsafe: true, MaxConnections: 500}
	s, err := pgserver.Start(ctx, opt)
	if err != nil && !errors.Is(err, pgserver.ErrInUse) {
		// It is without fsync: after a power cut it may well be broken.
		if err := os.RemoveAll(opt.Dir); err != nil {
			return Serve{}, err
		}
		s, err = pgserver.Start(ctx, opt)
	}
	if err != nil {
		return Serve{}, err
	}
	return Serve{URL: s.URL("postgres"), Stop: s.Stop}, nil
}

// KeepContainer is what the keeper process of the container calls from its
// main.
func KeepContainer(start func(context.Context, string) (Serve, error)) error {
	return keep(os.Getenv(containerEnv), bridge, start)
}

func keep(dir string, linger time.Duration, start func(context.Context, string) (Serve, error)) error {
	if dir == "" {
		return errors.New("only a test starts a keeper")
	}
	alone, err := flock(filepath.Join(dir, "keeper.lock"), syscall.LOCK_EX)
	if err != nil {
		return err
	}
	defer alone.Close()
	pid := filepath.Join(dir, "keeper.pid")
	if err := os.WriteFile(pid, []byte(strconv.Itoa(os.Getpid())), 0o600); err != nil {
		return err
	}
	told := make(chan os.Signal, 1)
	signal.Notify(told, syscall.SIGTERM, syscall.SIGINT)
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	s, err := start(ctx, dir)
	if err != nil {
		return err
	}
	stop := func() error {
		_ = os.Remove(filepath.Join(dir, "url"))
		_ = os.Remove(pid)
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		return s.Stop(ctx)
	}
	if err := sweep(ctx, s.URL); err != nil {
		return errors.Join(err, stop())
	}
	if err := publish(filepath.Join(dir, "url"), s.URL); err != nil {
		return errors.Join(err, stop())
	}
	idle := awaitIdle(dir, linger, told)
	defer idle()
	return stop()
}

// awaitIdle returns when nobody has used the server for a while, holding the
// locks that keep newcomers out until it has stopped; or when told to stop.
func awaitIdle(dir string, linger time.Duration, told <-chan os.Signal) (release func()) {
	last := time.Now()
	for {
		select {
		case <-told:
			return func() {}
		case <-time.After(100 * time.Millisecond):
		}
		if u, err := flock(filepath.Join(dir, "users.lock"), syscall.LOCK_EX|syscall.LOCK_NB); err == nil {
			u.Close()
		} else {
			last = time.Now()
		}
		if time.Since(last) < linger {
			continue
		}
		starting, err := flock(filepath.Join(dir, "start.lock"), syscall.LOCK_EX|syscall.LOCK_NB)
		if err != nil {
			continue
		}
		u, err := flock(filepath.Join(dir, "users.lock"), syscall.LOCK_EX|syscall.LOCK_NB)
		if err == nil {
			return func() { u.Close(); starting.Close() }
		}
		starting.Close()
	}
}

// sweep drops what killed test processes left, and old templates once they
// have piled up. Nobody uses the server yet.
func sweep(ctx context.Context, server string) error {
	conn, err := pgx.Connect(ctx, server)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, `
		SELECT datname FROM pg_database
		WHERE datname LIKE 'rampside\_t\_%' OR datname LIKE '%\_making'
		   OR (datname LIKE 'rampside\_tpl\_%'
		       AND (SELECT count(*) FROM pg_database WHERE datname LIKE 'rampside\_tpl\_%') > 5)`)
	if err != nil {
		return err
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, n := range names {
		if _, err := conn.Exec(ctx, "DROP DATABASE IF EXISTS "+pgx.Identifier{n}.Sanitize()+" WITH (FORCE)"); err != nil {
			return err
		}
	}
	return nil
}

func flock(path string, how int) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	for {
		err := syscall.Flock(int(f.Fd()), how)
		if errors.Is(err, syscall.EINTR) {
			continue
		}
		if err != nil {
			f.Close()
			return nil, err
		}
		return f, nil
	}
}

func publish(path, text string) error {
	if err := os.WriteFile(path+".new", []byte(text), 0o600); err != nil {
		return err
	}
	return os.Rename(path+".new", path)
}
