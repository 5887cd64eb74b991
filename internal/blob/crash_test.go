package blob

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
	"time"

	"rampside/internal/apperr"
)

// child is what the test binary does when a test runs it as a process of its
// own, on the folder in BLOB_TEST_DIR.
func child(what string) {
	dir := os.Getenv("BLOB_TEST_DIR")
	var err error
	switch what {
	case "put until killed":
		err = putForever(dir)
	case "fill up under a limit":
		signal.Ignore(syscall.SIGXFSZ)
		err = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 200_000, Max: 200_000})
		if err == nil {
			err = fillUp(dir)
		}
	default:
		err = fmt.Errorf("no such child: %s", what)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func runAsChild(t *testing.T, what, dir string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), self)
	cmd.Env = append(os.Environ(), "BLOB_TEST_CHILD="+what, "BLOB_TEST_DIR="+dir)
	return cmd
}

func putForever(dir string) error {
	s, err := OpenFolder(dir)
	if err != nil {
		return err
	}
	for i := uint64(os.Getpid()); ; i++ {
		key, err := s.Put(context.Background(), noise(i*2654435761, 200_000+int(i%7)*40_000))
		if err != nil {
			return err
		}
		fmt.Println(key)
	}
}

// A kill does not prove that the disk has the file: the kernel keeps what was
// written. That fsync comes before the rename is seen in write.
func TestAKilledServerLosesNothingItSaidItHad(t *testing.T) {
	dir := t.TempDir()
	var said []string
	for range 5 {
		cmd := runAsChild(t, "put until killed", dir)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for n := 0; lines.Scan(); n++ {
			if key := lines.Text(); len(key) == 64 {
				said = append(said, key)
			}
			if n == 4 {
				time.AfterFunc(time.Duration(len(said)%5)*time.Millisecond, func() { cmd.Process.Kill() })
			}
		}
		cmd.Wait()
	}
	if len(said) < 25 {
		t.Fatalf("only %d files were put before the kills", len(said))
	}
	s := openFolder(t, dir)
	for _, line := range said {
		key, err := ParseKey(line)
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(t.Context(), s, key); err != nil {
			t.Errorf("%s: %v", key, err)
		}
	}
	for key, err := range s.Keys(t.Context()) {
		if err == nil {
			err = Verify(t.Context(), s, key)
		}
		if err != nil {
			t.Errorf("%s: %v", key, err)
		}
	}
	for _, name := range filesIn(t, dir) {
		if strings.HasPrefix(name, tmpDir) {
			t.Errorf("%s is left over", name)
		}
	}
}

// fillUp uses a folder that has room for 200 kB but not for 1 MB.
func fillUp(dir string) error {
	ctx := context.Background()
	s, err := OpenFolder(dir)
	if err != nil {
		return err
	}
	defer s.Close()
	kept, err := s.Put(ctx, noise(5, 100_000))
	if err != nil {
		return fmt.Errorf("while there is room: %w", err)
	}
	large := noise(6, 1_000_000)
	_, err = s.Put(ctx, large)
	var e *apperr.Error
	if !errors.Is(err, ErrFull) || !errors.As(err, &e) || !strings.Contains(e.Message, "is full, so nothing was saved") {
		return fmt.Errorf("a full disk was answered with: %w", err)
	}
	if err := Verify(ctx, s, KeyOf(large)); !apperr.Is(err, apperr.NotFound) {
		return fmt.Errorf("the file that had no room: %w", err)
	}
	left, err := os.ReadDir(dir + "/" + tmpDir)
	if err != nil || len(left) != 0 {
		return fmt.Errorf("left over: %v, %w", left, err)
	}
	if err := Verify(ctx, s, kept); err != nil {
		return fmt.Errorf("the file that was there before: %w", err)
	}
	if err := s.Delete(ctx, kept); err != nil {
		return fmt.Errorf("making room: %w", err)
	}
	if _, err := s.Put(ctx, noise(7, 150_000)); err != nil {
		return fmt.Errorf("once there is room again: %w", err)
	}
	return s.Check(ctx)
}

func TestAFileThatMayGrowNoFurtherIsNamedAsAFullDisk(t *testing.T) {
	if out, err := runAsChild(t, "fill up under a limit", t.TempDir()).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

func TestAFullDiskIsNamedAndLeavesNothingBroken(t *testing.T) {
	dir := t.TempDir()
	switch err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=400k"); {
	case errors.Is(err, syscall.EPERM):
		// Only root may make a small disk; anybody may have a small limit.
		t.Log("no right to mount a small disk: tried with a limit on files instead")
		if out, err := runAsChild(t, "fill up under a limit", dir).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		return
	case err != nil:
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	if err := fillUp(dir); err != nil {
		t.Fatal(err)
	}
	// And with not a page left: every small file is whole or not there.
	s := openFolder(t, dir)
	defer s.Close()
	var err error
	for i := uint64(0); err == nil; i++ {
		_, err = s.Put(t.Context(), noise(1000+i, 3000))
	}
	if !errors.Is(err, ErrFull) {
		t.Fatal(err)
	}
	if err := s.Check(t.Context()); !errors.Is(err, ErrFull) {
		t.Fatalf("Check on a full disk says %v", err)
	}
	n := 0
	for key, err := range s.Keys(t.Context()) {
		if err == nil {
			err = Verify(t.Context(), s, key)
		}
		if err != nil {
			t.Fatal(err)
		}
		n++
	}
	if n < 10 {
		t.Fatalf("only %d files fitted", n)
	}
}
