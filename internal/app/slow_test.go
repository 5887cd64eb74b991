package app

import (
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// slow is how many clients of each kind take their time.
const slow = 170

// TestFiveHundredClientsThatTakeTheirTimeHoldNobodyUp connects clients that
// send a header byte by byte, clients that announce a form and send it byte by
// byte, and clients that ask for much and read nothing. Meanwhile everybody
// else is served, and the server parts with every one of them.
func TestFiveHundredClientsThatTakeTheirTimeHoldNobodyUp(t *testing.T) {
	p := mustLaunch(t, dataFolder(t), func(cmd *exec.Cmd) { cmd.Env = append(cmd.Env, "RAMPSIDE_PER_MINUTE=1000000") })
	host := strings.TrimPrefix(p.url, "http://")
	status, page := get(t, p.url+"/welcome")
	script := cutOut(page, `src="`, `"`)
	if status != http.StatusOK || script == "" {
		t.Fatalf("%d, no script in\n%s", status, page)
	}
	dial := func() net.Conn {
		c, err := net.Dial("tcp", host)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		return c
	}
	began := time.Now()
	var hanging sync.WaitGroup
	left := make(chan time.Duration, 3*slow)
	trickle := func(head, drop string) {
		c := dial()
		hanging.Go(func() {
			if _, err := io.WriteString(c, head); err != nil {
				t.Error(err)
			}
			gone := make(chan struct{})
			go func() {
				defer close(gone)
				_ = c.SetReadDeadline(began.Add(time.Minute))
				if _, err := io.Copy(io.Discard, c); errors.Is(err, os.ErrDeadlineExceeded) {
					t.Errorf("after a minute the server still waits for %.20q", head)
				}
			}()
			for {
				select {
				case <-gone:
					left <- time.Since(began)
					return
				case <-time.After(300 * time.Millisecond):
					_, _ = io.WriteString(c, drop) // fails once the server has closed
				}
			}
		})
	}
	var deaf []net.Conn
	for range slow {
		trickle("GET /welcome HTTP/1.1\r\nHost: "+host+"\r\nX-Slow: ", "a")
		trickle("POST /sign-in HTTP/1.1\r\nHost: "+host+"\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 5000\r\n\r\n", "a")
		c := dial()
		if err := c.(*net.TCPConn).SetReadBuffer(4096); err != nil {
			t.Fatal(err)
		}
		_ = c.SetWriteDeadline(began.Add(time.Minute))
		if _, err := io.WriteString(c, strings.Repeat("GET "+script+" HTTP/1.1\r\nHost: "+host+"\r\n\r\n", 400)); err != nil {
			t.Fatal(err)
		}
		deaf = append(deaf, c)
	}
	// Whoever does not dawdle is served all the while.
	var took []time.Duration
	done := make(chan struct{})
	go func() { hanging.Wait(); close(done) }()
	for waiting := true; waiting; {
		at := time.Now()
		if status, _ := get(t, p.url+"/welcome"); status != http.StatusOK {
			t.Fatalf("a page was answered with %d", status)
		}
		took = append(took, time.Since(at))
		select {
		case <-done:
			waiting = false
		case <-time.After(20 * time.Millisecond):
		}
	}
	close(left)
	var last time.Duration
	for d := range left {
		last = max(last, d)
	}
	// By now those that read nothing have been given up too: what they can
	// still read is what was under way, and then the end.
	for _, c := range deaf {
		_ = c.SetReadDeadline(time.Now().Add(20 * time.Second))
		if n, err := io.Copy(io.Discard, c); errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("the server still holds a client that read nothing; it took %d bytes since", n)
		}
	}
	slices.Sort(took)
	t.Logf("%d pages meanwhile, half within %v, 99 in 100 within %v; the last slow client was parted with after %v",
		len(took), took[len(took)/2], took[len(took)*99/100], last)
	if last > readTimeout+readHeaderTimeout {
		t.Errorf("a slow client was kept for %v", last)
	}
}

// cutOut is what stands between two pieces of text, "" when they are not there.
func cutOut(s, after, before string) string {
	_, rest, ok := strings.Cut(s, after)
	if !ok {
		return ""
	}
	out, _, _ := strings.Cut(rest, before)
	return out
}
