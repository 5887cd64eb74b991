package account

import (
	"context"
	"strconv"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// CreateUser adds somebody to the staff and gives their ID.
func (s *Service) CreateUser(ctx context.Context, who actor.Actor, in NewStaff) (actor.StaffID, error) {
	if err := manage(who); err != nil {
		return 0, err
	}
	garage, err := s.garageName(ctx)
	if err != nil {
		return 0, err
	}
	if err := in.check(garage); err != nil {
		return 0, err
	}
	h, err := s.hashes(ctx, in.Password, in.PIN)
	if err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "add staff", in, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		if err := lockStaff(ctx, tx); err != nil {
			return 0, err
		}
		id, err := insertStaff(ctx, tx, in, h)
		if err != nil {
			return 0, err
		}
		tx.Record("staff added", 0, subjectOf(id), map[string]any{"name": in.Name, "role": in.Role, "sign_in": in.SignIn, "pin": in.PIN != ""})
		return id, nil
	})
}

// EditUser changes somebody's entry. Taking the sign-in away takes the
// password with it and ends their sessions.
func (s *Service) EditUser(ctx context.Context, who actor.Actor, in EditStaff) (actor.StaffID, error) {
	if err := manage(who); err != nil {
		return 0, err
	}
	if err := in.check(); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "edit staff", in, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		if err := lockStaff(ctx, tx); err != nil {
			return 0, err
		}
		was, err := staffByID(ctx, tx, in.ID, tx.At)
		if err != nil {
			return 0, err
		}
		if was.Version != in.Version {
			return 0, apperr.Stale("entry", was)
		}
		if in.SignIn == "" && was.SignIn != "" {
			if err := endSessions(ctx, tx, in.ID, anySession); err != nil {
				return 0, err
			}
		}
		if err := updateStaff(ctx, tx, in); err != nil {
			return 0, err
		}
		if err := keepAnOwner(ctx, tx, was); err != nil {
			return 0, err
		}
		tx.Record("staff changed", 0, subjectOf(in.ID), map[string]any{
			"from": entry{was.Name, was.Role, was.SignIn, int64(was.CostRate)},
			"to":   entry{in.Name, in.Role, in.SignIn, int64(in.CostRate)},
		})
		return in.ID, nil
	})
}

type entry struct {
	Name     string     `json:"name"`
	Role     actor.Role `json:"role"`
	SignIn   string     `json:"sign_in"`
	CostRate int64      `json:"cost_rate_minor"`
}

// SetActive lets somebody in again, or puts them out: their sessions end and
// their tokens are revoked at once. What they did stays on record.
func (s *Service) SetActive(ctx context.Context, who actor.Actor, id actor.StaffID, active bool) (actor.StaffID, error) {
	if err := manage(who); err != nil {
		return 0, err
	}
	in := map[string]any{"id": id, "active": active}
	return change.Do(ctx, s.db, who, "set staff active", in, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		if err := lockStaff(ctx, tx); err != nil {
			return 0, err
		}
		was, err := staffByID(ctx, tx, id, tx.At)
		if err != nil {
			return 0, err
		}
		if was.Active == active {
			return id, nil
		}
		if err := setActive(ctx, tx, id, active); err != nil {
			return 0, err
		}
		if err := keepAnOwner(ctx, tx, was); err != nil {
			return 0, err
		}
		kind := "staff let in again"
		if !active {
			kind = "staff deactivated"
			if err := endSessions(ctx, tx, id, anySession); err != nil {
				return 0, err
			}
			if err := revokeTokensOf(ctx, tx, id); err != nil {
				return 0, err
			}
		}
		tx.Record(kind, 0, subjectOf(id), map[string]any{"name": was.Name})
		return id, nil
	})
}

func subjectOf(id actor.StaffID) string { return "staff:" + strconv.FormatInt(int64(id), 10) }

// keepAnOwner refuses what would leave nobody to let others in.
func keepAnOwner(ctx context.Context, tx *change.Tx, was Staff) error {
	if was.Role != actor.Owner || !was.Active {
		return nil
	}
	ok, err := anOwnerIsLeft(ctx, tx)
	if err != nil || ok {
		return err
	}
	return apperr.Field("role", "this is the last owner who can sign in; make another owner first")
}
