package account

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// From is what a browser shows when somebody signs in at it.
type From struct {
	// Address is the client's, as the outer ring established it.
	Address string
	// Agent is the User-Agent header.
	Agent string
	// Device is the secret of an enrolled tablet, empty elsewhere.
	Device string
	// Token is the session the browser had; it ends with the sign-in.
	Token string
	// RequestID ties the event to the log.
	RequestID string
}

// SignedIn is a session that was just opened.
type SignedIn struct {
	// Token goes into the browser's cookie, until Until at most.
	Token string `json:"-"`
	Until time.Time
	Who   actor.Actor
	// TabletUntil is how long the tablet stays enrolled from now on; zero
	// elsewhere.
	TabletUntil time.Time
}

var (
	errWrongPassword = apperr.New(apperr.Unsigned, "that sign-in and password do not go together")
	errWrongPIN      = apperr.New(apperr.Unsigned, "that is not your PIN")
)

// candidate is the account that a try is about; the zero one is nobody's.
type candidate struct {
	id       actor.StaffID
	name     string
	role     actor.Role
	hash     string // of the password or PIN; empty when there is none
	active   bool
	device   actor.DeviceID
	deviceAs string
}

func (c candidate) usable() bool { return c.id != 0 && c.active && c.hash != "" }

// SignIn opens a session for a sign-in and its password. What is wrong is
// never said: an Unsigned error means any of it. Too many wrong tries give a
// TooMany error, whether there is such a sign-in or not.
func (s *Service) SignIn(ctx context.Context, signIn, password string, from From) (SignedIn, error) {
	signIn = SignInName(signIn)
	ask := signIn
	if !signInForm.MatchString(signIn) {
		ask = "" // nobody has it, and the database could not even be asked
	}
	c, err := s.candidate(ctx, `
		select s.id, s.name, s.role, coalesce(s.password_hash, ''), s.active, coalesce(d.id, 0), coalesce(d.name, '')
		from (select 1) as one
		left join staff s on s.sign_in = $1
		left join device d on d.token_sha256 = $2 and d.revoked_at is null`, ask, from)
	if err != nil {
		return SignedIn{}, err
	}
	t, err := s.admit(ctx, signInSubject(signIn), placeOf(from.Address, c.device), c.id, false)
	if err != nil {
		return SignedIn{}, err
	}
	if err := s.judge(ctx, t, c, preparePassword(password), from, errWrongPassword); err != nil {
		return SignedIn{}, err
	}
	return s.open(ctx, t, c, from, "password")
}

// SignInPIN opens a session for somebody at an enrolled tablet. Elsewhere a
// PIN is worth nothing: that is a Forbidden error.
func (s *Service) SignInPIN(ctx context.Context, id actor.StaffID, pin string, from From) (SignedIn, error) {
	c, err := s.candidate(ctx, `
		select s.id, s.name, s.role, coalesce(s.pin_hash, ''), s.active, coalesce(d.id, 0), coalesce(d.name, '')
		from (select 1) as one
		left join staff s on s.id = $1
		left join device d on d.token_sha256 = $2 and d.revoked_at is null`, id, from)
	if err != nil {
		return SignedIn{}, err
	}
	if c.device == 0 {
		return SignedIn{}, apperr.New(apperr.Forbidden, "a PIN works only on a tablet that the front desk or the owner has enrolled")
	}
	t, err := s.admit(ctx, pinSubject(id), placeOf(from.Address, c.device), c.id, true)
	if err != nil {
		return SignedIn{}, err
	}
	if err := s.judge(ctx, t, c, pin, from, errWrongPIN); err != nil {
		return SignedIn{}, err
	}
	return s.open(ctx, t, c, from, "PIN")
}

func (s *Service) candidate(ctx context.Context, sql string, key any, from From) (c candidate, err error) {
	var id *actor.StaffID
	var name, role *string
	var active *bool
	err = s.db.Pool.QueryRow(ctx, sql, key, fingerprint(from.Device)).Scan(&id, &name, &role, &c.hash, &active, &c.device, &c.deviceAs)
	if err != nil {
		return c, fmt.Errorf("find the account: %w", err)
	}
	if id != nil {
		c.id, c.name, c.role, c.active = *id, *name, actor.Role(*role), *active
	}
	return c, nil
}

