package account

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rampside/internal/actor"
	"rampside/internal/change"
)

// How long a session lasts: without use, and at most. A desk is left for
// lunch and used all day, and signed in anew each week; a tablet in the
// workshop is anybody's after half a day, and nobody's the next morning.
const (
	deskIdle   = 12 * time.Hour
	deskLife   = 7 * 24 * time.Hour
	tabletIdle = 4 * time.Hour
	tabletLife = 16 * time.Hour
	// seenEach is how often being used is written down.
	seenEach = time.Minute

	// sessionsMax is how many sessions one person has at most; the oldest go.
	sessionsMax = 100
	// placeKept is how long a place somebody signed in from stays theirs.
	placeKept = 90 * 24 * time.Hour
	agentMax  = 300
)

type pgTag = pgconn.CommandTag

func lifeOf(device actor.DeviceID) time.Duration {
	if device != 0 {
		return tabletLife
	}
	return deskLife
}

// Actor tells who stands behind a session's token at a browser that may be an
// enrolled tablet, in one round trip; once a minute a second one notes that
// they are here. A token that is unknown, expired, ended, or shown at another
// device than its own gives the zero Actor, and so does whoever was put out.
// At an enrolled tablet where nobody is signed in only Device and DeviceID are
// set.
func (s *Service) Actor(ctx context.Context, token, device string) (actor.Actor, error) {
	if token == "" && device == "" {
		return actor.Actor{}, nil
	}
	now := s.db.Now().UTC()
	var a actor.Actor
	var due bool
	// One missing secret is the fingerprint of nothing, which no row has.
	err := s.db.Pool.QueryRow(ctx, `
		select coalesce(st.id, 0), coalesce(st.name, ''), coalesce(st.role, ''), coalesce(d.id, 0), coalesce(d.name, ''),
			coalesce(least(se.last_seen_at, coalesce(d.last_seen_at, se.last_seen_at)) <= $6, false)
		from (select 1) as one
		left join device d on d.token_sha256 = $2 and d.revoked_at is null
		left join (session se join staff st on st.id = se.staff_id and st.active)
			on se.token_sha256 = $1 and se.device_id is not distinct from d.id and se.expires_at > $3
			and se.last_seen_at > case when se.device_id is null then $4::timestamptz else $5::timestamptz end`,
		secretKey(token), secretKey(device), now, now.Add(-deskIdle), now.Add(-tabletIdle), now.Add(-seenEach)).
		Scan(&a.StaffID, &a.Name, &a.Role, &a.DeviceID, &a.Device, &due)
	if err != nil {
		return actor.Actor{}, fmt.Errorf("find the session: %w", err)
	}
	if a.Known() {
		a.Via = actor.ViaPage
	}
	if due {
		if err := s.seen(ctx, token, a.DeviceID, now); err != nil {
			return actor.Actor{}, err
		}
	}
	return a, nil
}

// secretKey is the fingerprint to look up, nil (which equals nothing) for no
// secret.
func secretKey(token string) []byte {
	if token == "" {
		return nil
	}
	return fingerprint(token)
}

func (s *Service) seen(ctx context.Context, token string, device actor.DeviceID, now time.Time) error {
	var b pgx.Batch
	b.Queue(`update session set last_seen_at = $2 where token_sha256 = $1 and last_seen_at <= $3`, fingerprint(token), now, now.Add(-seenEach))
	if device != 0 {
		b.Queue(`update device set last_seen_at = $2 where id = $1 and (last_seen_at is null or last_seen_at <= $3)`, device, now, now.Add(-seenEach))
	}
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("note a session's use: %w", err)
	}
	return nil
}

// SignOut ends the session of a token. A token that is no more is no error.
func (s *Service) SignOut(ctx context.Context, who actor.Actor, token string) error {
	if token == "" || !who.Known() {
		return nil
	}
	who.Key = "" // ending twice is ending once, without a key
	_, err := change.Do(ctx, s.db, who, "sign out", nil, func(ctx context.Context, tx *change.Tx) (struct{}, error) {
		tag, err := tx.Exec(ctx, `delete from session where token_sha256 = $1 and staff_id = $2`, fingerprint(token), who.StaffID)
		if err != nil {
			return struct{}{}, fmt.Errorf("end the session: %w", err)
		}
		if tag.RowsAffected() > 0 {
			tx.Record("signed out", 0, subjectOf(who.StaffID), nil)
		}
		return struct{}{}, nil
	})
	return err
}

// tidy puts out what is over: at each sign-in a little, so that nothing piles
// up. Rows that somebody else is putting out at the moment are left to them.
func tidy(b *pgx.Batch, of actor.StaffID, now time.Time) {
	b.Queue(`
		delete from session where token_sha256 in (
			select token_sha256 from session where expires_at <= $1 order by expires_at limit 200 for update skip locked)`, now)
	b.Queue(`
		delete from session where token_sha256 in (
			select token_sha256 from session where staff_id = $1 order by created_at desc offset $2)`, of, sessionsMax)
	b.Queue(`
		delete from sign_in_failure where ctid in (
			select ctid from sign_in_failure where at <= $1 limit 1000 for update skip locked)`, now.Add(-failuresKept))
	b.Queue(`delete from sign_in_place where staff_id = $1 and last_at <= $2`, of, now.Add(-placeKept))
}

// agentText makes a User-Agent header fit to be kept.
func agentText(s string) string {
	s = strings.Map(func(c rune) rune {
		if c < ' ' || c == utf8.RuneError || c == 0x7f {
			return -1
		}
		return c
	}, s)
	if cs := []rune(s); len(cs) > agentMax {
		s = string(cs[:agentMax])
	}
	return s
}
