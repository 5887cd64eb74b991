package account

import (
	"context"
	"fmt"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// NewOwner is what the first start asks for.
type NewOwner struct {
	Garage   string
	Name     string
	SignIn   string
	Password string `json:"-"`
}

const garageNameMax = 120

// NeedsOwner tells whether nobody is on the staff yet, so that the first start
// asks for the garage's owner.
func (s *Service) NeedsOwner(ctx context.Context) (bool, error) {
	var none bool
	if err := s.db.Pool.QueryRow(ctx, `select not exists (select from staff)`).Scan(&none); err != nil {
		return false, fmt.Errorf("look for staff: %w", err)
	}
	return none, nil
}

// FirstOwner makes the garage's owner while there is no staff at all. Asked
// several times at once, exactly one wins; the others get a Conflict.
func (s *Service) FirstOwner(ctx context.Context, in NewOwner) (actor.StaffID, error) {
	taken := apperr.New(apperr.Conflict, "this garage has its owner already; please sign in")
	none, err := s.NeedsOwner(ctx)
	if err != nil {
		return 0, err
	}
	if !none {
		return 0, taken
	}
	staff, err := in.check()
	if err != nil {
		return 0, err
	}
	h, err := s.hashes(ctx, staff.Password, "")
	if err != nil {
		return 0, err
	}
	who := actor.Actor{Name: staff.Name, Role: actor.Owner, Via: actor.ViaPage, Device: "first start"}
	return change.Do(ctx, s.db, who, "first owner", in, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		if err := lockStaff(ctx, tx); err != nil {
			return 0, err
		}
		var none bool
		if err := tx.QueryRow(ctx, `select not exists (select from staff)`).Scan(&none); err != nil {
			return 0, fmt.Errorf("look for staff: %w", err)
		}
		if !none {
			return 0, taken
		}
		id, err := insertStaff(ctx, tx, staff, h)
		if err != nil {
			return 0, err
		}
		// The owner begins the record as themselves.
		tx.Who.StaffID = id
		if s.found != nil {
			if err := s.found(ctx, tx, in.Garage); err != nil {
				return 0, err
			}
		}
		tx.Record("staff added", 0, subjectOf(id), map[string]any{"name": staff.Name, "role": staff.Role, "sign_in": staff.SignIn, "first": true})
		return id, nil
	})
}

func (in *NewOwner) check() (NewStaff, error) {
	f := apperr.Fields{}
	in.Garage = f.Line("garage", in.Garage, garageNameMax)
	f.Must("garage", in.Garage, "the garage's name")
	staff := NewStaff{Name: in.Name, Role: actor.Owner, SignIn: in.SignIn, Password: in.Password}
	if in.Password == "" {
		f.Add("password", "please choose a password")
	}
	f.Merge("", staff.check(in.Garage))
	return staff, f.Err()
}
