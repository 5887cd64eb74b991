package pgserver

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// elsewhere holds clusters whose data folder the database's user cannot get
// into, such as one under /root.
const elsewhere = "/var/lib/rampside-clusters"

// MakeFolder makes a folder of ours and those above it that are missing. Root's
// may be passed through by others, because PostgreSQL does not run as root and
// has to get to its part.
func MakeFolder(dir string) error {
	mode := os.FileMode(0o700)
	if os.Geteuid() == 0 {
		mode = 0o711
	}
	if err := os.MkdirAll(dir, mode); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	return nil
}

// place makes sure that the folder that will hold the cluster can be reached
// by its user, and returns its real path. The folder around it is ours, so it
// may be opened for passing through; folders further up are the owner's, so
// when one of those is closed the cluster goes under elsewhere and dir becomes
// a link to it.
func place(dir, elsewhere string, acct account, bin Binaries) (string, error) {
	real, err := filepath.EvalSymlinks(dir)
	if err == nil {
		if err := openForPassing(filepath.Dir(real), acct); err != nil {
			return "", err
		}
		return real, acct.reach(filepath.Dir(real), bin)
	}
	if !errors.Is(err, os.ErrNotExist) {
		return "", fmt.Errorf("data folder: %w", err)
	}
	if dangling, err := os.Readlink(dir); err == nil {
		return "", fmt.Errorf("%s points to %s, which is gone", dir, dangling)
	}
	parent, err := filepath.EvalSymlinks(filepath.Dir(dir))
	if err != nil {
		return "", fmt.Errorf("data folder: %w", err)
	}
	if err := openForPassing(parent, acct); err != nil {
		return "", err
	}
	reachErr := acct.reach(parent, bin)
	if reachErr == nil {
		return filepath.Join(parent, filepath.Base(dir)), nil
	}
	if !acct.switched {
		return "", reachErr
	}
	if err := os.MkdirAll(elsewhere, 0o711); err != nil {
		return "", errors.Join(reachErr, err)
	}
	real = filepath.Join(elsewhere, rand.Text()[:12])
	if err := acct.reach(elsewhere, bin); err != nil {
		return "", errors.Join(reachErr, err)
	}
	if err := os.Symlink(real, dir); err != nil {
		return "", fmt.Errorf("linking to the cluster: %w", err)
	}
	return real, os.Mkdir(real, 0o700)
}

// openForPassing lets others pass through a folder of ours, without being able
// to list it, when the database's user is one of them.
func openForPassing(dir string, acct account) error {
	if !acct.switched {
		return nil
	}
	st, err := os.Stat(dir)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if uid, _ := ownerOf(st); int(uid) != os.Geteuid() || st.Mode().Perm()&0o001 != 0 {
		return nil
	}
	if err := os.Chmod(dir, st.Mode().Perm()|0o001); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	return nil
}

const (
	socketName = "/.s.PGSQL.5432"
	maxSocket  = 107 // bytes of sun_path, less its terminator: unix(7)
)

// socketDir is the private folder of the server's socket: beside the cluster,
// or where that path is too long for a socket, in the user's runtime folder or
// the temporary folder.
func socketDir(cluster string, acct account) string {
	dir := cluster + ".run"
	if len(dir)+len(socketName) <= maxSocket {
		return dir
	}
	sum := sha256.Sum256([]byte(cluster))
	name := "rampside-" + hex.EncodeToString(sum[:6])
	base := os.Getenv("XDG_RUNTIME_DIR")
	if st, err := os.Stat(base); acct.switched || base == "" || err != nil || !st.IsDir() {
		base = os.TempDir()
	}
	dir = filepath.Join(base, name)
	if len(dir)+len(socketName) > maxSocket {
		dir = filepath.Join("/tmp", name)
	}
	return dir
}

// privateDir makes dir with mode 0700 and the account as owner, which is what
// keeps all others away from the socket in it. One that exists and is another's, or a link, is refused: in a shared temporary
// folder anybody can make a name first.
func privateDir(dir string, acct account) error {
	err := os.Mkdir(dir, 0o700)
	if err == nil {
		return acct.own(dir)
	}
	if !errors.Is(err, os.ErrExist) {
		return fmt.Errorf("private folder: %w", err)
	}
	st, err := os.Lstat(dir)
	if err != nil {
		return fmt.Errorf("private folder: %w", err)
	}
	uid, _ := ownerOf(st)
	if !st.IsDir() || (uid != acct.uid && int(uid) != os.Geteuid()) {
		return fmt.Errorf("%s is not a folder of user %s; remove it", dir, acct.name)
	}
	if err := acct.own(dir); err != nil {
		return fmt.Errorf("private folder: %w", err)
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		return fmt.Errorf("private folder: %w", err)
	}
	return nil
}
