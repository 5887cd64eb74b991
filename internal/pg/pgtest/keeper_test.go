package pgtest

import (
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

func TestTheKeptServerStopsOnceItsLastUserIsGone(t *testing.T) {
	dir, err := os.MkdirTemp("", "rampside-keeper-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	user, err := flock(filepath.Join(dir, "users.lock"), syscall.LOCK_SH)
	if err != nil {
		t.Fatal(err)
	}
	defer user.Close()
	ended := make(chan error, 1)
	go func() { ended <- keep(dir, 300*time.Millisecond, startLocal) }()
	server, err := awaitServer(dir, ended)
	if err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-ended:
		t.Fatalf("it ended while in use: %v", err)
	case <-time.After(time.Second):
	}
	if !keeperLives(dir) {
		t.Error("nobody would find it")
	}
	if err := user.Close(); err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-ended:
		if err != nil {
			t.Fatal(err)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("it is still there")
	}
	if conn, err := pgx.Connect(t.Context(), server); err == nil {
		conn.Close(context.Background())
		t.Error("the server still answers")
	}
}
