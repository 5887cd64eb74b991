package pgserver

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

func start(t *testing.T, opt Options) *Server {
	t.Helper()
	s, err := Start(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		if err := s.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return s
}

// folder is one that the database's user can pass through, unlike t.TempDir.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "rampside-pgserver-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return dir
}

func connect(t *testing.T, s *Server, db string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), s.URL(db))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func show(t *testing.T, c *pgx.Conn, setting string) string {
	t.Helper()
	var v string
	if err := c.QueryRow(t.Context(), "SHOW "+setting).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestAProductionServerIsDurableAndListensOnNoNetwork(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s := start(t, Options{Dir: filepath.Join(dir, "pg"), Database: "rampside"})
	c := connect(t, s, "rampside")
	for setting, want := range map[string]string{
		"fsync": "on", "full_page_writes": "on", "synchronous_commit": "on",
		"data_checksums": "on", "listen_addresses": "", "server_encoding": "UTF8", "TimeZone": "UTC",
	} {
		if got := show(t, c, setting); got != want {
			t.Errorf("%s is %q, want %q", setting, got, want)
		}
	}
	st, err := os.Stat(s.socket)
	if err != nil {
		t.Fatal(err)
	}
	if st.Mode().Perm() != 0o700 {
		t.Errorf("the socket's folder has mode %v, want 0700", st.Mode().Perm())
	}
	var uid uint32
	if st, err := os.Stat(filepath.Join("/proc", "self")); err == nil {
		uid, _ = ownerOf(st)
	}
	pgst, err := os.Stat(s.dir)
	if err != nil {
		t.Fatal(err)
	}
	if owner, _ := ownerOf(pgst); owner == 0 || (uid != 0 && owner != uid) {
		t.Errorf("the cluster belongs to user %d; we are %d", owner, uid)
	}
}

func TestASecondServerOnTheSameFolderIsRefused(t *testing.T) {
	t.Parallel()
	opt := Options{Dir: filepath.Join(folder(t), "pg"), FastUnsafe: true}
	start(t, opt)
	if !InUse(opt.Dir) {
		t.Error("InUse is false while a server runs")
	}
	_, err := Start(t.Context(), opt)
	if !errors.Is(err, ErrInUse) {
		t.Fatalf("second start: %v, want ErrInUse", err)
	}
}

func TestAKilledDatabaseComesBackWithWhatWasCommitted(t *testing.T) {
	t.Parallel()
	s := start(t, Options{Dir: filepath.Join(folder(t), "pg")})
	c := connect(t, s, "postgres")
	if _, err := c.Exec(t.Context(), "CREATE TABLE kept (n int); INSERT INTO kept VALUES (7)"); err != nil {
		t.Fatal(err)
	}
	before := s.PID()
	if err := syscall.Kill(before, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	deadline := time.Now().Add(15 * time.Second)
	for {
		conn, err := pgx.Connect(t.Context(), s.URL("postgres"))
		if err == nil {
			var n int
			err = conn.QueryRow(t.Context(), "SELECT n FROM kept").Scan(&n)
			conn.Close(t.Context())
			if err == nil {
				if n != 7 {
					t.Fatalf("read %d", n)
				}
				if s.PID() == before {
					t.Fatal("the old process still answers")
				}
				return
			}
		}
		if time.Now().After(deadline) {
			t.Fatalf("the database did not come back: %v", err)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

func TestStopLeavesNoProcessAndNoSocket(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(folder(t), "pg")
	s, err := Start(t.Context(), Options{Dir: dir, FastUnsafe: true})
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // stopping twice is allowed
		if err := s.Stop(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	if left := processesIn(s.dir); len(left) > 0 {
		t.Errorf("processes left: %v", left)
	}
	if _, err := os.Stat(s.socket + socketName); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("socket left: %v", err)
	}
	if InUse(dir) {
		t.Error("the lock is still held")
	}
}

func TestADeepFolderGetsAShortPrivateSocketFolder(t *testing.T) {
	t.Parallel()
	deep := filepath.Join(folder(t), strings.Repeat("deep", 20), "pg")
	s := start(t, Options{Dir: deep, FastUnsafe: true})
	if s.socket == s.dir+".run" {
		t.Fatalf("%s is too long for a socket", s.socket)
	}
	connect(t, s, "postgres")
}

func TestAForeignSocketFolderIsRefused(t *testing.T) {
	acct, err := accountFor(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "run")
	if err := os.Symlink(t.TempDir(), link); err != nil {
		t.Fatal(err)
	}
	if err := privateDir(link, acct); err == nil {
		t.Error("a link was taken for a private folder")
	}
}

func TestAFolderWithOtherThingsInItIsLeftAlone(t *testing.T) {
	dir := filepath.Join(folder(t), "pg")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	letter := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(letter, []byte("dear"), 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := Start(t.Context(), Options{Dir: dir}); err == nil {
		s.Stop(t.Context())
		t.Fatal("started in a folder that holds something else")
	}
	if b, err := os.ReadFile(letter); err != nil || string(b) != "dear" {
		t.Errorf("the letter: %q, %v", b, err)
	}
}

func TestAClusterOfAVersionNoLongerInstalledSaysSo(t *testing.T) {
	dir := filepath.Join(folder(t), "pg")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "PG_VERSION"), []byte("9\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: dir})
	if err == nil || !strings.Contains(err.Error(), "PostgreSQL 9") {
		t.Errorf("got %v", err)
	}
}
