package account

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
)

// TokenID names an API token.
type TokenID int64

// Token lets a program do what one member of the staff may do.
type Token struct {
	ID      TokenID
	Name    string
	StaffID actor.StaffID
	Staff   string
	Role    actor.Role
	Created time.Time
	// ExpiresAt is nil for one without an end, LastUsed before its first use.
	ExpiresAt *time.Time
	LastUsed  *time.Time
	Expired   bool
}

// NewToken asks for a token in the name of a member of the staff. Days is how
// long it works; 0 is until it is revoked.
type NewToken struct {
	Name    string
	StaffID actor.StaffID
	Days    int
}

// MadeToken is a token that was just made.
type MadeToken struct {
	ID   TokenID
	Name string
	// Secret is shown this once. It is empty when the same request is sent
	// again: what is kept of it cannot be shown.
	Secret string `json:"-"`
}

const (
	// TokenPrefix begins every API token, so that one that leaks is found.
	TokenPrefix  = "rmp_"
	tokenNameMax = 60
	tokenDaysMax = 3650
	tokensMax    = 200
)

// CreateToken makes an API token.
func (s *Service) CreateToken(ctx context.Context, who actor.Actor, in NewToken) (MadeToken, error) {
	if err := manage(who); err != nil {
		return MadeToken{}, err
	}
	f := apperr.Fields{}
	in.Name = f.Line("name", in.Name, tokenNameMax)
	f.Must("name", in.Name, "a name that says which program it is for")
	if in.Days < 0 || in.Days > tokenDaysMax {
		f.Add("days", "between 1 and %d days, or 0 for no end", tokenDaysMax)
	}
	if in.StaffID == 0 {
		f.Add("staff_id", "please choose whose rights it has")
	}
	if err := f.Err(); err != nil {
		return MadeToken{}, err
	}
	secret, err := s.token()
	if err != nil {
		return MadeToken{}, err
	}
	secret = TokenPrefix + secret
	return change.Do(ctx, s.db, who, "make token", in, func(ctx context.Context, tx *change.Tx) (MadeToken, error) {
		of, err := staffByID(ctx, tx, in.StaffID, tx.At)
		if apperr.Is(err, apperr.NotFound) || err == nil && !of.Active {
			return MadeToken{}, apperr.Field("staff_id", "please choose somebody on the staff")
		}
		if err != nil {
			return MadeToken{}, err
		}
		m := MadeToken{Name: in.Name, Secret: secret}
		var ends *time.Time
		if in.Days > 0 {
			end := tx.At.AddDate(0, 0, in.Days)
			ends = &end
		}
		err = tx.QueryRow(ctx, `
			insert into api_token (name, staff_id, token_sha256, created_at, expires_at) values ($1, $2, $3, $4, $5) returning id`,
			in.Name, in.StaffID, fingerprint(secret), tx.At, ends).Scan(&m.ID)
		if err != nil {
			return MadeToken{}, fmt.Errorf("make a token: %w", err)
		}
		tx.Record("token made", 0, tokenSubject(m.ID), map[string]any{"name": in.Name, "for": of.Name, "role": of.Role, "days": in.Days})
		return m, nil
	})
}

// Tokens lists the tokens that are not revoked, newest first.
func (s *Service) Tokens(ctx context.Context, who actor.Actor) ([]Token, error) {
	if err := who.Need(actor.ManageStaff); err != nil {
		return nil, err
	}
	rows, err := s.db.Pool.Query(ctx, `
		select t.id, t.name, st.id, st.name, st.role, t.created_at, t.expires_at, t.last_used_at, coalesce(t.expires_at <= $1, false)
		from api_token t join staff st on st.id = t.staff_id
		where t.revoked_at is null order by t.id desc limit $2`, s.db.Now(), tokensMax)
	if err != nil {
		return nil, fmt.Errorf("list tokens: %w", err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Token])
	if err != nil {
		return nil, fmt.Errorf("list tokens: %w", err)
	}
	return out, nil
}

// RevokeToken ends a token at once.
func (s *Service) RevokeToken(ctx context.Context, who actor.Actor, id TokenID) (TokenID, error) {
	if err := manage(who); err != nil {
		return 0, err
	}
	return change.Do(ctx, s.db, who, "revoke token", id, func(ctx context.Context, tx *change.Tx) (TokenID, error) {
		var name string
		err := tx.QueryRow(ctx, `update api_token set revoked_at = $2 where id = $1 and revoked_at is null returning name`, id, tx.At).Scan(&name)
		if errors.Is(err, pgx.ErrNoRows) {
			return 0, apperr.NoSuch("token")
		}
		if err != nil {
			return 0, fmt.Errorf("revoke a token: %w", err)
		}
		tx.Record("token revoked", 0, tokenSubject(id), map[string]any{"name": name})
		return id, nil
	})
}

// ActorByToken tells whose rights an API token has, in one round trip; once a
// minute a second one notes its use. One that is unknown, expired, revoked, or
// of somebody put out is an Unsigned error.
func (s *Service) ActorByToken(ctx context.Context, token string) (actor.Actor, error) {
	unknown := apperr.New(apperr.Unsigned, "that token is not valid: it is unknown, expired or revoked")
	if !strings.HasPrefix(token, TokenPrefix) || len(token) > 200 {
		return actor.Actor{}, unknown
	}
	now := s.db.Now().UTC()
	a := actor.Actor{Via: actor.ViaAPI}
	var id TokenID
	var due bool
	err := s.db.Pool.QueryRow(ctx, `
		select t.id, t.name, st.id, st.name, st.role, coalesce(t.last_used_at <= $3, true)
		from api_token t join staff st on st.id = t.staff_id and st.active
		where t.token_sha256 = $1 and t.revoked_at is null and (t.expires_at is null or t.expires_at > $2)`,
		fingerprint(token), now, now.Add(-seenEach)).Scan(&id, &a.Device, &a.StaffID, &a.Name, &a.Role, &due)
	if errors.Is(err, pgx.ErrNoRows) {
		return actor.Actor{}, unknown
	}
	if err != nil {
		return actor.Actor{}, fmt.Errorf("find the token: %w", err)
	}
	if due {
		_, err := s.db.Pool.Exec(ctx, `
			update api_token set last_used_at = $2 where id = $1 and (last_used_at is null or last_used_at <= $3)`, id, now, now.Add(-seenEach))
		if err != nil {
			return actor.Actor{}, fmt.Errorf("note a token's use: %w", err)
		}
	}
	return a, nil
}

func revokeTokensOf(ctx context.Context, tx *change.Tx, of actor.StaffID) error {
	return run(ctx, tx, `update api_token set revoked_at = $2 where staff_id = $1 and revoked_at is null`, of, tx.At)
}

func tokenSubject(id TokenID) string { return "token:" + strconv.FormatInt(int64(id), 10) }
