package account

import (
	"context"
	"encoding/hex"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// Session is one browser or tablet that somebody is signed in at.
type Session struct {
	// ID tells the sessions of one person apart; it does not open one.
	ID string
	// Tablet is the tablet's name, empty at the desk.
	Tablet    string
	Agent     string
	Created   time.Time
	LastSeen  time.Time
	ExpiresAt time.Time
	// Current is the session that asks.
	Current bool
}

// Sessions lists where somebody is signed in, newest first; token is the
// asker's own, to be marked. One's own are open to anybody, others' to those
// who manage staff.
func (s *Service) Sessions(ctx context.Context, who actor.Actor, of actor.StaffID, token string) ([]Session, error) {
	if err := mayEnd(who, of); err != nil {
		return nil, err
	}
	now := s.db.Now().UTC()
	rows, err := s.db.Pool.Query(ctx, `
		select se.token_sha256, coalesce(d.name, ''), se.user_agent, se.created_at, se.last_seen_at, se.expires_at, se.token_sha256 = $5
		from session se left join device d on d.id = se.device_id
		where se.staff_id = $1 and se.expires_at > $2
			and se.last_seen_at > case when se.device_id is null then $3::timestamptz else $4::timestamptz end
		order by se.created_at desc limit $6`,
		of, now, now.Add(-deskIdle), now.Add(-tabletIdle), fingerprint(token), sessionsMax)
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (x Session, err error) {
		var key []byte
		err = row.Scan(&key, &x.Tablet, &x.Agent, &x.Created, &x.LastSeen, &x.ExpiresAt, &x.Current)
		x.ID = hex.EncodeToString(key[:min(len(key), sessionIDBytes)])
		return x, err
	})
	if err != nil {
		return nil, fmt.Errorf("list sessions: %w", err)
	}
	if len(out) == 0 { // of somebody who is signed in nowhere, or of nobody
		_, err = staffByID(ctx, s.db.Pool, of, now)
	}
	return out, err
}

// sessionIDBytes of the fingerprint name a session.
const sessionIDBytes = 8

func mayEnd(who actor.Actor, of actor.StaffID) error {
	if who.Known() && who.StaffID == of {
		return who.Need(actor.OwnSignIn)
	}
	return who.Need(actor.ManageStaff)
}

// EndSession ends one of somebody's sessions.
func (s *Service) EndSession(ctx context.Context, who actor.Actor, of actor.StaffID, id string) (actor.StaffID, error) {
	if err := mayEnd(who, of); err != nil {
		return 0, err
	}
	key, err := hex.DecodeString(id)
	if err != nil || len(key) != sessionIDBytes {
		return 0, apperr.NoSuch("session")
	}
	in := map[string]any{"of": of, "id": id}
	return change.Do(ctx, s.db, who, "end session", in, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		tag, err := tx.Exec(ctx, `delete from session where staff_id = $1 and substr(token_sha256, 1, $3) = $2`, of, key, sessionIDBytes)
		if err != nil {
			return 0, fmt.Errorf("end a session: %w", err)
		}
		if tag.RowsAffected() == 0 {
			return 0, apperr.NoSuch("session")
		}
		tx.Record("session ended", 0, subjectOf(of), nil)
		return of, nil
	})
}

// EndSessions ends all of somebody's sessions but the one of the token keep,
// which may be empty.
func (s *Service) EndSessions(ctx context.Context, who actor.Actor, of actor.StaffID, keep string) (actor.StaffID, error) {
	if err := mayEnd(who, of); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "end sessions", of, func(ctx context.Context, tx *change.Tx) (actor.StaffID, error) {
		if _, err := staffByID(ctx, tx, of, tx.At); err != nil {
			return 0, err
		}
		if err := endSessionsBut(ctx, tx, of, keep); err != nil {
			return 0, err
		}
		tx.Record("sessions ended", 0, subjectOf(of), nil)
		return of, nil
	})
}

type sessionKind int

const (
	anySession sessionKind = iota
	tabletSession
)

func endSessions(ctx context.Context, tx *change.Tx, of actor.StaffID, kind sessionKind) error {
	return run(ctx, tx, `delete from session where staff_id = $1 and ($2 or device_id is not null)`, of, kind == anySession)
}

func endSessionsBut(ctx context.Context, tx *change.Tx, of actor.StaffID, keep string) error {
	return run(ctx, tx, `delete from session where staff_id = $1 and token_sha256 <> $2`, of, fingerprint(keep))
}
