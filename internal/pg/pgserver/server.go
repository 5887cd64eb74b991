// Package pgserver runs a private PostgreSQL from the machine's own binaries:
// a cluster in a folder, reached over a Unix socket that only we can open,
// restarted when it dies and stopped when we stop. Nobody who runs Rampside
// has to know that it is there.
//
// It is for Linux: it reads /proc and uses the parent-death signal.
package pgserver

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// Options says where and how.
type Options struct {
	// Dir is the cluster's folder; it is made when missing. Its parent must
	// exist or be creatable, is taken to be ours, and also holds the lock
	// and the socket.
	Dir string
	// Logger gets PostgreSQL's own log. Nil discards it.
	Logger *slog.Logger
	// Database is created when it does not exist. Empty creates none.
	Database string
	// FastUnsafe turns durability off, for clusters that tests throw away.
	FastUnsafe bool
	// MaxConnections is PostgreSQL's max_connections; 0 means 100.
	MaxConnections int

	// elsewhere replaces the folder of that name in tests.
	elsewhere string
}

// Server is a running cluster.
type Server struct {
	opt    Options
	log    *slog.Logger
	bin    Binaries
	acct   account
	dir    string // the real path of the cluster
	socket string
	locks  []*os.File

	mu       sync.Mutex
	proc     *process
	stopping bool

	supervised chan struct{} // closed when supervision has ended
	quit       context.CancelFunc
}

// Start brings the cluster up and returns when it answers. ctx limits the
// start only. The error is ErrInUse when another process runs this cluster
// and ErrNoBinaries when PostgreSQL is not installed.
func Start(ctx context.Context, opt Options) (_ *Server, err error) {
	s := &Server{opt: opt, log: opt.Logger, supervised: make(chan struct{})}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	defer func() {
		if err != nil {
			s.release()
		}
	}()
	if err := s.prepare(); err != nil {
		return nil, err
	}
	p, err := s.first(ctx)
	if err != nil {
		return nil, err
	}
	s.proc = p
	if opt.Database != "" {
		if err := s.ensureDatabase(ctx, opt.Database); err != nil {
			s.end(p)
			return nil, err
		}
	}
	var life context.Context
	life, s.quit = context.WithCancel(context.Background())
	go s.supervise(life, p)
	return s, nil
}

// first launches postgres and waits until it answers. One that an earlier life
// had only just launched may get in the way of ours; then that one is cleared
// away too.
func (s *Server) first(ctx context.Context) (*process, error) {
	for tries := 1; ; tries++ {
		if err := clearLeftovers(ctx, s.dir, s.log); err != nil {
			return nil, err
		}
		p, err := s.launch()
		if err != nil {
			return nil, err
		}
		if err = s.awaitReady(ctx, p); err == nil {
			return p, nil
		}
		s.end(p)
		if tries == 5 || !p.inTheWay() || pause(ctx, 100*time.Millisecond) != nil {
			return nil, err
		}
	}
}

// prepare does all that comes before the first process: binaries, account,
// lock, cluster, socket folder.
func (s *Server) prepare() (err error) {
	dir, err := filepath.Abs(s.opt.Dir)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if err := MakeFolder(filepath.Dir(dir)); err != nil {
		return err
	}
	if err := s.take(dir); err != nil {
		return err
	}
	major, err := clusterMajor(dir)
	if err != nil {
		return err
	}
	if major == 0 {
		s.bin, err = Find()
	} else {
		s.bin, err = findMajor(major)
	}
	if err != nil {
		return err
	}
	if s.acct, err = accountFor(dir); err != nil {
		return err
	}
	if s.dir, err = place(dir, cmp.Or(s.opt.elsewhere, elsewhere), s.acct, s.bin); err != nil {
		return err
	}
	if s.dir != dir {
		if err := s.take(s.dir); err != nil {
			return err
		}
	}
	if major == 0 {
		if err := makeCluster(s.dir, s.bin, s.acct, s.opt.FastUnsafe); err != nil {
			return err
		}
	}
	if err := allowOnly(s.dir, s.acct); err != nil {
		return err
	}
	s.socket = socketDir(s.dir, s.acct)
	return privateDir(s.socket, s.acct)
}

