package main

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/change"
	"rampside/internal/demo"
	"rampside/internal/jobcard"
)

// measuring is one run.
type measuring struct {
	o        options
	dir, url string
	pool     *pgxpool.Pool
	bin      string
	card     jobcard.CardID
	site     string // the server's address
	server   *exec.Cmd
	client   *http.Client // signed in as the owner
	cookie   string
}

// prepare starts the server as it is shipped, on the same database, and signs
// the owner in. Its connections go through a relay that counts round trips.
func (m *measuring) prepare(ctx context.Context) error {
	// The card of today with the most on it.
	err := m.pool.QueryRow(ctx, `select c.id from card c join line l on l.card_id = c.id left join part p on p.line_id = l.id
		where c.stage = 'in work' group by c.id order by count(*) desc, c.id limit 1`).Scan(&m.card)
	if err != nil {
		return fmt.Errorf("find a card: %w", err)
	}
	if m.site, m.server, err = m.serve(m.url); err != nil {
		return err
	}
	m.client, m.cookie, err = signIn(m.site, "wren")
	return err
}

// serve starts the program on a database and waits until it is ready.
func (m *measuring) serve(database string) (site string, cmd *exec.Cmd, err error) {
	cmd = exec.Command(m.bin, "serve")
	cmd.Env = append(os.Environ(), "DATABASE_URL="+database, "RAMPSIDE_ADDR=127.0.0.1:0", "RAMPSIDE_DATA="+m.dir+"/data",
		"RAMPSIDE_PER_MINUTE=1000000", "RAMPSIDE_LOG=warn", "RAMPSIDE_URL=")
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return "", nil, err
	}
	if err := cmd.Start(); err != nil {
		return "", nil, err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return "", nil, fmt.Errorf("the server did not start: %w", err)
	}
	return strings.TrimSpace(strings.TrimPrefix(line, "Rampside is at ")), cmd, nil
}

func signIn(site, name string) (*http.Client, string, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, "", err
	}
	c := &http.Client{Jar: jar, Timeout: 15 * time.Second}
	res, err := c.PostForm(site+"/sign-in", url.Values{"sign_in": {name}, "password": {demo.Password}})
	if err != nil {
		return nil, "", err
	}
	defer res.Body.Close()
	base, err := url.Parse(site)
	if err != nil {
		return nil, "", err
	}
	for _, k := range jar.Cookies(base) {
		if k.Name == "rampside" {
			return c, k.Name + "=" + k.Value, nil
		}
	}
	return nil, "", fmt.Errorf("%s could not sign in: status %d", name, res.StatusCode)
}

func (m *measuring) cardURL() string {
	return m.site + "/cards/" + strconv.FormatInt(int64(m.card), 10)
}

// sizes counts what one look at each page costs.
func (m *measuring) sizes(context.Context) error {
	r, err := newRelay(m.url)
	if err != nil {
		return err
	}
	defer r.close()
	site, cmd, err := m.serve(r.url)
	if err != nil {
		return err
	}
	defer stop(cmd)
	_, cookie, err := signIn(site, "wren")
	if err != nil {
		return err
	}
	say("\npage                 round trips   bytes   packed")
	for _, path := range []string{"/diary", "/cards/" + strconv.FormatInt(int64(m.card), 10), "/floor", "/days-end", "/book-in"} {
		l := load{URL: site + path, Cookie: cookie, Conns: 1, For: 500 * time.Millisecond}
		if _, err := l.run(); err != nil { // statements are prepared, names remembered
			return err
		}
		before := r.trips()
		plain, err := l.run()
		if err != nil {
			return err
		}
		trips := r.trips() - before
		l.Packed = true
		packed, err := l.run()
		if err != nil {
			return err
		}
		say("%-20s %11.1f %7d %8d", path, float64(trips)/float64(max(1, plain.Asked)), plain.Bytes, packed.Bytes)
	}
	return nil
}

func stop(cmd *exec.Cmd) {
	_ = cmd.Process.Signal(os.Interrupt)
	_ = cmd.Wait()
}

// closedLoop takes the page, the bare handler and pgbench in turn, some
// rounds, and compares the medians.
func (m *measuring) closedLoop(ctx context.Context) error {
	db := change.DB{Now: time.Now}
	sql, err := sqlOfCard(ctx, m.url, db, m.card)
	if err != nil {
		return err
	}
	addr, end, err := bare(ctx, m.url, db)
	if err != nil {
		return err
	}
	defer end()
	for _, conns := range []int{1, 8} {
		page := load{URL: m.cardURL(), Cookie: m.cookie, Conns: conns, For: time.Duration(m.o.seconds) * time.Second, Packed: true}
		plain := load{URL: addr + "/cards/" + strconv.FormatInt(int64(m.card), 10), Conns: conns, For: page.For}
		var pages, bares, benches []float64
		var last, lastBare result
		for range m.o.rounds {
			if last, err = page.run(); err != nil {
				return err
			}
			if lastBare, err = plain.run(); err != nil {
				return err
			}
			bench, err := m.pgbench(sql, m.card)
			if err != nil {
				return err
			}
			if last.Failed+lastBare.Failed > 0 {
				return fmt.Errorf("%d pages and %d bare ones failed", last.Failed, lastBare.Failed)
			}
			pages, bares, benches = append(pages, last.perSecond()), append(bares, lastBare.perSecond()), append(benches, bench)
		}
		p, b, g := median(pages), median(bares), median(benches)
		say("\nthe card's page, %d connection(s), medians of %d rounds of %d s (pgbench always has 8)", conns, m.o.rounds, m.o.seconds)
		say("  page, packed        %8.0f a second   p50 %v  p99 %v", p, ms(last.P50), ms(last.P99))
		say("  bare chi+pgx+templ  %8.0f a second   p50 %v  p99 %v   page/bare    %.2f", b, ms(lastBare.P50), ms(lastBare.P99), p/b)
		say("  pgbench, pipelined  %8.0f a second                              page/pgbench %.2f", g, p/g)
	}
	return nil
}

