package account

import (
	"context"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// SetPassword gives somebody else a new password and ends their sessions.
// One's own is changed with ChangePassword, which asks for the old one.
func (s *Service) SetPassword(ctx context.Context, who actor.Actor, id actor.StaffID, password string) (actor.StaffID, error) {
	if err := manage(who); err != nil {
		return 0, err
	}
	if id == who.StaffID {
		return 0, apperr.New(apperr.Forbidden, "your own password is changed on your own sign-in page, with the old one")
	}
	return s.setPassword(ctx, who, id, password, "")
}

// setPassword ends the person's sessions but the one with the token keep.
func (s *Service) setPassword(ctx context.Context, who actor.Actor, id actor.StaffID, password, keep string) (actor.StaffID, error) {
	of, err := staffByID(ctx, s.db.Pool, id, s.db.Now())
	if err != nil {
		return 0, err
	}
	if of.SignIn == "" {
		return 0, apperr.Field("password", "%s has no sign-in for a password to go with; give one first", of.Name)
	}
	garage, err := s.garageName(ctx)
	if err != nil {
		return 0, err
	}
	if msg := checkPassword(password, of.Name, of.SignIn, garage); msg != "" {
		return 0, apperr.Field("password", "%s", msg)
	}
	h, err := s.hashes(ctx, password, "")
	if err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, setPasswordAction, id, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		if err := setPasswordHash(ctx, tx, id, h.password); err != nil {
			return 0, err
		}
		if err := endSessionsBut(ctx, tx, id, keep); err != nil {
			return 0, err
		}
		tx.Record("password set", 0, subjectOf(id), map[string]any{"name": of.Name})
		return id, nil
	})
}

// SetPIN gives somebody a PIN for the tablets, or takes it away when pin is
// empty. Their sessions on tablets end, and wrong tries are forgotten.
func (s *Service) SetPIN(ctx context.Context, who actor.Actor, id actor.StaffID, pin string) (actor.StaffID, error) {
	if err := manage(who); err != nil {
		return 0, err
	}
	return s.setPIN(ctx, who, id, pin)
}

func (s *Service) setPIN(ctx context.Context, who actor.Actor, id actor.StaffID, pin string) (actor.StaffID, error) {
	kind := "PIN taken away"
	if pin != "" {
		kind = "PIN set"
		if msg := checkPIN(pin); msg != "" {
			return 0, apperr.Field("pin", "%s", msg)
		}
	}
	h, err := s.hashes(ctx, "", pin)
	if err != nil {
		return 0, err
	}
	in := map[string]any{"id": id, "pin": pin != ""}
	return change.Do(ctx, s.db, who, setPINAction, in, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		of, err := staffByID(ctx, tx, id, tx.At)
		if err != nil {
			return 0, err
		}
		if err := setPINHash(ctx, tx, id, h.pin); err != nil {
			return 0, err
		}
		if err := endSessions(ctx, tx, id, tabletSession); err != nil {
			return 0, err
		}
		if err := forgetPINTries(ctx, tx, id); err != nil {
			return 0, err
		}
		tx.Record(kind, 0, subjectOf(id), map[string]any{"name": of.Name})
		return id, nil
	})
}

// ClearPINLock lets somebody try their PIN again on every tablet. The front
// desk may, too.
func (s *Service) ClearPINLock(ctx context.Context, who actor.Actor, id actor.StaffID) (actor.StaffID, error) {
	if err := who.Need(actor.KeepTablets); err != nil {
		return 0, err
	}
	if who.StaffID == id && who.DeviceID != 0 {
		return 0, apperr.New(apperr.Forbidden, "somebody else has to let you try again")
	}
	return change.Do(ctx, s.db, who, "clear PIN lock", id, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		of, err := staffByID(ctx, tx, id, tx.At)
		if err != nil {
			return 0, err
		}
		if err := forgetPINTries(ctx, tx, id); err != nil {
			return 0, err
		}
		tx.Record("PIN lock cleared", 0, subjectOf(id), map[string]any{"name": of.Name, "tries": of.PINTries})
		return id, nil
	})
}

type hashed struct{ password, pin *string }

// hashes is made before the transaction: it is slow on purpose.
func (s *Service) hashes(ctx context.Context, password, pin string) (h hashed, err error) {
	if password != "" {
		p, err := s.hasher.Hash(ctx, preparePassword(password))
		if err != nil {
			return h, err
		}
		h.password = &p
	}
	if pin != "" {
		p, err := s.hasher.Hash(ctx, pin)
		if err != nil {
			return h, err
		}
		h.pin = &p
	}
	return h, nil
}
