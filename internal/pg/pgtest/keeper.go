package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
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
	keeperEnv = "RAMPSIDE_PGTEST_KEEPER"
	// linger bridges the gap between two packages of one go test run.
	linger = 3 * time.Second
	// layout changes when older keepers' folders no longer fit.
	layout = "1"
)

func init() {
	if dir := os.Getenv(keeperEnv); dir != "" {
		if err := keep(dir, startLocal); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
}

// users is this process's share of users.lock; it must not be collected.
var users *os.File

// kept returns the address of the kept server, having started its keeper if
// none runs.
func kept(kind string, start func(dir string) (*exec.Cmd, error)) (string, error) {
	dir := filepath.Join(os.TempDir(), fmt.Sprintf("rampside-pgtest-%s-%d-%s", layout, os.Geteuid(), kind))
	if err := ownFolder(dir); err != nil {
		return "", err
	}
	starting, err := flock(filepath.Join(dir, "start.lock"), syscall.LOCK_EX)
	if err != nil {
		return "", err
	}
	defer starting.Close()
	if users, err = flock(filepath.Join(dir, "users.lock"), syscall.LOCK_SH); err != nil {
		return "", err
	}
	ended := make(chan error, 1)
	if !keeperLives(dir) {
		cmd, err := start(dir)
		if err != nil {
			return "", fmt.Errorf("starting the test server's keeper: %w", err)
		}
		go func() { ended <- cmd.Wait() }()
	}
	return awaitServer(dir, ended)
}

func awaitServer(dir string, ended <-chan error) (string, error) {
	deadline := time.After(2 * time.Minute)
	for {
		if b, err := os.ReadFile(filepath.Join(dir, "url")); err == nil {
			ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
			conn, err := pgx.Connect(ctx, string(b))
			if err == nil {
				err = conn.Close(ctx)
			}
			cancel()
			if err == nil {
				return string(b), nil
			}
		}
		select {
		case err := <-ended:
			said, _ := os.ReadFile(filepath.Join(dir, "keeper.log"))
			return "", fmt.Errorf("the test server's keeper ended: %w\n%s", err, said)
		case <-deadline:
			return "", errors.New("the test server did not answer within two minutes; see " + filepath.Join(dir, "keeper.log"))
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// startKeeper runs this very test binary once more, as the keeper. It leaves
// our session and our output, so that go test does not wait for it.
func startKeeper(dir string) (*exec.Cmd, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	return detach(dir, exec.Command(self))
}

// startContainerKeeper builds the keeper that knows containers, so that the
// container library is linked into no other test.
func startContainerKeeper(dir string) (*exec.Cmd, error) {
	_, here, _, _ := runtime.Caller(0)
	bin := filepath.Join(dir, "containerkeeper")
	build := exec.Command("go", "build", "-o", bin, "./containerkeeper")
	build.Dir = filepath.Dir(here)
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("building the container keeper: %w\n%s", err, out)
	}
	return detach(dir, exec.Command(bin))
}

func detach(dir string, cmd *exec.Cmd) (*exec.Cmd, error) {
	log, err := os.Create(filepath.Join(dir, "keeper.log"))
	if err != nil {
		return nil, err
	}
	defer log.Close()
	_ = os.Remove(filepath.Join(dir, "url")) // an address nobody serves
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), keeperEnv+"="+dir)
	cmd.Stdout, cmd.Stderr = log, log
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	return cmd, cmd.Start()
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

// Keep is what a keeper process of another kind calls from its main.
func Keep(start func(context.Context, string) (Serve, error)) error {
	return keep(os.Getenv(keeperEnv), start)
}

func keep(dir string, start func(context.Context, string) (Serve, error)) error {
	if err := os.Unsetenv(keeperEnv); err != nil {
		return err
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
	idle := awaitIdle(dir, told)
	defer idle()
	return stop()
}

// awaitIdle returns when nobody has used the server for a while, holding the
// locks that keep newcomers out until it has stopped; or when told to stop.
func awaitIdle(dir string, told <-chan os.Signal) (release func()) {
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

// keeperLives asks the lock that a keeper holds from its first moment.
func keeperLives(dir string) bool {
	f, err := flock(filepath.Join(dir, "keeper.lock"), syscall.LOCK_SH|syscall.LOCK_NB)
	if err != nil {
		return true
	}
	f.Close()
	return false
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

// ownFolder makes the folder in the shared temporary one and makes sure that
// it is ours and no link: anybody could have made the name first.
func ownFolder(dir string) error {
	if err := pgserver.MakeFolder(dir); err != nil {
		return err
	}
	st, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !st.IsDir() || !ok || int(sys.Uid) != os.Geteuid() {
		return errors.New(strings.TrimSpace(dir + " is another user's; remove it, or set TMPDIR"))
	}
	return nil
}
