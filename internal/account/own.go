package account

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/pg"
)

// The names of the writes that take an old secret, which a repeat no longer
// has.
const (
	setPasswordAction = "set password"
	setPINAction      = "set PIN"
)

// Self is what somebody may know of their own sign-in.
type Self struct {
	Name        string
	SignIn      string
	HasPassword bool
	HasPIN      bool
}

// Self reads one's own sign-in.
func (s *Service) Self(ctx context.Context, who actor.Actor) (Self, error) {
	if err := who.Need(actor.OwnSignIn); err != nil {
		return Self{}, err
	}
	p, err := staffByID(ctx, s.db.Pool, who.StaffID, s.db.Now())
	return Self{p.Name, p.SignIn, p.HasPassword, p.HasPIN}, err
}

// ChangePassword changes one's own password, with the old one; one's other
// sessions end. Wrong old ones count as wrong tries to sign in.
func (s *Service) ChangePassword(ctx context.Context, who actor.Actor, old, password string, from From) (actor.StaffID, error) {
	c, signIn, err := s.self(ctx, who, "password_hash")
	if err != nil {
		return 0, err
	}
	if again, err := s.repeated(ctx, who, setPasswordAction); err != nil || again {
		return who.StaffID, err
	}
	if signIn == "" || c.hash == "" {
		return 0, apperr.New(apperr.Forbidden, "you sign in with a PIN only; there is no password to change")
	}
	t, err := s.admit(ctx, signInSubject(signIn), placeOf(from.Address, who.DeviceID), who.StaffID, false)
	if err != nil {
		return 0, err
	}
	if err := s.judge(ctx, t, c, preparePassword(old), from, errWrongPassword); err != nil {
		return 0, oldWrong(err, "old_password", "this is not your password as it is now")
	}
	s.uncount(ctx, t)
	return s.setPassword(ctx, who, who.StaffID, password, from.Token)
}

// ChangePIN changes one's own PIN at a tablet, with the old one.
func (s *Service) ChangePIN(ctx context.Context, who actor.Actor, old, pin string, from From) (actor.StaffID, error) {
	c, _, err := s.self(ctx, who, "pin_hash")
	if err != nil {
		return 0, err
	}
	if again, err := s.repeated(ctx, who, setPINAction); err != nil || again {
		return who.StaffID, err
	}
	if who.DeviceID == 0 || c.hash == "" {
		return 0, apperr.New(apperr.Forbidden, "a PIN is changed on an enrolled tablet, by somebody who has one")
	}
	if pin == "" {
		return 0, apperr.Field("pin", "please give the new PIN")
	}
	t, err := s.admit(ctx, pinSubject(who.StaffID), placeOf(from.Address, who.DeviceID), who.StaffID, true)
	if err != nil {
		return 0, err
	}
	if err := s.judge(ctx, t, c, old, from, errWrongPIN); err != nil {
		return 0, oldWrong(err, "old_pin", "this is not your PIN as it is now")
	}
	s.uncount(ctx, t)
	return s.setPIN(ctx, who, who.StaffID, pin)
}

func (s *Service) self(ctx context.Context, who actor.Actor, column string) (candidate, string, error) {
	if err := who.Need(actor.OwnSignIn); err != nil {
		return candidate{}, "", err
	}
	c := candidate{id: who.StaffID, name: who.Name, role: who.Role, device: who.DeviceID, deviceAs: who.Device}
	var signIn string
	err := s.db.Pool.QueryRow(ctx, `select coalesce(sign_in, ''), coalesce(`+pgx.Identifier{column}.Sanitize()+`, ''), active from staff where id = $1`,
		who.StaffID).Scan(&signIn, &c.hash, &c.active)
	return c, signIn, pg.Explain(err, "member of staff", nil)
}

// oldWrong puts a wrong old secret at its field; whoever asks is signed in.
func oldWrong(err error, field, msg string) error {
	if errors.Is(err, errWrongPassword) || errors.Is(err, errWrongPIN) {
		return apperr.Field(field, "%s", msg)
	}
	return err
}

// repeated tells whether the same request went through before: the old secret
// it brings is then no longer the one that holds.
func (s *Service) repeated(ctx context.Context, who actor.Actor, action string) (yes bool, err error) {
	if who.Key == "" {
		return false, nil
	}
	err = s.db.Pool.QueryRow(ctx, `
		select exists (select from write_key where staff_id = $1 and key = $2 and action = $3 and result is not null)`,
		who.StaffID, who.Key, action).Scan(&yes)
	if err != nil {
		err = fmt.Errorf("look for an earlier request: %w", err)
	}
	return yes, err
}
