package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"rampside/internal/config"
)

// ErrUnwell is what Doctor ends with when at least one thing is wrong. What
// they are has been printed.
var ErrUnwell = errors.New("something is wrong with the set-up, see above")

// verdict of one check.
type verdict string

const (
	good  verdict = "ok"
	note  verdict = "note"  // works, and somebody should know
	wrong verdict = "WRONG" // Rampside does not work, or not safely
)

// finding is one line of the doctor's report.
type finding struct {
	what    string
	verdict verdict
	says    string
}

// report collects findings and prints each as it comes: some take seconds.
type report struct {
	out    io.Writer
	wrongs int
}

func (r *report) add(f finding) {
	if f.verdict == wrong {
		r.wrongs++
	}
	fmt.Fprintf(r.out, "%-6s %-15s %s\n", f.verdict, f.what, strings.ReplaceAll(f.says, "\n", " "))
}

// Doctor looks at everything a server needs and says in plain words what is
// wrong. It changes nothing; a database of ours that is not running is
// started for the look and stopped again.
func Doctor(ctx context.Context, env config.Env, out io.Writer) error {
	r := &report{out: out}
	cfg, err := config.Load(env)
	if err != nil {
		for line := range strings.SplitSeq(err.Error(), "\n") {
			r.add(finding{"settings", wrong, line})
		}
		return ErrUnwell
	}
	r.add(finding{"settings", good, orElse(strings.Join(cfg.Effective(), " "), "none given, all as usual")})
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	for _, f := range checkFolder("data folder", cfg.Data) {
		r.add(f)
	}
	examineDatabase(ctx, cfg, r)
	for _, f := range checkPhotoStore(ctx, cfg) {
		r.add(f)
	}
	for _, f := range checkNetwork(ctx, cfg) {
		r.add(f)
	}
	if r.wrongs > 0 {
		return ErrUnwell
	}
	return nil
}

// Ready asks the server that runs on this machine whether it is ready, for
// container health checks.
func Ready(ctx context.Context, env config.Env, out io.Writer) error {
	cfg, err := config.Load(env)
	if err != nil {
		return err
	}
	status, err := ask(ctx, cfg, "/readyz")
	if err != nil {
		return fmt.Errorf("no server answers at %s: %w", cfg.Addr, err)
	}
	if status != http.StatusOK {
		return fmt.Errorf("the server at %s is not ready (status %d); its log says why", cfg.Addr, status)
	}
	fmt.Fprintln(out, "ready")
	return nil
}

// ask makes a request to the server of this machine. Whatever listens there
// and says nothing is not it.
func ask(ctx context.Context, cfg config.Config, path string) (int, error) {
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+dialable(cfg.Addr)+path, nil)
	if err != nil {
		return 0, err
	}
	res, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(req)
	if err != nil {
		return 0, err
	}
	defer res.Body.Close()
	return res.StatusCode, nil
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
