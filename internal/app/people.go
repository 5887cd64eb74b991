package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/bill"
	"rampside/internal/change"
	"rampside/internal/config"
)

// withServices opens the database, beside a server or without one, runs f and
// closes it.
func withServices(ctx context.Context, env config.Env, errOut io.Writer, f func(context.Context, Services) error) (err error) {
	cfg, err := config.Load(env)
	if err != nil {
		return err
	}
	log := newLogger(errOut, cfg.LogLevel)
	d, err := joinDatabase(ctx, cfg, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.close(context.WithoutCancel(ctx))) }()
	pool, err := d.ready(ctx, log)
	if err != nil {
		return err
	}
	defer pool.Close()
	return f(ctx, NewServices(&change.DB{Pool: pool, Now: time.Now}, nil, log, Outside{}))
}

// NewUser is what `rampside user` is told.
type NewUser struct {
	Name, SignIn string
	Role         actor.Role
}

// User makes an account for the desk, asking for its password.
func User(ctx context.Context, env config.Env, in NewUser, stdin *os.File, out, errOut io.Writer) error {
	password, err := readSecret(stdin, out, "Password: ")
	if err != nil {
		return err
	}
	return withServices(ctx, env, errOut, func(ctx context.Context, s Services) error {
		id, err := s.Accounts.CreateUser(ctx, actor.Command("user"), account.NewStaff{
			Name: in.Name, SignIn: in.SignIn, Role: in.Role, Password: password,
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%s can sign in as %q (staff number %d).\n", in.Name, account.SignInName(in.SignIn), id)
		return nil
	})
}

// readSecret reads a line without showing it on a terminal, or a line of a
// pipe.
func readSecret(stdin *os.File, out io.Writer, prompt string) (string, error) {
	if term.IsTerminal(int(stdin.Fd())) {
		fmt.Fprint(out, prompt)
		b, err := term.ReadPassword(int(stdin.Fd()))
		fmt.Fprintln(out)
		return string(b), err
	}
	b, err := io.ReadAll(io.LimitReader(stdin, 4096))
	line, _, _ := strings.Cut(string(b), "\n")
	return strings.TrimSuffix(line, "\r"), err
}

// NewToken is what `rampside token` is told.
type NewToken struct {
	SignIn string
	Name   string
	Days   int // 0: until it is revoked
}

// Token makes a token for programs and prints it; it is not shown again.
func Token(ctx context.Context, env config.Env, in NewToken, out, errOut io.Writer) error {
	return withServices(ctx, env, errOut, func(ctx context.Context, s Services) error {
		who := actor.Command("token")
		of, err := s.Accounts.UserBySignIn(ctx, who, in.SignIn)
		if err != nil {
			return err
		}
		made, err := s.Accounts.CreateToken(ctx, who, account.NewToken{Name: in.Name, StaffID: of.ID, Days: in.Days})
		if err != nil {
			return err
		}
		fmt.Fprintln(out, made.Secret)
		return nil
	})
}

// Verify goes through the record of changes and says whether its chain holds,
// and through the numbers of bills, credit notes and receipts for gaps.
func Verify(ctx context.Context, env config.Env, out, errOut io.Writer) error {
	return withServices(ctx, env, errOut, func(ctx context.Context, s Services) error {
		n, broken, err := change.Verify(ctx, s.DB.Pool)
		switch {
		case err != nil:
			return err
		case broken != 0:
			return fmt.Errorf("the record is broken at event %d: that event, or one before it, was altered or removed", broken)
		}
		fmt.Fprintf(out, "The record holds: %d events, each following from the one before.\n", n)
		series, err := bill.Numbers(ctx, s.DB.Pool)
		if err != nil {
			return err
		}
		for _, one := range series {
			if !one.Holds() {
				return fmt.Errorf("the numbers of the series %s do not hold: %d were given out and %d are there; missing are %v", one.Series, one.Given, one.Found, one.Missing)
			}
			fmt.Fprintf(out, "The numbers of the series %s hold: %d, none missing.\n", one.Series, one.Given)
		}
		return nil
	})
}
