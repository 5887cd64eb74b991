package pgserver

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// abandon leaves the server's processes running with nobody in charge, as a
// killed rampside would without the parent-death signal.
func abandon(s *Server) (postmaster int) {
	pid := s.PID()
	s.quit()
	s.release()
	return pid
}

func TestAServerLeftByAnEarlierLifeIsTakenOver(t *testing.T) {
	t.Parallel()
	opt := Options{Dir: filepath.Join(folder(t), "pg")}
	first, err := Start(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	c := connect(t, first, "postgres")
	if _, err := c.Exec(t.Context(), "CREATE TABLE kept AS SELECT 7 AS n"); err != nil {
		t.Fatal(err)
	}
	old := abandon(first)
	if pid, ok := livePostmaster(first.dir); !ok || pid != old {
		t.Fatalf("the left-over is not seen: %d, %v; it is %d", pid, ok, old)
	}
	second := start(t, opt)
	if alive(old) {
		t.Error("the old server still runs")
	}
	var n int
	if err := connect(t, second, "postgres").QueryRow(t.Context(), "SELECT n FROM kept").Scan(&n); err != nil || n != 7 {
		t.Errorf("read %d, %v", n, err)
	}
}

func TestChildrenThatOutliveTheirKilledServerAreWaitedFor(t *testing.T) {
	t.Parallel()
	opt := Options{Dir: filepath.Join(folder(t), "pg")}
	first, err := Start(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	c := connect(t, first, "postgres")
	var backend int
	if err := c.QueryRow(t.Context(), "SELECT pg_backend_pid()").Scan(&backend); err != nil {
		t.Fatal(err)
	}
	// A stopped backend cannot notice that its server is gone.
	if err := syscall.Kill(backend, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	old := abandon(first)
	if err := syscall.Kill(old, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	<-first.proc.done
	time.AfterFunc(time.Second, func() { _ = syscall.Kill(backend, syscall.SIGCONT) })
	start(t, opt)
	if alive(backend) {
		t.Error("the orphan still runs beside the new server")
	}
}

func TestANumberThatNowBelongsToAnotherProgramIsNotAServer(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "postmaster.pid"), []byte(strconv.Itoa(os.Getpid())+"\n"+dir+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if pid, ok := livePostmaster(dir); ok {
		t.Errorf("took process %d, this test, for a server", pid)
	}
}

// Until a killed postmaster has been collected, PostgreSQL takes its number for
// that of a server that runs. Whoever collects it, here the test itself, may
// take a while.
func TestAKilledServerIsWaitedForUntilItWasCollected(t *testing.T) {
	dir := t.TempDir()
	program, err := os.ReadFile("/bin/true")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "postgres")
	if err := os.WriteFile(path, program, 0o700); err != nil {
		t.Fatal(err)
	}
	dead := exec.Command(path)
	if err := dead.Start(); err != nil {
		t.Fatal(err)
	}
	for deadline := time.Now().Add(10 * time.Second); !zombie(dead.Process.Pid); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("it does not end")
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "postmaster.pid"), []byte(strconv.Itoa(dead.Process.Pid)+"\n"+dir+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if alive(dead.Process.Pid) {
		t.Error("what has ended counts as alive")
	}
	var collected atomic.Bool
	time.AfterFunc(300*time.Millisecond, func() {
		collected.Store(true)
		_ = dead.Wait()
	})
	if err := awaitCollected(t.Context(), dir); err != nil || !collected.Load() {
		t.Errorf("it went on, with the dead server still there: %v", err)
	}
	if err := awaitCollected(t.Context(), dir); err != nil { // and now at once
		t.Error(err)
	}
}

// A folder like /root keeps the database's user out when we are root. When we
// are not, the database's user is ourselves and the folder plainly unusable.
func TestAClosedFolderAboveTheDataLeadsElsewhereForRoot(t *testing.T) {
	t.Parallel()
	closed := filepath.Join(folder(t), "closed")
	if err := os.MkdirAll(filepath.Join(closed, "data"), 0o700); err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() != 0 {
		if err := os.Chmod(closed, 0o600); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = os.Chmod(closed, 0o700) })
		if _, err := Start(t.Context(), Options{Dir: filepath.Join(closed, "data", "pg")}); err == nil {
			t.Error("started in a folder that it cannot enter")
		}
		return
	}
	opt := Options{Dir: filepath.Join(closed, "data", "pg"), FastUnsafe: true, elsewhere: filepath.Join(folder(t), "elsewhere")}
	s := start(t, opt)
	connect(t, s, "postgres")
	if !strings.HasPrefix(s.dir, opt.elsewhere) {
		t.Errorf("the cluster is in %s", s.dir)
	}
	st, err := Look(opt.Dir)
	if err != nil || !st.Exists || !st.Running || st.Real != s.dir || st.URL("x") != s.URL("x") {
		t.Errorf("seen from outside: %+v, %v", st, err)
	}
	if err := s.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	again := start(t, opt)
	if again.dir != s.dir {
		t.Errorf("the second start used %s, the first %s", again.dir, s.dir)
	}
	var one int
	conn, err := pgx.Connect(t.Context(), again.URL("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if err := conn.QueryRow(t.Context(), "SELECT 1").Scan(&one); err != nil {
		t.Fatal(err)
	}
}
