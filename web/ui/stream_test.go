package ui_test

import (
	"bufio"
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"rampside/web/edge"
	"rampside/web/ui"
)

// listen opens the stream and gives its lines.
func listen(t *testing.T, s *site, query string) (*http.Response, <-chan string) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), "GET", s.URL+"/live?"+query, http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	req.AddCookie(&http.Cookie{Name: "rampside", Value: "technician"})
	req.Header.Set("Accept-Encoding", "gzip")
	res, err := http.DefaultTransport.RoundTrip(req)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = res.Body.Close() })
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		for sc := bufio.NewScanner(res.Body); sc.Scan(); {
			lines <- sc.Text()
		}
	}()
	return res, lines
}

// next waits for a line that begins so.
func next(t *testing.T, lines <-chan string, prefix string) string {
	t.Helper()
	for {
		select {
		case l, open := <-lines:
			if !open {
				t.Fatalf("the stream ended before %q", prefix)
			}
			if strings.HasPrefix(l, prefix) {
				return l
			}
		case <-time.After(10 * time.Second):
			t.Fatalf("nothing that begins with %q", prefix)
		}
	}
}

func TestALivePageHearsOfItsTopicsAndNoOthers(t *testing.T) {
	s := newSite(t)
	res, lines := listen(t, s, "topic=card:1&topic=garage")
	for h, want := range map[string]string{
		"Content-Type": "text/event-stream", "Content-Encoding": "", "X-Accel-Buffering": "no", "Cache-Control": "no-store", "Content-Security-Policy": edge.Policy,
	} {
		if got := res.Header.Get(h); got != want {
			t.Errorf("%s is %q, want %q", h, got, want)
		}
	}
	next(t, lines, "retry:")
	for s.hub.listening() < 2 {
		time.Sleep(time.Millisecond)
	}
	s.hub.say("card:2")
	s.hub.say("card:1")
	if got := next(t, lines, "data:"); got != "data: card:1" {
		t.Errorf("heard %q", got)
	}
	s.hub.say("garage")
	if got := next(t, lines, "data:"); got != "data: garage" {
		t.Errorf("heard %q", got)
	}
	_ = res.Body.Close()
	for deadline := time.Now().Add(10 * time.Second); s.hub.listening() > 0; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("a listener that went away is still subscribed")
		}
	}
}

func TestAStreamEndsWhenTheServerStops(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	s := newSite(t, func(o *ui.Options, _ *edge.Options) { o.Stop = ctx })
	_, lines := listen(t, s, "topic=card:1")
	next(t, lines, "retry:")
	stop()
	select {
	case _, open := <-lines:
		for open {
			_, open = <-lines
		}
	case <-time.After(10 * time.Second):
		t.Fatal("the stream goes on")
	}
}

func TestAStreamOutlivesTheServersWriteDeadline(t *testing.T) {
	s := newSite(t)
	srv := &http.Server{Handler: s.router, WriteTimeout: 300 * time.Millisecond, ReadHeaderTimeout: time.Second}
	addr := serve(t, srv)
	s.URL = "http://" + addr
	_, lines := listen(t, s, "topic=card:1")
	next(t, lines, "retry:")
	time.Sleep(600 * time.Millisecond)
	s.hub.say("card:1")
	next(t, lines, "data: card:1")
}

func TestWhatIsNoTopicIsRefused(t *testing.T) {
	s := newSite(t)
	for query, want := range map[string]int{
		"": 422, "topic=": 422, "topic=Card:1": 422, "topic=card:1%0adata:x": 422, "topic=" + strings.Repeat("a", 99): 422,
		"topic=a&topic=b&topic=c&topic=d&topic=e&topic=f": 422,
	} {
		if got := s.as(t, "technician", "GET", "/live?"+query, nil).StatusCode; got != want {
			t.Errorf("%q: %d, want %d", query, got, want)
		}
	}
	if got := s.as(t, "", "GET", "/live?topic=card:1", func(r *http.Request) { r.Header.Set("Sec-Fetch-Mode", "cors") }).StatusCode; got != 401 {
		t.Errorf("signed out: %d", got)
	}
	if got := s.as(t, "technician", "HEAD", "/live?topic=card:1", nil).StatusCode; got != 422 {
		t.Errorf("asked about: %d", got)
	}
}
