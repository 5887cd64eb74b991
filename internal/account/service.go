package account

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"log/slog"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
)

// Options are what a Service may be given; every one has a default.
type Options struct {
	// Log gets the wrong tries, without what was typed.
	Log *slog.Logger
	// Hasher keeps the passwords and PINs; argon2id by default.
	Hasher Hasher
	// Rand is where tokens and salts come from; crypto/rand by default.
	Rand io.Reader
	// Found writes the garage's own row when its first owner is made, in the
	// same transaction. Without it only the owner is made.
	Found func(ctx context.Context, tx *change.Tx, name string) error
}

// Service is who may come in.
type Service struct {
	db     *change.DB
	log    *slog.Logger
	hasher Hasher
	rand   io.Reader
	found  func(ctx context.Context, tx *change.Tx, name string) error
}

// New makes a Service.
func New(db *change.DB, o Options) *Service {
	s := &Service{db: db, log: o.Log, hasher: o.Hasher, rand: o.Rand, found: o.Found}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.rand == nil {
		s.rand = rand.Reader
	}
	if s.hasher == nil {
		s.hasher = argon2id{s.rand}
	}
	return s
}

// House is what pages of this package need to know of the garage.
type House struct {
	Zone     *time.Location
	Currency money.Currency
}

// House reads it; UTC and pounds while the garage is not set up.
func (s *Service) House(ctx context.Context) (House, error) {
	var zone, code string
	err := s.db.Pool.QueryRow(ctx, `
		select coalesce(min(zone), 'UTC'), coalesce(min(currency), 'GBP') from garage where id = 1`).Scan(&zone, &code)
	if err != nil {
		return House{}, fmt.Errorf("read the garage: %w", err)
	}
	h := House{}
	if h.Zone, err = time.LoadLocation(zone); err != nil {
		return House{}, fmt.Errorf("the garage's zone: %w", err)
	}
	if h.Currency, err = money.CurrencyOf(code); err != nil {
		return House{}, fmt.Errorf("the garage's currency: %w", err)
	}
	return h, nil
}

// garageName is the garage's name, empty while it is not set up.
func (s *Service) garageName(ctx context.Context) (string, error) {
	var name string
	err := s.db.Pool.QueryRow(ctx, `select coalesce((select name from garage where id = 1), '')`).Scan(&name)
	if err != nil {
		return "", fmt.Errorf("read the garage's name: %w", err)
	}
	return name, nil
}

// manage says whether somebody may manage staff and tokens here: those with
// the right, but not on a tablet, which lies open in the workshop and takes a
// PIN for a password.
func manage(who actor.Actor) error {
	if err := who.Need(actor.ManageStaff); err != nil {
		return err
	}
	if who.DeviceID != 0 {
		return apperr.New(apperr.Forbidden, "staff and tokens are managed at the desk or on your own phone, not on a workshop tablet")
	}
	return nil
}

// tokenBytes makes 256 bits: the ASVS (7.2.3) asks for 128.
const tokenBytes = 32

// token makes a new random token, in characters that a cookie and a header
// carry as they are.
func (s *Service) token() (string, error) {
	b := make([]byte, tokenBytes)
	if _, err := io.ReadFull(s.rand, b); err != nil {
		return "", fmt.Errorf("make a token: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// fingerprint is what is kept of a token.
func fingerprint(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}
