package pgserver

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// clearLeftovers ends what an earlier life left running on the cluster: a
// postmaster whose rampside was killed is shut down properly; the children of
// a postmaster that was itself killed are waited for, because they still hold
// shared memory and a new one refuses to start beside them. The caller holds
// the cluster's lock, so whatever runs here belongs to nobody.
func clearLeftovers(ctx context.Context, dir string, log *slog.Logger) error {
	if pid, ok := livePostmaster(dir); ok {
		log.Info("stopping a database server left by an earlier run", "pid", pid)
		// SIGINT is PostgreSQL's fast shutdown: end sessions, write a
		// checkpoint, stop.
		if err := signalAndWait(ctx, pid, syscall.SIGINT, 30*time.Second); err != nil {
			if err := signalAndWait(ctx, pid, syscall.SIGQUIT, 10*time.Second); err != nil {
				return fmt.Errorf("a database server left by an earlier run (process %d) does not stop: %w", pid, err)
			}
		}
	}
	if err := awaitOrphans(ctx, dir); err != nil {
		return err
	}
	return awaitCollected(ctx, dir)
}

// awaitCollected waits until a postmaster that was killed along with its
// rampside has been collected by the first process of the machine, which in
// some containers looks only every few seconds. Until then its number is taken,
// and PostgreSQL takes that for a server that runs. Some never look, so there
// is an end to it.
func awaitCollected(ctx context.Context, dir string) error {
	pid, ok := namedPostmaster(dir)
	for patience := time.Now().Add(15 * time.Second); ok && zombie(pid) && time.Now().Before(patience); {
		if err := pause(ctx, 20*time.Millisecond); err != nil {
			return fmt.Errorf("waiting for the killed database server %d to be collected: %w", pid, err)
		}
	}
	return nil
}

// awaitOrphans waits until no process runs on the cluster. Orphans notice that
// their postmaster is gone and end by themselves; one that is stuck is killed
// after ten seconds, which crash recovery copes with.
func awaitOrphans(ctx context.Context, dir string) error {
	patience := time.Now().Add(10 * time.Second)
	for {
		left := processesIn(dir)
		if len(left) == 0 {
			return nil
		}
		if time.Now().After(patience) {
			for _, pid := range left {
				// It may have ended since; what counts is the next look.
				_ = syscall.Kill(pid, syscall.SIGKILL)
			}
			patience = time.Now().Add(10 * time.Second)
		}
		if err := pause(ctx, 20*time.Millisecond); err != nil {
			return fmt.Errorf("waiting for %d left-over database processes: %w", len(left), err)
		}
	}
}

// livePostmaster reads postmaster.pid and says whether the process it names
// is alive and is indeed a postgres working in dir: the number alone may have
// been given to another program since.
func livePostmaster(dir string) (int, bool) {
	pid, ok := namedPostmaster(dir)
	return pid, ok && worksIn(pid, dir)
}

// namedPostmaster is the process that postmaster.pid names, alive or not.
func namedPostmaster(dir string) (int, bool) {
	b, err := os.ReadFile(filepath.Join(dir, "postmaster.pid"))
	if err != nil {
		return 0, false
	}
	first, _, _ := strings.Cut(string(b), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(first))
	return pid, err == nil && pid > 1
}

// processesIn lists the postgres processes whose working folder is dir, which
// holds for the postmaster and every child of it.
func processesIn(dir string) []int {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	var out []int
	for _, e := range entries {
		if pid, err := strconv.Atoi(e.Name()); err == nil && worksIn(pid, dir) {
			out = append(out, pid)
		}
	}
	return out
}

// worksIn tells a postgres of this cluster by its working folder, which every
// child shares, and in its first moments by its command line.
func worksIn(pid int, dir string) bool {
	proc := filepath.Join("/proc", strconv.Itoa(pid))
	comm, err := os.ReadFile(filepath.Join(proc, "comm"))
	if err != nil || !strings.HasPrefix(string(comm), "postgres") && !strings.HasPrefix(string(comm), "postmaster") {
		return false
	}
	// A zombie has neither any more, so it does not count.
	if cwd, err := os.Readlink(filepath.Join(proc, "cwd")); err == nil && cwd == dir {
		return true
	}
	args, err := os.ReadFile(filepath.Join(proc, "cmdline"))
	return err == nil && strings.Contains(string(args), "\x00-D\x00"+dir+"\x00")
}

func signalAndWait(ctx context.Context, pid int, sig syscall.Signal, patience time.Duration) error {
	if err := syscall.Kill(pid, sig); err != nil && !errors.Is(err, syscall.ESRCH) {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for alive(pid) {
		if err := pause(ctx, 20*time.Millisecond); err != nil {
			return err
		}
	}
	return nil
}

// alive is false for a zombie too: somebody else's child that has ended and
// waits to be collected runs nothing any more.
func alive(pid int) bool {
	_, state := state(pid)
	return state != "" && state != "Z"
}

// zombie says whether pid is a postgres that has ended and was not collected.
func zombie(pid int) bool {
	name, state := state(pid)
	return state == "Z" && strings.HasPrefix(name, "postgres")
}

// state is the name of a process and the letter of its state (proc(5)), empty
// when there is none.
func state(pid int) (name, letter string) {
	stat, err := os.ReadFile(filepath.Join("/proc", strconv.Itoa(pid), "stat"))
	if err != nil {
		return "", ""
	}
	before, after, ok := strings.Cut(string(stat), ") ")
	_, name, named := strings.Cut(before, "(")
	if !ok || !named || after == "" {
		return "", ""
	}
	return name, after[:1]
}

func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
