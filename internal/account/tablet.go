package account

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// Tablet is an enrolled tablet.
type Tablet struct {
	ID         actor.DeviceID
	Name       string
	EnrolledBy string
	EnrolledAt time.Time
	// LastSeen is nil before its first use.
	LastSeen *time.Time
	// SignedIn counts who is signed in at it.
	SignedIn int
}

// Enrolled is a tablet that was just enrolled.
type Enrolled struct {
	ID   actor.DeviceID
	Name string
	// Secret goes into the tablet's cookie, until Until.
	Secret string `json:"-"`
	Until  time.Time
}

const (
	tabletNameMax = 60
	tabletsMax    = 100
	// tabletFor is how long a tablet stays enrolled without anybody signing in
	// at it; browsers keep no cookie longer than 400 days.
	tabletFor = 400 * 24 * time.Hour
)

// EnrolTablet makes the browser that asks a tablet of the garage. The session
// that asked works no more there: a tablet has sessions of its own. A repeat
// of the request gets a new secret, since the first may not have arrived.
func (s *Service) EnrolTablet(ctx context.Context, who actor.Actor, name string) (Enrolled, error) {
	if err := who.Need(actor.KeepTablets); err != nil {
		return Enrolled{}, err
	}
	if who.StaffID == 0 {
		return Enrolled{}, apperr.New(apperr.Forbidden, "a tablet is enrolled by somebody who is signed in at it")
	}
	if who.DeviceID != 0 {
		return Enrolled{}, apperr.New(apperr.Conflict, "this tablet is enrolled already, as %s", who.Device)
	}
	f := apperr.Fields{}
	name = f.Line("name", name, tabletNameMax)
	f.Must("name", name, "the tablet's name, such as where it hangs")
	if err := f.Err(); err != nil {
		return Enrolled{}, err
	}
	secret, err := s.token()
	if err != nil {
		return Enrolled{}, err
	}
	made, err := change.Do(ctx, s.db, who, "enrol tablet", name, func(ctx context.Context, tx *change.Tx) (Enrolled, error) {
		e := Enrolled{Name: name, Secret: secret, Until: tx.At.Add(tabletFor)}
		err := tx.QueryRow(ctx, `
			insert into device (name, token_sha256, enrolled_by, enrolled_at) values ($1, $2, $3, $4) returning id`,
			name, fingerprint(secret), who.StaffID, tx.At).Scan(&e.ID)
		if err != nil {
			return e, pg.Explain(err, "enrol a tablet", map[string]*apperr.Error{
				"device_name_once": apperr.Field("name", "there is a tablet of that name already"),
			})
		}
		tx.Record("tablet enrolled", 0, tabletSubject(e.ID), map[string]any{"name": name})
		return e, nil
	})
	if err != nil || made.Secret != "" {
		return made, err
	}
	made.Secret = secret
	_, err = s.db.Pool.Exec(ctx, `update device set token_sha256 = $2 where id = $1 and enrolled_by = $3 and revoked_at is null`,
		made.ID, fingerprint(secret), who.StaffID)
	if err != nil {
		return Enrolled{}, fmt.Errorf("enrol a tablet again: %w", err)
	}
	return made, nil
}

// Tablets lists the enrolled tablets by name.
func (s *Service) Tablets(ctx context.Context, who actor.Actor) ([]Tablet, error) {
	if err := who.Need(actor.KeepTablets); err != nil {
		return nil, err
	}
	rows, err := s.db.Pool.Query(ctx, `
		select d.id, d.name, st.name, d.enrolled_at, d.last_seen_at,
			(select count(*) from session se where se.device_id = d.id and se.expires_at > $1 and se.last_seen_at > $2)
		from device d join staff st on st.id = d.enrolled_by
		where d.revoked_at is null order by d.name, d.id limit $3`, s.db.Now(), s.db.Now().Add(-tabletIdle), tabletsMax)
	if err != nil {
		return nil, fmt.Errorf("list tablets: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Tablet])
	if err != nil {
		return nil, fmt.Errorf("list tablets: %w", err)
	}
	return out, nil
}

// RevokeTablet makes a tablet an ordinary browser again: its sessions end at
// once, and no PIN works at it.
func (s *Service) RevokeTablet(ctx context.Context, who actor.Actor, id actor.DeviceID) (actor.DeviceID, error) {
	if err := who.Need(actor.KeepTablets); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "revoke tablet", id, func(ctx context.Context, tx *change.Tx) (actor.DeviceID, error) {
		var name string
		err := tx.QueryRow(ctx, `update device set revoked_at = $2 where id = $1 and revoked_at is null returning name`, id, tx.At).Scan(&name)
		if errors.Is(err, pgx.ErrNoRows) {
			return 0, apperr.NoSuch("tablet")
		}
		if err != nil {
			return 0, fmt.Errorf("revoke a tablet: %w", err)
		}
		if err := run(ctx, tx, `delete from session where device_id = $1`, id); err != nil {
			return 0, err
		}
		tx.Record("tablet revoked", 0, tabletSubject(id), map[string]any{"name": name})
		return id, nil
	})
}

// AtTablet lists those who may sign in with a PIN at the tablet that asks;
// who is the Actor of an enrolled tablet, signed in or not.
func (s *Service) AtTablet(ctx context.Context, who actor.Actor) ([]Person, error) {
	if who.DeviceID == 0 {
		return nil, apperr.New(apperr.Forbidden, "names are shown on an enrolled tablet only")
	}
	return people(ctx, s.db.Pool, `
		select id, name, role from staff where active and pin_hash is not null order by name limit $1`, staffMax)
}

// PersonAtTablet is one of those AtTablet lists.
func (s *Service) PersonAtTablet(ctx context.Context, who actor.Actor, id actor.StaffID) (Person, error) {
	if who.DeviceID == 0 {
		return Person{}, apperr.New(apperr.Forbidden, "a PIN works only on an enrolled tablet")
	}
	var p Person
	err := s.db.Pool.QueryRow(ctx, `select id, name, role from staff where id = $1 and active and pin_hash is not null`, id).
		Scan(&p.ID, &p.Name, &p.Role)
	return p, pg.Explain(err, "person with a PIN", nil)
}

func tabletSubject(id actor.DeviceID) string { return "tablet:" + strconv.FormatInt(int64(id), 10) }
