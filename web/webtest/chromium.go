// Package webtest drives a real Chromium as a person would: it finds things by
// what they are called and what they are, presses keys and taps, and looks at
// what is there. It counts the presses, collects every complaint of the
// browser's console, and fails the test that caused one.
//
//	b := webtest.Open(t, server.URL)
//	b.Go("/book-in")
//	b.Fill("Registration mark", "RS65 CAR")
//	b.Click("Find")
//	b.See("Brisling Tern")
//	b.Audit()
//
// One Chromium serves a whole test binary; every Open is a browser context of
// its own, so two of them are two people.
package webtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"

	cd "github.com/chromedp/chromedp"
)

// T is what the harness needs of a *testing.T.
type T interface {
	Helper()
	Name() string
	Failed() bool
	Cleanup(func())
	Logf(format string, args ...any)
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

var _ T = (*testing.T)(nil)

const profilePrefix = "rampside-webtest-"

var (
	chromium     = sync.OnceValues(launch)
	stopChromium func()
)

// Main runs a package's tests and closes the browser after them:
//
//	func TestMain(m *testing.M) { webtest.Main(m) }
//
// Without it the browser is killed with the test binary, and its profile is
// swept away by the next run.
func Main(m *testing.M) {
	code := m.Run()
	if stopChromium != nil {
		stopChromium()
	}
	os.Exit(code)
}

// findChromium looks where distributions put it.
func findChromium() (string, error) {
	for _, name := range []string{os.Getenv("CHROMIUM"), "chromium", "chromium-browser", "google-chrome"} {
		if name == "" {
			continue
		}
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errors.New("the browser tests need Chromium: apt-get install chromium, or set CHROMIUM to its path")
}

func launch() (context.Context, error) {
	path, err := findChromium()
	if err != nil {
		return nil, err
	}
	sweep()
	profile, err := os.MkdirTemp("", profilePrefix+strconv.Itoa(os.Getpid())+"-")
	if err != nil {
		return nil, err
	}
	options := append(cd.DefaultExecAllocatorOptions[:],
		cd.ExecPath(path),
		cd.UserDataDir(profile),
		cd.DisableGPU,
		cd.Flag("disable-quic", true),
		cd.Flag("disable-component-update", true),
		cd.Flag("lang", "en-GB"),
		// The tests talk to this machine only.
		cd.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"),
	)
	if os.Geteuid() == 0 {
		options = append(options, cd.NoSandbox) // its sandbox refuses to run as root
	}
	allocator, stopAllocator := cd.NewExecAllocator(context.Background(), options...)
	ctx, stop := cd.NewContext(allocator)
	if err := cd.Do(ctx); err != nil {
		return nil, fmt.Errorf("start %s: %w", path, err)
	}
	stopChromium = func() {
		stop()
		stopAllocator()
		_ = os.RemoveAll(profile)
	}
	return ctx, nil
}

// sweep removes the profiles of test binaries that are no more.
func sweep() {
	old, _ := filepath.Glob(filepath.Join(os.TempDir(), profilePrefix+"*"))
	for _, dir := range old {
		rest := strings.TrimPrefix(filepath.Base(dir), profilePrefix)
		number, _, _ := strings.Cut(rest, "-")
		pid, err := strconv.Atoi(number)
		if err == nil && errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			_ = os.RemoveAll(dir)
		}
	}
}

// root finds the folder of the module, for files beside the code.
func root() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", errors.New("no go.mod above the working directory")
		}
		dir = up
	}
}
