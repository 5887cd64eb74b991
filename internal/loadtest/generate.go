package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"sync"
	"time"
)

// load is one kind of load, made by a process of its own.
type load struct {
	URL    string
	Cookie string
	Conns  int           // at once
	PerSec float64       // 0: each connection asks again at once
	For    time.Duration // how long
	Packed bool          // ask for gzip
}

// result is what came of a load. Times are those of the answers, measured
// from when a request was due.
type result struct {
	Asked, Failed int
	Seconds       float64
	P50, P99      time.Duration
	P999, Max     time.Duration
	Bytes         int
}

func (r result) perSecond() float64 { return float64(r.Asked) / r.Seconds }

func (l load) run() (result, error) {
	spec, err := json.Marshal(l)
	if err != nil {
		return result{}, err
	}
	self, err := os.Executable()
	if err != nil {
		return result{}, err
	}
	cmd := exec.Command(self, "-generate", string(spec))
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return result{}, fmt.Errorf("make load: %w", err)
	}
	var r result
	return r, json.Unmarshal(out, &r)
}

func generateLoad(spec string) error {
	var l load
	if err := json.Unmarshal([]byte(spec), &l); err != nil {
		return err
	}
	g := &generator{l: l, client: &http.Client{
		Timeout:   10 * time.Second,
		Transport: &http.Transport{MaxIdleConnsPerHost: 256, DisableCompression: true},
	}}
	start := time.Now()
	if l.PerSec > 0 {
		g.open(start)
	} else {
		g.closed(start)
	}
	return json.NewEncoder(os.Stdout).Encode(g.result(time.Since(start)))
}

type generator struct {
	l      load
	client *http.Client

	mu     sync.Mutex
	took   []time.Duration
	failed int
	bytes  int
}

// closed has every connection ask again as soon as it was answered. It writes
// the same bytes each time and looks at little of the answer: generator,
// server and database share the machine, and what a client takes is taken
// from them.
func (g *generator) closed(start time.Time) {
	var wg sync.WaitGroup
	for range g.l.Conns {
		wg.Go(func() {
			if err := g.again(start); err != nil {
				fmt.Fprintln(os.Stderr, "load:", err)
				g.note(0, 0, false)
			}
		})
	}
	wg.Wait()
}

// again asks over one connection until the time is up.
func (g *generator) again(start time.Time) error {
	req, err := g.request()
	if err != nil {
		return err
	}
	var wire bytes.Buffer
	if err := req.Write(&wire); err != nil {
		return err
	}
	conn, err := net.Dial("tcp", req.URL.Host)
	if err != nil {
		return err
	}
	defer conn.Close()
	in := bufio.NewReaderSize(conn, 64<<10)
	for time.Since(start) < g.l.For {
		asked := time.Now()
		if _, err := conn.Write(wire.Bytes()); err != nil {
			return err
		}
		res, err := http.ReadResponse(in, req)
		if err != nil {
			return err
		}
		n, err := io.Copy(io.Discard, res.Body)
		if err != nil {
			return err
		}
		_ = res.Body.Close()
		g.note(time.Since(asked), int(n), res.StatusCode == http.StatusOK)
	}
	return nil
}

func (g *generator) request() (*http.Request, error) {
	req, err := http.NewRequest(http.MethodGet, g.l.URL, nil)
	if err != nil {
		return nil, err
	}
	if g.l.Cookie != "" {
		req.Header.Set("Cookie", g.l.Cookie)
	}
	if g.l.Packed {
		req.Header.Set("Accept-Encoding", "gzip")
	}
	return req, nil
}

// open asks at random moments (a Poisson process), whether or not the last
// answer is there: a slow server is not spared.
func (g *generator) open(start time.Time) {
	var wg sync.WaitGroup
	at := start
	for {
		at = at.Add(time.Duration(rand.ExpFloat64() / g.l.PerSec * float64(time.Second)))
		if at.Sub(start) > g.l.For {
			break
		}
		time.Sleep(time.Until(at))
		due := at
		wg.Go(func() { g.ask(due) })
	}
	wg.Wait()
}

func (g *generator) ask(due time.Time) {
	req, err := g.request()
	if err != nil {
		g.note(0, 0, false)
		return
	}
	res, err := g.client.Do(req)
	if err != nil {
		g.note(time.Since(due), 0, false)
		return
	}
	n, err := io.Copy(io.Discard, res.Body)
	_ = res.Body.Close()
	g.note(time.Since(due), int(n), err == nil && res.StatusCode == http.StatusOK)
}

func (g *generator) note(took time.Duration, n int, ok bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.took = append(g.took, took)
	if !ok {
		g.failed++
	}
	g.bytes = max(g.bytes, n)
}

func (g *generator) result(took time.Duration) result {
	return summary(g.took, g.failed, g.bytes, took)
}

func summary(took []time.Duration, failed, bytes int, whole time.Duration) result {
	slices.Sort(took)
	at := func(q float64) time.Duration {
		if len(took) == 0 {
			return 0
		}
		return took[min(int(q*float64(len(took))), len(took)-1)]
	}
	return result{
		Asked: len(took), Failed: failed, Seconds: whole.Seconds(), P50: at(0.5), P99: at(0.99), P999: at(0.999), Max: at(1), Bytes: bytes,
	}
}
