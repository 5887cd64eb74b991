package main

import (
	"encoding/binary"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"

	"github.com/jackc/pgx/v5/pgxpool"
)

// relay stands between a server and its database and counts round trips: each
// ends with the database saying that it is ready for the next query (message
// Z of PostgreSQL's protocol, documentation chapter "Message Formats").
type relay struct {
	url   string
	dir   string
	l     net.Listener
	count atomic.Int64
}

func newRelay(database string) (*relay, error) {
	cfg, err := pgxpool.ParseConfig(database)
	if err != nil {
		return nil, err
	}
	c := cfg.ConnConfig
	target := filepath.Join(c.Host, ".s.PGSQL."+strconv.Itoa(int(c.Port)))
	dir, err := os.MkdirTemp("", "relay-")
	if err != nil {
		return nil, err
	}
	r := &relay{dir: dir}
	if r.l, err = net.Listen("unix", filepath.Join(dir, ".s.PGSQL.5432")); err != nil {
		return nil, err
	}
	r.url = "postgres://" + c.User + "@/" + c.Database + "?" + url.Values{"host": {dir}, "port": {"5432"}, "sslmode": {"disable"}}.Encode()
	go func() {
		for {
			from, err := r.l.Accept()
			if err != nil {
				return
			}
			to, err := net.Dial("unix", target)
			if err != nil {
				_ = from.Close()
				continue
			}
			go r.pass(from, to)
		}
	}()
	return r, nil
}

func (r *relay) trips() int64 { return r.count.Load() }

func (r *relay) close() {
	_ = r.l.Close()
	_ = os.RemoveAll(r.dir)
}

func (r *relay) pass(from, to net.Conn) {
	var once sync.Once
	end := func() { _ = from.Close(); _ = to.Close() }
	go func() {
		_, _ = io.Copy(to, from)
		once.Do(end)
	}()
	r.answers(from, to)
	once.Do(end)
}

// answers passes the database's messages on one by one, until a line breaks.
func (r *relay) answers(client io.Writer, db io.Reader) {
	head := make([]byte, 5)
	for {
		if _, err := io.ReadFull(db, head); err != nil {
			return
		}
		n := binary.BigEndian.Uint32(head[1:])
		if n < 4 || n > 1<<28 {
			return
		}
		body := make([]byte, int(n)-4)
		if _, err := io.ReadFull(db, body); err != nil {
			return
		}
		if head[0] == 'Z' {
			r.count.Add(1)
		}
		if _, err := client.Write(slices.Concat(head, body)); err != nil {
			return
		}
	}
}