// nobody is a hash that nothing matches, at the cost of a real one.
var nobody = phc{hashKiB, hashPasses, hashLanes, make([]byte, saltBytes), make([]byte, hashBytes)}.String()

// judge looks at the secret: one hash, whoever it is about, so that the time
// taken tells nothing.
func (s *Service) judge(ctx context.Context, t try, c candidate, secret string, from From, wrong error) error {
	stored := c.hash
	if !c.usable() {
		stored = nobody
	}
	if len(secret) > 4*passwordMax {
		secret = secret[:4*passwordMax] + "…" // longer than any that is kept, and so wrong
	}
	ok, err := s.hasher.Matches(ctx, stored, secret)
	if err != nil {
		s.uncount(ctx, t)
		if errors.Is(err, context.Canceled) || apperr.KindOf(err) != apperr.Internal {
			return err
		}
		return fmt.Errorf("check a secret: %w", err)
	}
	if ok && c.usable() {
		return nil
	}
	s.log.WarnContext(ctx, "sign-in refused", "staff_id", c.id, "place", string(t.place), "request_id", from.RequestID, "last", t.last)
	// Not each wrong try becomes an event, but the one that shuts the door.
	if t.last && c.usable() {
		who := c.actor(from)
		_, err := change.Do(ctx, s.db, who, "hold sign-in", nil, func(_ context.Context, tx *change.Tx) (struct{}, error) {
			tx.Record("sign-in held", 0, subjectOf(c.id), map[string]any{"place": t.place})
			return struct{}{}, nil
		})
		if err != nil {
			return err
		}
	}
	return wrong
}

func (c candidate) actor(from From) actor.Actor {
	a := actor.Actor{
		StaffID: c.id, Name: c.name, Role: c.role, Via: actor.ViaPage, DeviceID: c.device, Device: c.deviceAs,
		RequestID: from.RequestID,
	}
	if a.Device == "" {
		a.Device = from.Address
	}
	return a
}

// open starts the session: a new token, the old one ended, the wrong tries
// from here forgotten and the place remembered.
func (s *Service) open(ctx context.Context, t try, c candidate, from From, with string) (SignedIn, error) {
	token, err := s.token()
	if err != nil {
		return SignedIn{}, err
	}
	return change.Do(ctx, s.db, c.actor(from), "sign in", nil, func(ctx context.Context, tx *change.Tx) (SignedIn, error) {
		until := tx.At.Add(lifeOf(c.device))
		var b pgx.Batch
		var wrong int64
		b.Queue(`delete from sign_in_failure where subject = $1 and address = $2`, t.subject, t.place).Exec(func(tag pgTag) error {
			wrong = tag.RowsAffected() - 1 // this try was counted, too
			return nil
		})
		b.Queue(`delete from session where token_sha256 = $1`, fingerprint(from.Token))
		b.Queue(`
			insert into session (token_sha256, staff_id, device_id, created_at, last_seen_at, expires_at, user_agent)
			values ($1, $2, nullif($3::bigint, 0), $4, $4, $5, $6)`,
			fingerprint(token), c.id, c.device, tx.At, until, agentText(from.Agent))
		b.Queue(`
			insert into sign_in_place (staff_id, address, last_at) values ($1, $2, $3)
			on conflict on constraint sign_in_place_pk do update set last_at = excluded.last_at`, c.id, t.place, tx.At)
		tidy(&b, c.id, tx.At)
		if err := tx.SendBatch(ctx, &b).Close(); err != nil {
			return SignedIn{}, fmt.Errorf("open a session: %w", err)
		}
		tx.Record("signed in", 0, subjectOf(c.id), map[string]any{"with": with, "wrong_tries": max(0, wrong)})
		in := SignedIn{Token: token, Until: until, Who: tx.Who}
		if c.device != 0 {
			in.TabletUntil = tx.At.Add(tabletFor)
		}
		return in, nil
	})
}
