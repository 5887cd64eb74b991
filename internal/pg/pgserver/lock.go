package pgserver

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"syscall"
	"time"
)

// ErrInUse says that another process already runs the database in this
// folder.
var ErrInUse = errors.New("another rampside is already using this data folder")

// lock takes the exclusive lock on path, which the kernel drops when this
// process ends, however it ends. It waits no longer than an onlooker takes.
func lock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, fmt.Errorf("lock file: %w", err)
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	for range 4 { // Look holds it for a moment
		if err == nil {
			break
		}
		time.Sleep(25 * time.Millisecond)
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	}
	if err != nil {
		defer f.Close()
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("locking %s: %w", path, err)
		}
		// The holder's number is a courtesy; the lock is what counts.
		buf := make([]byte, 20)
		n, _ := f.Read(buf)
		if pid := strings.TrimSpace(string(buf[:n])); pid != "" {
			return nil, fmt.Errorf("%w (process %s holds %s)", ErrInUse, pid, path)
		}
		return nil, fmt.Errorf("%w (%s)", ErrInUse, path)
	}
	if err = f.Truncate(0); err == nil {
		_, err = fmt.Fprintf(f, "%d\n", os.Getpid())
	}
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("writing %s: %w", path, err)
	}
	return f, nil
}

func lockPath(dir string) string { return dir + ".lock" }
