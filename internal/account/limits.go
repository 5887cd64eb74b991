package account

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/netip"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

// How many wrong tries are heard before the next is refused without looking
// at the secret. Each count is over the time before now, so a place is let
// try again as its oldest wrong try falls out of it.
//
//   - One account from one place: 10 in 15 minutes.
//   - One account from all the places it has never signed in from, taken
//     together: 100 in 15 minutes (NIST SP 800-63B asks for no more than 100).
//     Where somebody has signed in before, others' tries do not count.
//   - One place over all accounts, where it is not a place of the account's:
//     60 in 15 minutes, against one password tried on everybody.
//   - One person's PIN on one tablet: 5 in 15 minutes and 15 in 24 hours.
//     Whoever looks after the tablets can let them try again at once.
const (
	triesHere      = 10
	triesStrangers = 100
	triesSpray     = 60
	triesPIN       = 5
	triesPINDay    = 15

	triesWithin = 15 * time.Minute
	pinDay      = 24 * time.Hour
	// failuresKept is how long a wrong try is remembered at all.
	failuresKept = pinDay
)

// The classes of the advisory locks under which tries are counted; the
// numbers have no meaning. A subject is locked before a place, always.
const (
	lockSubject = 7263511
	lockPlace   = 7263512
)

// place is where a try comes from, as wrong tries are counted.
type place string

// placeOf makes the place of an address: an IPv4 address, the /64 network of
// an IPv6 one, since one household or phone has all of it. An enrolled tablet
// is its own place wherever it is.
func placeOf(address string, device actor.DeviceID) place {
	if device != 0 {
		return place("tablet:" + strconv.FormatInt(int64(device), 10))
	}
	a, err := netip.ParseAddr(address)
	if err != nil {
		return "unknown"
	}
	a = a.Unmap().WithZone("")
	if a.Is4() {
		return place(a.String())
	}
	p, err := a.Prefix(64)
	if err != nil {
		return "unknown"
	}
	return place(p.String())
}

func (p place) tablet() bool { return strings.HasPrefix(string(p), "tablet:") }

// subject is the account that is tried. What was typed is not kept: people
// type passwords into the wrong field.
type subject string

func signInSubject(signIn string) subject {
	sum := sha256.Sum256([]byte(signIn))
	return subject("sign-in:" + hex.EncodeToString(sum[:16]))
}

func pinSubject(id actor.StaffID) subject {
	return subject("pin:" + strconv.FormatInt(int64(id), 10))
}

// try is one try that was let through and counted as wrong until it is right.
type try struct {
	subject subject
	place   place
	at      time.Time
	// last says that the next wrong one will be refused.
	last bool
}

type tally struct {
	own, ownDay, strangers, spray int
	ownFirst, strangersFirst      *time.Time
	sprayFirst                    *time.Time
	familiar                      bool
}

// admit counts a try before its secret is looked at, or refuses it with a
// TooMany error. id is 0 where no such account is.
func (s *Service) admit(ctx context.Context, sub subject, at place, id actor.StaffID, pin bool) (try, error) {
	now := s.db.Now().UTC().Truncate(time.Microsecond)
	t := try{subject: sub, place: at, at: now}
	err := pgx.BeginFunc(ctx, s.db.Pool, func(tx pgx.Tx) error {
		c, err := count(ctx, tx, t, id)
		if err != nil {
			return err
		}
		most := triesHere
		if pin {
			most = triesPIN
		}
		if err := c.refuse(now, most, pin); err != nil {
			return err
		}
		t.last = c.own+1 == most
		_, err = tx.Exec(ctx, `insert into sign_in_failure (subject, address, at) values ($1, $2, $3)`, sub, at, now)
		return err
	})
	if err != nil && apperr.KindOf(err) == apperr.Internal {
		err = fmt.Errorf("count a sign-in: %w", err)
	}
	return t, err
}

func count(ctx context.Context, tx pgx.Tx, t try, id actor.StaffID) (c tally, err error) {
	var b pgx.Batch
	b.Queue(`select pg_advisory_xact_lock($1, hashtext($2))`, lockSubject, t.subject)
	b.Queue(`select pg_advisory_xact_lock($1, hashtext($2))`, lockPlace, t.place)
	// Each statement of the batch sees what was committed before it began, so
	// this one sees all that was counted before the locks were had.
	b.Queue(`
		select count(*) filter (where own and recent), min(f.at) filter (where own and recent),
			count(*) filter (where own),
			count(*) filter (where same and recent and k.staff_id is null), min(f.at) filter (where same and recent and k.staff_id is null),
			count(*) filter (where here and recent), min(f.at) filter (where here and recent),
			exists (select from sign_in_place where staff_id = $5 and address = $2)
		from sign_in_failure f
		left join sign_in_place k on k.staff_id = $5 and k.address = f.address
		cross join lateral (select f.subject = $1 as same, f.address = $2 as here,
			f.subject = $1 and f.address = $2 as own, f.at > $3 as recent) as is_it
		where (f.subject = $1 or f.address = $2) and f.at > $4`,
		t.subject, t.place, t.at.Add(-triesWithin), t.at.Add(-pinDay), id).QueryRow(func(row pgx.Row) error {
		return row.Scan(&c.own, &c.ownFirst, &c.ownDay, &c.strangers, &c.strangersFirst, &c.spray, &c.sprayFirst, &c.familiar)
	})
	err = tx.SendBatch(ctx, &b).Close()
	c.familiar = c.familiar || t.place.tablet()
	return c, err
}

func (c tally) refuse(now time.Time, most int, pin bool) error {
	switch {
	case pin && c.ownDay >= triesPINDay:
		return apperr.New(apperr.TooMany, "this PIN was wrong %d times today; the front desk or the owner can let you try again", c.ownDay)
	case pin && c.own >= most:
		return apperr.New(apperr.TooMany, "wrong %d times; wait %s, or ask the front desk or the owner to let you try again", c.own, waitFrom(now, c.ownFirst))
	case c.own >= most:
		return apperr.New(apperr.TooMany, "wrong %d times from here; please wait %s and try again", c.own, waitFrom(now, c.ownFirst))
	case pin || c.familiar:
		return nil
	case c.strangers >= triesStrangers:
		return apperr.New(apperr.TooMany, "too many wrong tries for this sign-in from places it was never used at; sign in where you usually do, or wait %s", waitFrom(now, c.strangersFirst))
	case c.spray >= triesSpray:
		return apperr.New(apperr.TooMany, "too many wrong tries from here; please wait %s and try again", waitFrom(now, c.sprayFirst))
	}
	return nil
}

// waitFrom says how long it is until the first of the tries counts no more.
func waitFrom(now time.Time, first *time.Time) string {
	minutes := 1
	if first != nil {
		minutes = max(1, int((first.Add(triesWithin).Sub(now)+time.Minute-1)/time.Minute))
	}
	if minutes == 1 {
		return "a minute"
	}
	return fmt.Sprintf("%d minutes", minutes)
}

// uncount takes one try back that was never judged, since something of ours
// failed on the way.
func (s *Service) uncount(ctx context.Context, t try) {
	_, err := s.db.Pool.Exec(context.WithoutCancel(ctx), `
		delete from sign_in_failure where ctid = (
			select ctid from sign_in_failure where subject = $1 and address = $2 and at = $3 limit 1)`, t.subject, t.place, t.at)
	if err != nil {
		s.log.ErrorContext(ctx, "a sign-in that was not judged stays counted", "error", err.Error())
	}
}