func median(xs []float64) float64 {
	s := slices.Sorted(slices.Values(xs))
	return s[len(s)/2]
}

func ms(d time.Duration) string { return fmt.Sprintf("%.1f ms", float64(d)/1e6) }

// steadyPages asks for pages a hundred times a second, whatever the server does.
func (m *measuring) steadyPages(context.Context) error {
	say("\n100 requests a second, arriving at random, for %d s each", m.o.steady)
	for _, path := range []string{"/cards/" + strconv.FormatInt(int64(m.card), 10), "/floor"} {
		r, err := load{URL: m.site + path, Cookie: m.cookie, PerSec: 100, For: time.Duration(m.o.steady) * time.Second, Packed: true}.run()
		if err != nil {
			return err
		}
		say("  %-14s %5d asked, %d failed   p50 %v  p99 %v  p99.9 %v", path, r.Asked, r.Failed, ms(r.P50), ms(r.P99), ms(r.P999))
	}
	say("  resident memory of the server: %s", resident(m.server.Process.Pid))
	return nil
}

var rss = regexp.MustCompile(`VmRSS:\s+(\d+) kB`)

func resident(pid int) string {
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return "not known here"
	}
	if f := rss.FindSubmatch(b); f != nil {
		n, _ := strconv.Atoi(string(f[1]))
		return fmt.Sprintf("%d MB", n/1024)
	}
	return "not known here"
}

// steadyTicks ticks lines and opens them again, while another browser listens
// on a second server: how long a save takes, and how long until the other
// screen hears of it.
func (m *measuring) steadyTicks(ctx context.Context) error {
	site, cmd, err := m.serve(m.url)
	if err != nil {
		return err
	}
	defer stop(cmd)
	_, cookie, err := signIn(site, "ida")
	if err != nil {
		return err
	}
	heard := make(chan time.Time, 64)
	if err := listen(ctx, site+"/live?topic=garage", cookie, heard); err != nil {
		return err
	}
	var line int64
	err = m.pool.QueryRow(ctx, `select l.id from line l where l.card_id = $1 and l.struck_at is null
		and not l.safety and l.work_state = 'open'
		and not exists (select from part p where p.line_id = l.id and p.verdict <> 'fits') order by l.position limit 1`, m.card).Scan(&line)
	if err != nil {
		return fmt.Errorf("find a line to tick: %w", err)
	}
	path := fmt.Sprintf("%s/lines/%d/work", m.cardURL(), line)
	m.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	var saves, hears []time.Duration
	failed := 0
	for n := range 400 {
		form := url.Values{"key": {fmt.Sprintf("loadtest-%06d-%06d", os.Getpid(), n)}, "act": {"tick"}}
		if n%2 == 1 {
			form.Set("act", "reopen")
			form.Set("reason", "measured")
		}
		for len(heard) > 0 {
			<-heard
		}
		start := time.Now()
		res, err := m.client.PostForm(path, form)
		if err != nil {
			return err
		}
		_ = res.Body.Close()
		done := time.Now()
		saves = append(saves, done.Sub(start))
		if res.StatusCode != http.StatusSeeOther {
			failed++
			continue
		}
		select {
		case at := <-heard:
			hears = append(hears, max(0, at.Sub(done)))
		case <-time.After(5 * time.Second):
			failed++
		}
	}
	s, h := summary(saves, failed, 0, time.Second), summary(hears, 0, 0, time.Second)
	say("\na line ticked and opened again, %d saves, %d failed", s.Asked, s.Failed)
	say("  saved                               p50 %v  p99 %v", ms(s.P50), ms(s.P99))
	say("  from saved to another server's screen  p50 %v  p99 %v", ms(h.P50), ms(h.P99))
	return nil
}

// listen notes when each event of a live stream arrives.
func listen(ctx context.Context, address, cookie string, heard chan<- time.Time) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return err
	}
	req.Header.Set("Cookie", cookie)
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(res.Body)
	var once sync.Once
	ready := make(chan struct{})
	go func() {
		defer res.Body.Close()
		for lines.Scan() {
			once.Do(func() { close(ready) })
			if strings.HasPrefix(lines.Text(), "data:") {
				select {
				case heard <- time.Now():
				default:
				}
			}
		}
	}()
	<-ready
	return nil
}
