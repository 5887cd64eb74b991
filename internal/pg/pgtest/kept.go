package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/pg/pgserver"
)

// held keeps this process's share of users.lock from being collected.
var held []*os.File

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
	user, err := flock(filepath.Join(dir, "users.lock"), syscall.LOCK_SH)
	if err != nil {
		return "", err
	}
	held = append(held, user)
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
	return detach(dir, keeperEnv, exec.Command(self))
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
	return detach(dir, containerEnv, exec.Command(bin))
}

func detach(dir, env string, cmd *exec.Cmd) (*exec.Cmd, error) {
	log, err := os.Create(filepath.Join(dir, "keeper.log"))
	if err != nil {
		return nil, err
	}
	defer log.Close()
	_ = os.Remove(filepath.Join(dir, "url")) // an address nobody serves
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), env+"="+dir)
	cmd.Stdout, cmd.Stderr = log, log
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	return cmd, cmd.Start()
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
		return errors.New(dir + " is another user's; remove it, or set TMPDIR")
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
