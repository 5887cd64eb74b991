package app

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"rampside/internal/actor"
)

// serveEnv turns this test binary into the server itself, so that tests can
// kill, stop and start real processes.
const serveEnv = "RAMPSIDE_APP_TEST_SERVE"

func TestMain(m *testing.M) {
	if os.Getenv(serveEnv) != "" {
		if err := Serve(context.Background(), os.LookupEnv, os.Stdout, os.Stderr); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// process is a server in a process of its own.
type process struct {
	cmd    *exec.Cmd
	url    string // "" when it did not start
	stderr string // a file
	ended  chan error
}

// launch starts a server on a data folder and waits until it has said where
// it is, or has ended. Its environment is nothing but the settings.
func launch(t *testing.T, data string, change func(*exec.Cmd)) *process {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	p := &process{cmd: exec.Command(self), ended: make(chan error, 1)}
	p.cmd.Env = []string{serveEnv + "=1", "RAMPSIDE_ADDR=127.0.0.1:0", "RAMPSIDE_DATA=" + data, "PATH=/usr/bin:/bin"}
	p.cmd.Dir = "/"
	if change != nil {
		change(p.cmd)
	}
	log, err := os.CreateTemp(t.TempDir(), "stderr")
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	p.stderr, p.cmd.Stderr = log.Name(), log
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.stop(t, syscall.SIGTERM) })
	line := bufio.NewScanner(out)
	if line.Scan() {
		p.url = strings.TrimPrefix(line.Text(), "Rampside is at ")
	}
	go func() { p.ended <- p.cmd.Wait() }()
	return p
}

// stop sends a signal and waits for the end, which may have come before.
func (p *process) stop(t *testing.T, sig syscall.Signal) error {
	t.Helper()
	if p.cmd == nil {
		return nil
	}
	_ = p.cmd.Process.Signal(sig)
	select {
	case err := <-p.ended:
		p.cmd = nil
		return err
	case <-time.After(30 * time.Second):
		_ = p.cmd.Process.Kill()
		t.Errorf("the server does not end on %v\n%s", sig, p.said(t))
		return <-p.ended
	}
}

func (p *process) said(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile(p.stderr)
	if err != nil {
		t.Error(err)
	}
	return string(b)
}

func mustLaunch(t *testing.T, data string, change func(*exec.Cmd)) *process {
	t.Helper()
	p := launch(t, data, change)
	if p.url == "" {
		t.Fatalf("the server did not start\n%s", p.said(t))
	}
	return p
}

// dataFolder is one that other users can pass through, as /var/lib is.
func dataFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "rampside-app-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "data")
}

func TestASecondServerOnOneDataFolderIsRefusedInPlainWords(t *testing.T) {
	data := dataFolder(t)
	mustLaunch(t, data, nil)
	second := launch(t, data, nil)
	if second.url != "" {
		t.Fatalf("both run: the second is at %s", second.url)
	}
	err := second.stop(t, syscall.SIGTERM)
	if err == nil || !strings.Contains(second.said(t), "another rampside is already using this data folder") {
		t.Errorf("it ended with %v and said:\n%s", err, second.said(t))
	}
}

func TestCommandsRunBesideAServerOnItsPrivateDatabase(t *testing.T) {
	data := dataFolder(t)
	p := mustLaunch(t, data, nil)
	env := settings(t, "RAMPSIDE_DATA", data)
	stdin, in, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintln(in, "saltwater-heron-5")
	if err := in.Close(); err != nil {
		t.Fatal(err)
	}
	var said, token, verified bytes.Buffer
	who := NewUser{Name: "Wren Calloway", SignIn: "wren", Role: actor.Owner}
	if err := User(t.Context(), env, who, stdin, io.Discard, &said); err != nil {
		t.Fatalf("user: %v\n%s", err, said.Bytes())
	}
	if err := Token(t.Context(), env, NewToken{SignIn: "wren", Name: "book-keeping"}, &token, &said); err != nil {
		t.Fatalf("token: %v\n%s", err, said.Bytes())
	}
	if err := Verify(t.Context(), env, &verified, &said); err != nil {
		t.Fatalf("verify: %v\n%s", err, said.Bytes())
	}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, p.url+"/api/v1/me", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+strings.TrimSpace(token.String()))
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if b, err := io.ReadAll(res.Body); err != nil || res.StatusCode != http.StatusOK || !bytes.Contains(b, []byte("Wren Calloway")) {
		t.Errorf("with the token: %d %s %v", res.StatusCode, b, err)
	}
	if err := p.stop(t, syscall.SIGTERM); err != nil {
		t.Errorf("the server ended with %v\n%s", err, p.said(t))
	}
}

// The test process's own user, root or not, is covered by the other tests.
// When it is root, an ordinary user is tried here as well, who has no home
// folder and no variables but the settings.
func TestAnOrdinaryUserCanRunItAndSoCanRoot(t *testing.T) {
	users := []uint32{uint32(os.Geteuid())}
	if os.Geteuid() == 0 {
		users = append(users, 65534) // nobody, on every Debian
	}
	for _, uid := range users {
		t.Run(fmt.Sprintf("user %d", uid), func(t *testing.T) {
			data := dataFolder(t)
			if err := os.MkdirAll(data, 0o711); err != nil {
				t.Fatal(err)
			}
			if err := os.Chown(data, int(uid), -1); err != nil {
				t.Fatal(err)
			}
			p := mustLaunch(t, data, func(cmd *exec.Cmd) {
				if uid != uint32(os.Geteuid()) {
					cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uid, Gid: uid}}
					cmd.Path = readableCopy(t)
				}
			})
			if status, body := get(t, p.url+"/readyz"); status != 200 {
				t.Errorf("%d %s", status, body)
			}
			owner := ownerOfPostgres(t, data)
			if owner == 0 || (uid != 0 && owner != uid) {
				t.Errorf("started by user %d, PostgreSQL runs as user %d", uid, owner)
			}
			if err := p.stop(t, syscall.SIGTERM); err != nil {
				t.Errorf("%v\n%s", err, p.said(t))
			}
		})
	}
}

func ownerOfPostgres(t *testing.T, data string) uint32 {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(data, "postgres", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	pid, _, _ := strings.Cut(string(b), "\n")
	st, err := os.Stat(filepath.Join("/proc", pid))
	if err != nil {
		t.Fatal(err)
	}
	return st.Sys().(*syscall.Stat_t).Uid
}

// readableCopy is this test binary where any user may run it.
func readableCopy(t *testing.T) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(self)
	if err != nil {
		t.Fatal(err)
	}
	dst := filepath.Join(filepath.Dir(dataFolder(t)), "rampside")
	if err := os.WriteFile(dst, b, 0o755); err != nil {
		t.Fatal(err)
	}
	return dst
}
