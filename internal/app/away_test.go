package app

import (
	"context"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"rampside/internal/pg/pgserver"
	"rampside/internal/pg/pgtest"
)

// load asks url steadily, perSecond times, until stop is closed, and hands
// each result to see. It waits for the last answer.
func load(url string, perSecond int, stop <-chan struct{}, see func(began time.Time, status int, err error)) {
	client := &http.Client{Timeout: 10 * time.Second}
	defer client.CloseIdleConnections()
	tick := time.NewTicker(time.Second / time.Duration(perSecond))
	defer tick.Stop()
	var wg sync.WaitGroup
	defer wg.Wait()
	for {
		select {
		case <-stop:
			return
		case <-tick.C:
			wg.Go(func() {
				began := time.Now()
				res, err := client.Get(url)
				if err != nil {
					see(began, 0, err)
					return
				}
				res.Body.Close()
				see(began, res.StatusCode, nil)
			})
		}
	}
}

// TestNoRequestFailsWhenTheServerIsToldToStop sends 50 requests a second.
// Those that find nobody listening any more were never taken; every other
// one must be answered.
func TestNoRequestFailsWhenTheServerIsToldToStop(t *testing.T) {
	p := mustLaunch(t, dataFolder(t), nil)
	var answered, refused, failed atomic.Int64
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		load(p.url+"/healthz", 50, stop, func(_ time.Time, status int, err error) {
			switch {
			case err == nil && status == http.StatusOK:
				answered.Add(1)
			case err != nil && strings.Contains(err.Error(), "connection refused"):
				refused.Add(1)
			default:
				failed.Add(1)
				t.Errorf("status %d, %v", status, err)
			}
		})
	}()
	time.Sleep(1500 * time.Millisecond)
	began := time.Now()
	if err := p.stop(t, syscall.SIGTERM); err != nil {
		t.Errorf("%v\n%s", err, p.said(t))
	}
	took := time.Since(began)
	close(stop)
	<-done
	t.Logf("%d answered, %d after it was gone, %d failed; it stopped in %v", answered.Load(), refused.Load(), failed.Load(), took)
	if answered.Load() < 50 || took > 10*time.Second {
		t.Errorf("%d answered, stopped in %v", answered.Load(), took)
	}
}

// TestTheServerOutlivesItsDatabase takes PostgreSQL away for some seconds
// under load, once stopped and once frozen, which is worse: connections stay
// open and nothing answers.
func TestTheServerOutlivesItsDatabase(t *testing.T) {
	dir := filepath.Join(filepath.Dir(dataFolder(t)), "pg")
	opt := pgserver.Options{Dir: dir, Database: "rampside", FastUnsafe: true}
	db, err := pgserver.Start(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Stop(context.Background()) })
	a := mustBoot(t, settings(t, "DATABASE_URL", db.URL("rampside")))
	awaitReady(t, a.URL(), 5*time.Second)
	before := runtime.NumGoroutine()

	for _, absence := range []struct {
		how         string
		leave, back func()
	}{
		{"stopped", func() {
			if err := db.Stop(t.Context()); err != nil {
				t.Fatal(err)
			}
		}, func() {
			if db, err = pgserver.Start(t.Context(), opt); err != nil {
				t.Fatal(err)
			}
		}},
		{"frozen", func() { signalTree(t, db.PID(), syscall.SIGSTOP) },
			func() { signalTree(t, db.PID(), syscall.SIGCONT) }},
	} {
		t.Run(absence.how, func(t *testing.T) {
			stop, done := make(chan struct{}), make(chan struct{})
			var away atomic.Bool
			var slowest atomic.Int64
			var told atomic.Int64
			absence.leave()
			away.Store(true)
			go func() {
				defer close(done)
				load(a.URL()+"/readyz", 20, stop, func(began time.Time, status int, err error) {
					if err != nil {
						t.Errorf("%v", err)
					}
					slowest.Store(max(slowest.Load(), int64(time.Since(began))))
					if status == http.StatusServiceUnavailable {
						told.Add(1)
					} else if away.Load() {
						t.Errorf("status %d while the database is away", status)
					}
				})
			}()
			time.Sleep(4 * time.Second)
			away.Store(false)
			absence.back()
			returned := time.Now()
			awaitReady(t, a.URL(), 2*time.Second)
			t.Logf("%d times told not ready, slowest answer %v, ready %v after the return",
				told.Load(), time.Duration(slowest.Load()), time.Since(returned))
			close(stop)
			<-done
			if d := time.Duration(slowest.Load()); told.Load() == 0 || d > 2*time.Second {
				t.Errorf("told %d times, the slowest answer took %v", told.Load(), d)
			}
		})
	}
	http.DefaultClient.CloseIdleConnections()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		now := runtime.NumGoroutine()
		if now <= before+5 {
			break
		}
		if time.Now().After(deadline) {
			buf := make([]byte, 1<<20)
			t.Fatalf("%d goroutines before, %d after\n%s", before, now, buf[:runtime.Stack(buf, true)])
		}
	}
}

// signalTree signals a process and its children.
func signalTree(t *testing.T, pid int, sig syscall.Signal) {
	t.Helper()
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		t.Fatal(err)
	}
	pids := []int{pid}
	for _, f := range stats {
		b, err := os.ReadFile(f)
		if err != nil {
			continue // it has ended
		}
		_, after, _ := strings.Cut(string(b), ") ")
		if fields := strings.Fields(after); len(fields) > 1 && fields[1] == strconv.Itoa(pid) {
			if n, err := strconv.Atoi(filepath.Base(filepath.Dir(f))); err == nil {
				pids = append(pids, n)
			}
		}
	}
	for _, p := range pids {
		if err := syscall.Kill(p, sig); err != nil && err != syscall.ESRCH {
			t.Fatal(err)
		}
	}
}

func TestTheStartNamesSettingsThatRiskData(t *testing.T) {
	pool := pgtest.New(t) // test servers are started without durability
	warnings, err := unsafeSettings(t.Context(), pool)
	if err != nil {
		t.Fatal(err)
	}
	var fsync string
	if err := pool.QueryRow(t.Context(), "SHOW fsync").Scan(&fsync); err != nil {
		t.Fatal(err)
	}
	named := strings.Contains(strings.Join(warnings, "\n"), "fsync is off")
	if named != (fsync == "off") {
		t.Errorf("fsync is %s and the warnings are %q", fsync, warnings)
	}
	if _, err := pool.Exec(t.Context(), "ALTER DATABASE "+pool.Config().ConnConfig.Database+" SET synchronous_commit = off"); err != nil {
		t.Fatal(err)
	}
	pool.Reset()
	warnings, err = unsafeSettings(t.Context(), pool)
	if err != nil || !strings.Contains(strings.Join(warnings, "\n"), "synchronous_commit is off") {
		t.Errorf("%q, %v", warnings, err)
	}
}
