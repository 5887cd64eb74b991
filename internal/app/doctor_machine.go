package app

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"syscall"

	"rampside/internal/blob"
	"rampside/internal/config"
)

// Free space below which the doctor speaks up, in bytes.
const (
	littleRoom = 2 << 30
	noRoom     = 200 << 20
)

// checkFolder looks at who may write to a folder and how much room it has. A
// folder that is not there yet is judged by the nearest one above it.
func checkFolder(what, dir string) []finding {
	there := dir
	st, err := os.Stat(there)
	for errors.Is(err, os.ErrNotExist) && there != "/" {
		there = filepath.Dir(there)
		st, err = os.Stat(there)
	}
	switch {
	case err != nil:
		return []finding{{what, wrong, err.Error()}}
	case !st.IsDir():
		return []finding{{what, wrong, there + " is a file, not a folder"}}
	}
	const write = 2 // W_OK of access(2)
	if err := syscall.Access(there, write); err != nil {
		who, _ := os.Hostname()
		return []finding{{what, wrong, fmt.Sprintf("%s cannot be written to by user number %d on %s: %v; change its owner, or choose another folder", there, os.Geteuid(), who, err)}}
	}
	says := dir
	if there != dir {
		says += " is made at the first start"
	} else if st.Mode().Perm()&0o022 != 0 {
		return []finding{{what, wrong, fmt.Sprintf("%s may be written to by other users (mode %v); run: chmod go-w %s", dir, st.Mode().Perm(), dir)}}
	}
	return []finding{{what, good, says}, room(there)}
}

func room(dir string) finding {
	var fs syscall.Statfs_t
	if err := syscall.Statfs(dir, &fs); err != nil {
		return finding{"disk", wrong, err.Error()}
	}
	free := fs.Bavail * uint64(fs.Bsize)
	says := fmt.Sprintf("%.1f GB free for %s", float64(free)/1e9, dir)
	switch {
	case free < noRoom:
		return finding{"disk", wrong, says + "; make room, the database stops when it is full"}
	case free < littleRoom:
		return finding{"disk", note, says + ", which is little"}
	}
	return finding{"disk", good, says}
}

func checkPhotoStore(ctx context.Context, cfg config.Config) []finding {
	if cfg.Photos.Folder() {
		if _, err := os.Stat(cfg.Photos.Where); errors.Is(err, os.ErrNotExist) {
			return checkFolder("photos", cfg.Photos.Where)[:1]
		}
	}
	s, err := blob.OpenStore(cfg.Photos.Where, blob.Creds{AccessKey: cfg.Photos.Key, SecretKey: cfg.Photos.Secret})
	if err != nil {
		return []finding{{"photos", wrong, err.Error()}}
	}
	defer s.Close()
	if err := s.Check(ctx); err != nil {
		return []finding{{"photos", wrong, "a file cannot be written and read back: " + err.Error()}}
	}
	return []finding{{"photos", good, "a file was written and read back at " + cfg.Photos.Where}}
}

func checkNetwork(ctx context.Context, cfg config.Config) []finding {
	out := []finding{checkAddr(ctx, cfg), checkPublic(cfg)}
	return append(out, checkMail(ctx, cfg))
}

func checkAddr(ctx context.Context, cfg config.Config) finding {
	l, err := listen(ctx, cfg.Addr)
	if err == nil {
		l.Close()
		return finding{"address", good, cfg.Addr + " is free"}
	}
	status, askErr := ask(ctx, cfg, "/healthz")
	if askErr == nil && status == http.StatusOK {
		return finding{"address", good, "a server answers at " + cfg.Addr}
	}
	return finding{"address", wrong, err.Error()}
}

// checkPublic says what a browser will not do at this address. Secure
// contexts are HTTPS and this very machine:
// https://www.w3.org/TR/secure-contexts/#is-origin-trustworthy
func checkPublic(cfg config.Config) finding {
	host := cfg.URL.Hostname()
	ip := net.ParseIP(host)
	local := host == "localhost" || (ip != nil && ip.IsLoopback())
	switch {
	case cfg.HTTPS():
		return finding{"public address", good, cfg.URL.String()}
	case local:
		return finding{"public address", note, cfg.URL.String() + " works on this machine only; set RAMPSIDE_URL for tablets and other computers"}
	}
	return finding{"public address", note, cfg.URL.String() + " is without HTTPS: others on the network can read what is sent, " +
		"cookies are not marked secure, and tablets cannot work without the network; put a proxy with HTTPS before it (deploy/ has an example)"}
}

// dialable turns an address to listen on into one to connect to.
func dialable(addr string) string {
	host, port, err := net.SplitHostPort(addr)
	if ip := net.ParseIP(host); err == nil && (host == "" || (ip != nil && ip.IsUnspecified())) {
		return net.JoinHostPort("localhost", port)
	}
	return addr
}
