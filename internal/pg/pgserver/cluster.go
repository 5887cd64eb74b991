package pgserver

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// superuser is the role inside the private cluster that Rampside signs in as.
const superuser = "rampside"

// clusterMajor reads which PostgreSQL made the cluster in dir; 0 when there is
// none yet.
func clusterMajor(dir string) (int, error) {
	b, err := os.ReadFile(filepath.Join(dir, "PG_VERSION"))
	if errors.Is(err, os.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("database folder: %w", err)
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(b)))
	if err != nil {
		return 0, fmt.Errorf("%s holds no version number: %w", filepath.Join(dir, "PG_VERSION"), err)
	}
	return major, nil
}

// makeCluster runs initdb in a folder beside dir and renames the result into
// place, so that a crash half-way never leaves half a cluster under the name
// that counts.
func makeCluster(dir string, bin Binaries, acct account, fast bool) error {
	if left, err := os.ReadDir(dir); err == nil && len(left) > 0 {
		return fmt.Errorf("%s is not empty and holds no database; choose another data folder", dir)
	}
	fresh := dir + ".new"
	if err := os.RemoveAll(fresh); err != nil {
		return fmt.Errorf("clearing a half-made database: %w", err)
	}
	if err := os.MkdirAll(fresh, 0o700); err != nil {
		return fmt.Errorf("database folder: %w", err)
	}
	if err := acct.own(fresh); err != nil {
		return fmt.Errorf("database folder: %w", err)
	}
	args := []string{
		"-D", fresh, "-U", superuser, "-E", "UTF8", "--locale=C.UTF-8",
		"--auth-local=peer", "--auth-host=reject", "--no-instructions",
	}
	if fast {
		args = append(args, "--no-sync")
	} else {
		args = append(args, "--data-checksums")
	}
	cmd := exec.Command(filepath.Join(bin.Dir, "initdb"), args...)
	cmd.Dir = "/"
	cmd.Env = childEnv(bin)
	acct.apply(cmd)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb as user %s: %w\n%s", acct.name, err, strings.TrimSpace(string(out)))
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("database folder: %w", err)
	}
	if err := os.Rename(fresh, dir); err != nil {
		return fmt.Errorf("database folder: %w", err)
	}
	return syncDir(filepath.Dir(dir))
}

// allowOnly writes who may sign in: over the socket only, and only this
// process's user and the cluster's own, as the kernel names them.
func allowOnly(dir string, acct account) error {
	names := []string{acct.name}
	if acct.switched && !slices.Contains(names, "root") {
		names = append(names, "root")
	}
	var ident strings.Builder
	for _, n := range names {
		fmt.Fprintf(&ident, "rampside %q %s\n", n, superuser)
	}
	for name, text := range map[string]string{
		"pg_hba.conf":   "# written by rampside at every start\nlocal all all peer map=rampside\n",
		"pg_ident.conf": "# written by rampside at every start\n" + ident.String(),
	} {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o600); err != nil {
			return fmt.Errorf("database folder: %w", err)
		}
		if err := acct.own(p); err != nil {
			return fmt.Errorf("database folder: %w", err)
		}
	}
	return nil
}

// childEnv is all that PostgreSQL's programs see of our environment: PGDATA
// and its relatives in ours must not lead them elsewhere.
func childEnv(bin Binaries) []string {
	return []string{"PATH=" + bin.Dir + ":/usr/bin:/bin", "LC_ALL=C.UTF-8", "TZ=UTC"}
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("database folder: %w", err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("database folder: %w", err)
	}
	return nil
}
