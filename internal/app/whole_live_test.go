package app_test

import (
	"bufio"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"rampside/internal/app/apptest"
	"rampside/web/ui"
)

// listen opens the live line of some topics, and gives what is heard on it
// with the moment of hearing.
func listen(t *testing.T, c *apptest.Client, query string) <-chan heard {
	t.Helper()
	r := c.Request(http.MethodGet, "/live?"+query, nil)
	res, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	if kind := res.Header.Get("Content-Type"); res.StatusCode != http.StatusOK || kind != "text/event-stream" {
		t.Fatalf("the live line: %d of %s", res.StatusCode, kind)
	}
	out := make(chan heard, 1000)
	go func() {
		defer close(out)
		defer func() { _ = res.Body.Close() }()
		lines := bufio.NewScanner(res.Body)
		for lines.Scan() {
			if topic, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				out <- heard{topic, time.Now()}
			}
		}
	}()
	return out
}

type heard struct {
	topic string
	at    time.Time
}

const (
	changes  = 50
	patience = 5 * time.Second // for a busy machine; a second is what is asked
)

// A change through one server is heard at the screens of another, and only
// where it is of their topic.
func TestAChangeOnOneServerIsHeardOnTheOther(t *testing.T) {
	w := openWorld(t)
	second := w.Replica(t)
	card, _ := w.card()
	other, _ := w.card()
	w.Secret(w.Desk)
	desk, owner := w.quickly(w.Desk), w.browser("")
	mine := listen(t, owner.On(second), "topic=card:"+ui.Itoa(card))
	everything := listen(t, owner.On(second), "topic=garage")
	elsewhere := listen(t, owner.On(second), "topic=card:"+ui.Itoa(other))
	drain := func() {
		for quiet := time.After(300 * time.Millisecond); ; {
			select {
			case <-mine:
			case <-everything:
			case <-elsewhere:
			case <-quiet:
				return
			}
		}
	}
	drain() // a line that has only just come up tells everybody to look
	var toHear, afterAnswer []time.Duration
	for i := range changes {
		path := "/cards/" + ui.Itoa(card) + "/parts"
		sent := time.Now()
		a := desk.Post(path, url.Values{"key": {apptest.Key()}, "name": {"Clip " + ui.Itoa(int64(i))}, "qty": {"1"}, "cost": {"0.10"}})
		answered := time.Now()
		if a.Status != http.StatusSeeOther {
			t.Fatalf("POST %s: %d %s", path, a.Status, a.Says())
		}
		for _, line := range []<-chan heard{mine, everything} {
			select {
			case h := <-line:
				if h.topic != "card:"+ui.Itoa(card) && h.topic != "garage" {
					t.Errorf("heard of %q", h.topic)
				}
				toHear = append(toHear, h.at.Sub(sent))
				afterAnswer = append(afterAnswer, h.at.Sub(answered))
			case <-time.After(patience):
				t.Fatalf("change %d was not heard within %v", i, patience)
			}
		}
	}
	slices.Sort(toHear)
	slices.Sort(afterAnswer)
	n := len(toHear)
	t.Logf("%d changes heard on the other server: from sending p50 %v, p99 %v, slowest %v; from its answer p50 %v, p99 %v",
		changes, toHear[n/2], toHear[n*99/100], toHear[n-1], afterAnswer[n/2], afterAnswer[n*99/100])
	select {
	case h := <-elsewhere:
		t.Errorf("another card's screen heard of %q", h.topic)
	default:
	}
}
