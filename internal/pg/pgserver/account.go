package pgserver

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
)

// account is the operating-system user that PostgreSQL runs as. PostgreSQL
// refuses to run as root, so a root process hands it to somebody else.
type account struct {
	uid, gid uint32
	name     string
	switched bool // it is not the user this process runs as
}

// accountFor chooses who runs the cluster in dir: ourselves when we are not
// root; else the owner of a cluster that exists, so that a data folder once
// filled by an ordinary user goes on working; else the user postgres, which
// the distribution's package makes; else nobody.
func accountFor(dir string) (account, error) {
	if os.Geteuid() != 0 {
		name := strconv.Itoa(os.Geteuid())
		if u, err := user.LookupId(name); err == nil {
			name = u.Username
		}
		return account{uid: uint32(os.Geteuid()), gid: uint32(os.Getegid()), name: name}, nil
	}
	if st, err := os.Stat(dir); err == nil {
		if uid, _ := ownerOf(st); uid != 0 {
			u, err := user.LookupId(strconv.FormatUint(uint64(uid), 10))
			if err != nil {
				return account{}, fmt.Errorf("%s belongs to user number %d, who does not exist on this machine: %w", dir, uid, err)
			}
			return switchTo(u)
		}
	}
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			return switchTo(u)
		}
	}
	return account{}, errors.New("PostgreSQL does not run as root and there is neither a user postgres nor nobody to run it as; " +
		"install the distribution's PostgreSQL package, or start as an ordinary user")
}

func switchTo(u *user.User) (account, error) {
	uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
	gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
	if err := errors.Join(err1, err2); err != nil {
		return account{}, fmt.Errorf("numbers of user %s: %w", u.Username, err)
	}
	return account{uid: uint32(uid), gid: uint32(gid), name: u.Username, switched: true}, nil
}

// apply makes cmd run as the account.
func (a account) apply(cmd *exec.Cmd) {
	if cmd.SysProcAttr == nil {
		cmd.SysProcAttr = &syscall.SysProcAttr{}
	}
	if a.switched {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: a.uid, Gid: a.gid}
	}
}

// own gives path to the account.
func (a account) own(path string) error {
	if !a.switched {
		return nil
	}
	return os.Chown(path, int(a.uid), int(a.gid))
}

// reach says whether the account can get into dir, by letting it try: that
// also covers access lists, mounts and whatever else the kernel knows.
func (a account) reach(dir string, bin Binaries) error {
	cmd := exec.Command(filepath.Join(bin.Dir, "postgres"), "--version")
	cmd.Dir = dir
	a.apply(cmd)
	if err := cmd.Run(); err != nil {
		if errors.Is(err, os.ErrPermission) {
			return fmt.Errorf("the user %s, who runs the database, cannot get into %s", a.name, dir)
		}
		return fmt.Errorf("running postgres as user %s: %w", a.name, err)
	}
	return nil
}

func ownerOf(st os.FileInfo) (uid, gid uint32) {
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, 0
	}
	return sys.Uid, sys.Gid
}
