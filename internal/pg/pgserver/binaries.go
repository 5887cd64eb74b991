package pgserver

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// MinMajor is the oldest PostgreSQL that the schema is written for.
const MinMajor = 15

// Binaries is one PostgreSQL server installation on this machine.
type Binaries struct {
	Dir     string // holds postgres and initdb
	Version string // as postgres prints it, such as 15.14
	Major   int
}

// ErrNoBinaries says that no usable PostgreSQL server is installed. Its text
// tells how to install one.
var ErrNoBinaries = errors.New("no PostgreSQL server of version 15 or newer was found on this machine; " +
	"install one (Debian and Ubuntu: apt-get install postgresql) or set DATABASE_URL to a server elsewhere")

// Find returns the newest installed server, MinMajor or newer: the one on
// PATH and those where the distributions put them.
func Find() (Binaries, error) {
	all := findIn(searchDirs())
	if len(all) == 0 {
		return Binaries{}, ErrNoBinaries
	}
	return all[0], nil
}

// findMajor returns an installation of exactly this major version, the only
// kind that can open a cluster made by it.
func findMajor(major int) (Binaries, error) {
	all := findIn(searchDirs())
	for _, b := range all {
		if b.Major == major {
			return b, nil
		}
	}
	return Binaries{}, fmt.Errorf("the database in the data folder was made by PostgreSQL %d, which is not installed here any more; "+
		"install it again (Debian and Ubuntu: apt-get install postgresql-%d)", major, major)
}

func searchDirs() []string {
	var dirs []string
	for _, pattern := range []string{
		"/usr/lib/postgresql/*/bin", // Debian, Ubuntu
		"/usr/pgsql-*/bin",          // the PostgreSQL project's RPMs
		"/usr/local/pgsql/bin",      // built from source
		"/usr/lib/postgresql*/bin",  // SUSE
		"/usr/libexec/postgresql*",  // Alpine
	} {
		found, err := filepath.Glob(pattern)
		if err == nil { // the only error is a malformed pattern
			dirs = append(dirs, found...)
		}
	}
	if p, err := exec.LookPath("postgres"); err == nil {
		if p, err = filepath.EvalSymlinks(p); err == nil {
			dirs = append(dirs, filepath.Dir(p))
		}
	}
	return dirs
}

// findIn keeps the folders that hold a working server, newest first.
func findIn(dirs []string) []Binaries {
	var out []Binaries
	for _, d := range dirs {
		if slices.ContainsFunc(out, func(b Binaries) bool { return b.Dir == d }) {
			continue
		}
		if b, err := inspect(d); err == nil && b.Major >= MinMajor {
			out = append(out, b)
		}
	}
	slices.SortStableFunc(out, func(a, b Binaries) int { return b.Major - a.Major })
	return out
}

var versionLine = regexp.MustCompile(`\(PostgreSQL\) ((\d+)[.\w]*)`)

func inspect(dir string) (Binaries, error) {
	for _, name := range []string{"postgres", "initdb"} {
		if st, err := os.Stat(filepath.Join(dir, name)); err != nil || st.IsDir() {
			return Binaries{}, fmt.Errorf("no %s in %s", name, dir)
		}
	}
	out, err := exec.Command(filepath.Join(dir, "postgres"), "--version").Output()
	if err != nil {
		return Binaries{}, fmt.Errorf("postgres --version in %s: %w", dir, err)
	}
	m := versionLine.FindStringSubmatch(string(out))
	if m == nil {
		return Binaries{}, fmt.Errorf("%s does not look like PostgreSQL: %q", dir, strings.TrimSpace(string(out)))
	}
	major, err := strconv.Atoi(m[2])
	if err != nil {
		return Binaries{}, fmt.Errorf("version of %s: %w", dir, err)
	}
	return Binaries{Dir: dir, Version: m[1], Major: major}, nil
}
