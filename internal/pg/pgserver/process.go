package pgserver

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"time"
)

// process is one run of postgres.
type process struct {
	pid  int
	done chan struct{} // closed when it has ended and been collected
	err  error         // how it ended; read after done

	mu   sync.Mutex
	tail []string // the last lines it wrote
}

// launch starts postgres on the cluster.
//
// It gets its own process group: Ctrl-C on the terminal must reach rampside
// alone, which then finishes its requests before it stops the database. And
// it gets a parent-death signal, so that it stops by itself when rampside is
// killed. The kernel sends that when the thread that started the child ends,
// not the process (prctl(2), PR_SET_PDEATHSIG), so the thread is kept for as
// long as the child runs.
func (s *Server) launch() (*process, error) {
	cmd := exec.Command(filepath.Join(s.bin.Dir, "postgres"), s.flags()...)
	cmd.Dir = "/"
	cmd.Env = childEnv(s.bin)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGINT}
	if s.opt.FastUnsafe {
		cmd.SysProcAttr.Pdeathsig = syscall.SIGQUIT
	}
	s.acct.apply(cmd)
	// Our own pipe, not StderrPipe: children that outlive the postmaster hold
	// it open, and the end of the postmaster must be noticed before theirs.
	stderr, theirs, err := os.Pipe()
	if err != nil {
		return nil, fmt.Errorf("pipe for the database's log: %w", err)
	}
	cmd.Stderr = theirs
	p := &process{done: make(chan struct{})}
	read := make(chan struct{})
	go func() {
		defer close(read)
		defer stderr.Close()
		p.follow(stderr, s.log)
	}()
	started := make(chan error)
	go func() {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := cmd.Start()
		theirs.Close()
		if err == nil {
			p.pid = cmd.Process.Pid
		}
		started <- err
		if err != nil {
			return
		}
		p.err = cmd.Wait()
		select { // its last words, unless an orphan keeps the pipe
		case <-read:
		case <-time.After(200 * time.Millisecond):
		}
		close(p.done)
	}()
	if err := <-started; err != nil {
		return nil, fmt.Errorf("starting postgres: %w", err)
	}
	return p, nil
}

// follow passes PostgreSQL's log on until the postmaster and all its children
// have closed the pipe.
func (p *process) follow(r io.Reader, log *slog.Logger) {
	sc := bufio.NewScanner(r)
	for sc.Scan() {
		line := sc.Text()
		p.mu.Lock()
		if p.tail = append(p.tail, line); len(p.tail) > 20 {
			p.tail = p.tail[1:]
		}
		p.mu.Unlock()
		log.Log(context.Background(), levelOf(line), line)
	}
	// A line longer than the scanner takes must not block the database.
	_, _ = io.Copy(io.Discard, r)
}

// levelOf maps PostgreSQL's severities
// (https://www.postgresql.org/docs/15/runtime-config-logging.html) to ours. An
// ERROR is a statement that was refused and a FATAL is a session that was: the
// one who sent it reports it.
func levelOf(line string) slog.Level {
	switch word, _, _ := strings.Cut(line, ":"); word {
	case "PANIC":
		return slog.LevelError
	case "WARNING":
		return slog.LevelWarn
	}
	return slog.LevelDebug
}

func (p *process) lastWords() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return strings.Join(p.tail, "\n")
}

// inTheWay says whether it ended because another postgres has the cluster.
// The words are those of PostgreSQL's miscinit.c, in the C locale.
func (p *process) inTheWay() bool {
	words := p.lastWords()
	return p.ended() && (strings.Contains(words, `lock file "postmaster.pid" already exists`) ||
		strings.Contains(words, "pre-existing shared memory block"))
}

func (p *process) ended() bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

func (p *process) signal(sig syscall.Signal) {
	if !p.ended() {
		// It may end between the look and the signal; it has not been
		// collected before done is closed, so the number is still its own.
		_ = syscall.Kill(p.pid, sig)
	}
}
