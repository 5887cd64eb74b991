package app

import (
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/signal"
	"syscall"

	"rampside/internal/config"
)

// Serve runs a server until SIGTERM or SIGINT, then stops it in good order. A
// second signal ends it at once.
func Serve(ctx context.Context, env config.Env, out, errOut io.Writer) error {
	cfg, err := config.Load(env)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGTERM, os.Interrupt)
	defer stop()
	collectSeldom(env)
	log := newLogger(errOut, cfg.LogLevel)
	log.Info("starting", "settings", cfg.Effective(), "data", cfg.Data)
	a, err := Start(ctx, cfg, log)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Rampside is at %s\n", a.shown())
	select {
	case <-ctx.Done():
		stop()
		log.Info("stopping")
		a.drain()
	case err = <-a.failed:
	}
	if cerr := a.Close(context.WithoutCancel(ctx)); cerr != nil {
		log.Error("stopped, not all in order", "error", cerr)
	}
	log.Info("stopped")
	return err
}

// shown is the address to print: the public one when it was set, else the one
// that is really listened on, which matters when the port was 0.
func (a *App) shown() string {
	u := *a.cfg.URL
	if _, port, err := net.SplitHostPort(a.listener.Addr().String()); err == nil && !a.cfg.URLGiven {
		u.Host = net.JoinHostPort(u.Hostname(), port)
	}
	return u.String()
}

// Migrate brings the schema up to date and ends.
func Migrate(ctx context.Context, env config.Env, out, errOut io.Writer) error {
	cfg, err := config.Load(env)
	if err != nil {
		return err
	}
	log := newLogger(errOut, cfg.LogLevel)
	d, err := openDatabase(ctx, cfg, log)
	if err != nil {
		return err
	}
	if err := d.migrate(ctx, log); err != nil {
		_ = d.close(ctx) // the first error is the one to tell
		return err
	}
	if err := d.close(ctx); err != nil {
		return err
	}
	fmt.Fprintln(out, "The schema is up to date.")
	return nil
}
