// Command rampside is the whole program: the server and what is needed around
// it. Settings come from the environment; `rampside --help` lists them.
package main

import (
	"context"
	"fmt"
	"os"

	"github.com/alecthomas/kong"

	"rampside/internal/actor"
	"rampside/internal/app"
	"rampside/internal/config"
)

type cli struct {
	Serve   serveCmd   `cmd:"" default:"1" help:"Run the server (also without any command)."`
	Migrate migrateCmd `cmd:"" help:"Bring the database's schema up to date and end."`
	Doctor  doctorCmd  `cmd:"" help:"Look at the set-up and say in plain words what is wrong."`
	Demo    demoCmd    `cmd:"" help:"Make the demo garage in an empty database and print its sign-ins."`
	User    userCmd    `cmd:"" help:"Make an account; the password is asked for, or read from standard input."`
	Token   tokenCmd   `cmd:"" help:"Make a token for a program that uses the interface, and print it once."`
	Verify  verifyCmd  `cmd:"" help:"Check the record of changes, or how good forecasts are."`
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

type demoCmd struct {
	Seed uint64 `default:"1" help:"The same seed makes the same garage."`
}

func (c demoCmd) Run(ctx context.Context) error {
	return app.Demo(ctx, os.LookupEnv, c.Seed, os.Stdout, os.Stderr)
}

type userCmd struct {
	Name   string `arg:"" help:"Their name, as cards show it."`
	SignIn string `arg:"" help:"What they type to sign in."`
	Role   string `enum:"owner,desk,technician" default:"owner" help:"owner, desk or technician."`
}

func (c userCmd) Run(ctx context.Context) error {
	in := app.NewUser{Name: c.Name, SignIn: c.SignIn, Role: actor.Role(c.Role)}
	return app.User(ctx, os.LookupEnv, in, os.Stdin, os.Stdout, os.Stderr)
}

type tokenCmd struct {
	SignIn string `arg:"" help:"Whose rights it has: what they type to sign in."`
	Name   string `arg:"" help:"What it is for."`
	Days   int    `default:"365" help:"How long it works; 0 until it is revoked."`
}

func (c tokenCmd) Run(ctx context.Context) error {
	in := app.NewToken{SignIn: c.SignIn, Name: c.Name, Days: c.Days}
	return app.Token(ctx, os.LookupEnv, in, os.Stdout, os.Stderr)
}

type verifyCmd struct {
	Record   verifyRecordCmd   `cmd:"" default:"1" help:"Check that nothing in the record of changes was altered or removed (also without this word)."`
	Forecast verifyForecastCmd `cmd:"" help:"Try the forecast on garages that are made up, and print how good it was; minutes, no database."`
}

type verifyForecastCmd struct {
	Garages int    `default:"8" help:"How many garages, 1 to 200."`
	Days    int    `default:"40" help:"How many days of each are scored, 1 to 1000."`
	Seed    uint64 `default:"1" help:"The same seed makes the same garages."`
	Men     int    `default:"0" help:"How many technicians each has, 1 to 20; 0 for three to five."`
	Draws   int    `default:"200" help:"How many ways of each day the oracle sees, 20 to 10000."`
}

func (c verifyForecastCmd) Run() error {
	return app.VerifyForecast(app.ForecastTrial(c), os.Stdout, os.Stderr)
}

type verifyRecordCmd struct{}

func (verifyRecordCmd) Run(ctx context.Context) error {
	return app.Verify(ctx, os.LookupEnv, os.Stdout, os.Stderr)
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
