package pgserver

import (
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"syscall"
)

// State is what can be seen of a cluster from outside, without touching it.
type State struct {
	Exists  bool   // there is a cluster in the folder
	Major   int    // the PostgreSQL that made it
	Running bool   // a rampside holds its lock
	Real    string // where it really is: dir, or what dir links to
	acct    account
}

// URL is the address of a database in the running cluster.
func (st State) URL(database string) string {
	return address(socketDir(st.Real, st.acct), database)
}

// Look inspects the cluster in dir.
func Look(dir string) (State, error) {
	st := State{Running: InUse(dir)}
	var err error
	if st.Real, err = filepath.EvalSymlinks(dir); err != nil {
		if errors.Is(err, os.ErrNotExist) {
			st.Real, err = dir, nil
		}
		return st, err
	}
	if st.Major, err = clusterMajor(st.Real); err != nil {
		return st, err
	}
	st.Exists = st.Major > 0
	st.acct, err = accountFor(st.Real)
	return st, err
}

// InUse reports whether a process holds the lock of the cluster in dir. A
// folder that has never been used is not in use.
func InUse(dir string) bool {
	f, err := os.Open(lockPath(dir))
	if err != nil {
		return false
	}
	defer f.Close()
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_SH|syscall.LOCK_NB)
	return errors.Is(err, syscall.EWOULDBLOCK)
}

func address(socket, database string) string {
	q := url.Values{"host": {socket}, "port": {"5432"}, "sslmode": {"disable"}}
	u := url.URL{Scheme: "postgres", User: url.User(superuser), Path: "/" + database, RawQuery: q.Encode()}
	return u.String()
}
