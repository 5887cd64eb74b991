// Command rampside is the whole program: the server and what is needed around
// it. Settings come from the environment; `rampside --help` lists them.
package main

import (
	"context"
	"fmt"
	"os"

	"github.com/alecthomas/kong"

	"rampside/internal/app"
	"rampside/internal/config"
)

type cli struct {
	Serve   serveCmd   `cmd:"" default:"1" help:"Run the server (also without any command)."`
	Migrate migrateCmd `cmd:"" help:"Bring the database's schema up to date and end."`
	Doctor  doctorCmd  `cmd:"" help:"Look at the set-up and say in plain words what is wrong."`
}

type serveCmd struct{}

func (serveCmd) Run(ctx context.Context) error {
	return app.Serve(ctx, os.LookupEnv, os.Stdout, os.Stderr)
}

type migrateCmd struct{}

func (migrateCmd) Run(ctx context.Context) error {
	return app.Migrate(ctx, os.LookupEnv, os.Stdout, os.Stderr)
}

type doctorCmd struct {
	Ready bool `help:"Only ask the running server whether it is ready; for health checks."`
}

func (c doctorCmd) Run(ctx context.Context) error {
	if c.Ready {
		return app.Ready(ctx, os.LookupEnv, os.Stdout)
	}
	return app.Doctor(ctx, os.LookupEnv, os.Stdout)
}

func main() {
	k := kong.Parse(&cli{},
		kong.Name("rampside"),
		kong.Description("Job cards for a small garage.\n\nSettings, from the environment:\n"+config.Help()),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.BindTo(context.Background(), (*context.Context)(nil)))
	if err := k.Run(); err != nil {
		fmt.Fprintln(os.Stderr, "rampside: "+err.Error())
		os.Exit(1)
	}
}