func (s *Server) take(dir string) error {
	f, err := lock(lockPath(dir))
	if err != nil {
		return err
	}
	s.locks = append(s.locks, f)
	return nil
}

func (s *Server) release() {
	for _, f := range s.locks {
		f.Close()
	}
	s.locks = nil
}

// flags are given on the command line, where neither postgresql.conf nor
// ALTER SYSTEM overrides them.
func (s *Server) flags() []string {
	set := map[string]string{
		"listen_addresses":        "",
		"unix_socket_directories": s.socket,
		"unix_socket_permissions": "0700",
		"port":                    "5432",
		"max_connections":         strconv.Itoa(cmp.Or(s.opt.MaxConnections, 100)),
		"logging_collector":       "off",
		"log_destination":         "stderr",
		"log_line_prefix":         "",
		"log_statement":           "none",
		"log_min_error_statement": "panic", // statements and details carry
		"log_error_verbosity":     "terse", // customers' data
		"timezone":                "UTC",
		"log_timezone":            "UTC",
	}
	durable := "on"
	if s.opt.FastUnsafe {
		durable = "off"
		set["autovacuum"] = "off" // it holds template databases open
		set["max_wal_size"] = "2GB"
		set["checkpoint_timeout"] = "1h"
	}
	for _, name := range []string{"fsync", "full_page_writes", "synchronous_commit"} {
		set[name] = durable
	}
	args := []string{"-D", s.dir}
	for k, v := range set {
		args = append(args, "-c", k+"="+v)
	}
	return args
}

// URL is the address of a database in the cluster, for pgx.
func (s *Server) URL(database string) string { return address(s.socket, database) }

// Binaries says which PostgreSQL runs.
func (s *Server) Binaries() Binaries { return s.bin }

// PID is the postmaster's process number at this moment; 0 while it is down.
func (s *Server) PID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.proc == nil || s.proc.ended() {
		return 0
	}
	return s.proc.pid
}

func (s *Server) awaitReady(ctx context.Context, p *process) error {
	for {
		conn, err := pgx.Connect(ctx, s.URL("postgres"))
		if err == nil {
			return conn.Close(ctx)
		}
		select {
		case <-p.done:
			return fmt.Errorf("postgres ended while starting: %w\n%s", p.err, p.lastWords())
		case <-ctx.Done():
			return fmt.Errorf("postgres did not get ready: %w (last try: %w)\n%s", ctx.Err(), err, p.lastWords())
		case <-time.After(10 * time.Millisecond):
		}
	}
}

func (s *Server) ensureDatabase(ctx context.Context, name string) error {
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return fmt.Errorf("private database: %w", err)
	}
	defer conn.Close(ctx)
	var there bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, name).Scan(&there)
	if err == nil && !there {
		_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{name}.Sanitize())
	}
	if err != nil {
		return fmt.Errorf("private database: %w", err)
	}
	return nil
}

// Stop shuts the cluster down the fast way: sessions end, a checkpoint is
// written. When ctx ends first it is cut off, which costs a crash recovery at
// the next start and no data. Stop may be called twice.
func (s *Server) Stop(ctx context.Context) error {
	s.mu.Lock()
	s.stopping = true
	p := s.proc
	s.mu.Unlock()
	s.quit()
	p.signal(syscall.SIGINT)
	var err error
	select {
	case <-s.supervised:
	case <-ctx.Done():
		err = errors.New("the database did not stop in time and was cut off; it recovers at the next start")
		s.mu.Lock()
		p = s.proc
		s.mu.Unlock()
		s.end(p)
		<-s.supervised
	}
	s.release()
	if s.socket != s.dir+".run" {
		// Only ours when it lies outside the data folder; empty by now.
		_ = os.Remove(s.socket)
	}
	return err
}

// end stops a process for good: SIGQUIT is PostgreSQL's immediate shutdown,
// SIGKILL follows when even that hangs.
func (s *Server) end(p *process) {
	for _, sig := range []syscall.Signal{syscall.SIGQUIT, syscall.SIGKILL} {
		p.signal(sig)
		select {
		case <-p.done:
			return
		case <-time.After(5 * time.Second):
		}
	}
}
