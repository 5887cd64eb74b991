package account

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/pg"
)

// staffMax bounds the lists of staff: ten times what one garage has.
const staffMax = 200

// lockStaffKey is held while somebody is added or put out, so that the first
// owner is one and the last owner stays. The number has no meaning.
const lockStaffKey = 7_263_517_011

func lockStaff(ctx context.Context, tx *change.Tx) error {
	_, err := tx.Exec(ctx, `select pg_advisory_xact_lock($1)`, int64(lockStaffKey))
	if err != nil {
		return fmt.Errorf("lock the staff: %w", err)
	}
	return nil
}

const staffSelect = `
	select s.id, s.name, s.role, coalesce(s.sign_in, ''), s.password_hash is not null, s.pin_hash is not null,
		s.cost_rate_minor, s.active, coalesce(t.tries, 0), coalesce(t.locked, false), s.created_at, s.version
	from staff s
	left join lateral (
		select sum(n) as tries, bool_or(n >= $2 or recent >= $3) as locked
		from (select count(*) as n, count(*) filter (where f.at > $4) as recent
			from sign_in_failure f where f.subject = 'pin:' || s.id and f.at > $1 group by f.address) as by_tablet
	) t on true `

func scanStaff(row pgx.Row) (p Staff, err error) {
	err = row.Scan(&p.ID, &p.Name, &p.Role, &p.SignIn, &p.HasPassword, &p.HasPIN, &p.CostRate, &p.Active,
		&p.PINTries, &p.PINLocked, &p.CreatedAt, &p.Version)
	return p, err
}

func staffArgs(now time.Time, more ...any) []any {
	return append([]any{now.Add(-pinDay), triesPINDay, triesPIN, now.Add(-triesWithin)}, more...)
}

func staffByID(ctx context.Context, q pg.Querier, id actor.StaffID, now time.Time) (Staff, error) {
	p, err := scanStaff(q.QueryRow(ctx, staffSelect+`where s.id = $5`, staffArgs(now, id)...))
	return p, pg.Explain(err, "member of staff", nil)
}

// Users lists the staff, those who left last.
func (s *Service) Users(ctx context.Context, who actor.Actor) ([]Staff, error) {
	if err := who.Need(actor.ManageStaff); err != nil {
		return nil, err
	}
	return s.staffWhere(ctx, `order by s.active desc, s.name limit $5`)
}

// LockedPINs lists those whose PIN a tablet refuses to look at for now.
func (s *Service) LockedPINs(ctx context.Context, who actor.Actor) ([]Person, error) {
	if err := who.Need(actor.KeepTablets); err != nil {
		return nil, err
	}
	staff, err := s.staffWhere(ctx, `where s.active and t.locked order by s.name limit $5`)
	out := make([]Person, len(staff))
	for i, p := range staff {
		out[i] = Person{p.ID, p.Name, p.Role}
	}
	return out, err
}

func (s *Service) staffWhere(ctx context.Context, rest string) ([]Staff, error) {
	rows, err := s.db.Pool.Query(ctx, staffSelect+rest, staffArgs(s.db.Now(), staffMax)...)
	if err != nil {
		return nil, fmt.Errorf("list the staff: %w", err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Staff, error) { return scanStaff(row) })
	if err != nil {
		return nil, fmt.Errorf("list the staff: %w", err)
	}
	return out, nil
}

// User reads one member of the staff.
func (s *Service) User(ctx context.Context, who actor.Actor, id actor.StaffID) (Staff, error) {
	if err := who.Need(actor.ManageStaff); err != nil {
		return Staff{}, err
	}
	return staffByID(ctx, s.db.Pool, id, s.db.Now())
}

// UserBySignIn reads the member of the staff who has a sign-in.
func (s *Service) UserBySignIn(ctx context.Context, who actor.Actor, signIn string) (Staff, error) {
	if err := who.Need(actor.ManageStaff); err != nil {
		return Staff{}, err
	}
	signIn = SignInName(signIn)
	if !signInForm.MatchString(signIn) {
		signIn = "" // nobody has it
	}
	p, err := scanStaff(s.db.Pool.QueryRow(ctx, staffSelect+`where s.sign_in = $5`, staffArgs(s.db.Now(), signIn)...))
	return p, pg.Explain(err, "sign-in", nil)
}

// People lists the active staff by name, for those who choose one of them.
func People(ctx context.Context, q pg.Querier) ([]Person, error) {
	return people(ctx, q, `select id, name, role from staff where active order by name limit $1`, staffMax)
}

func people(ctx context.Context, q pg.Querier, sql string, args ...any) ([]Person, error) {
	rows, err := q.Query(ctx, sql, args...)
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Person])
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	return out, nil
}

func insertStaff(ctx context.Context, tx *change.Tx, in NewStaff, h hashed) (id actor.StaffID, err error) {
	err = tx.QueryRow(ctx, `
		insert into staff (name, role, sign_in, password_hash, pin_hash, cost_rate_minor, created_at)
		values ($1, $2, nullif($3, ''), $4, $5, $6, $7) returning id`,
		in.Name, in.Role, in.SignIn, h.password, h.pin, in.CostRate, tx.At).Scan(&id)
	return id, pg.Explain(err, "add staff", rules)
}

func updateStaff(ctx context.Context, tx *change.Tx, in EditStaff) error {
	_, err := tx.Exec(ctx, `
		update staff set name = $2, role = $3, sign_in = nullif($4, ''), cost_rate_minor = $5,
			password_hash = case when $4 = '' then null else password_hash end, version = version + 1
		where id = $1 and version = $6`, in.ID, in.Name, in.Role, in.SignIn, in.CostRate, in.Version)
	return pg.Explain(err, "change staff", rules)
}

func setActive(ctx context.Context, tx *change.Tx, id actor.StaffID, active bool) error {
	return run(ctx, tx, `update staff set active = $2, version = version + 1 where id = $1`, id, active)
}

func setPasswordHash(ctx context.Context, tx *change.Tx, id actor.StaffID, hash *string) error {
	return run(ctx, tx, `update staff set password_hash = $2 where id = $1 and sign_in is not null`, id, hash)
}

func setPINHash(ctx context.Context, tx *change.Tx, id actor.StaffID, hash *string) error {
	return run(ctx, tx, `update staff set pin_hash = $2 where id = $1`, id, hash)
}

func forgetPINTries(ctx context.Context, tx *change.Tx, id actor.StaffID) error {
	return run(ctx, tx, `delete from sign_in_failure where subject = $1`, pinSubject(id))
}

func anOwnerIsLeft(ctx context.Context, tx *change.Tx) (ok bool, err error) {
	err = tx.QueryRow(ctx, `
		select exists (select from staff where role = 'owner' and active and sign_in is not null and password_hash is not null)`).Scan(&ok)
	if err != nil {
		err = fmt.Errorf("look for an owner: %w", err)
	}
	return ok, err
}

// run is a write of which nobody asks how many rows it met.
func run(ctx context.Context, tx *change.Tx, sql string, args ...any) error {
	if _, err := tx.Exec(ctx, sql, args...); err != nil {
		return fmt.Errorf("account: %w", err)
	}
	return nil
}
