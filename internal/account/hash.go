package account

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"strings"
	"time"

	"golang.org/x/crypto/argon2"

	"rampside/internal/apperr"
)

// Hasher keeps secrets that people can remember.
type Hasher interface {
	// Hash gives what is stored of a secret.
	Hash(ctx context.Context, secret string) (string, error)
	// Matches tells whether stored was made from secret. It does the same
	// work whatever the answer.
	Matches(ctx context.Context, stored, secret string) (bool, error)
}

// Cost of one hash: the first of the settings that the OWASP Password Storage
// Cheat Sheet gives for argon2id (RFC 9106), 19 MiB, two passes, one lane.
const (
	hashKiB    = 19 * 1024
	hashPasses = 2
	hashLanes  = 1
	saltBytes  = 16 // RFC 9106 section 3.1
	hashBytes  = 32
)

// What a stored hash may ask for, so that a bad row cannot eat the machine.
const (
	maxKiB    = 128 * 1024
	maxPasses = 10
	maxLanes  = 4
)

const (
	// hashesAtOnce bounds the memory that sign-ins can take: two of 19 MiB.
	hashesAtOnce = 2
	// hashWait is how long somebody waits for their turn before they are told.
	hashWait = 8 * time.Second
)

var hashTurns = make(chan struct{}, hashesAtOnce)

type argon2id struct{ rand io.Reader }

func (a argon2id) Hash(ctx context.Context, secret string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := io.ReadFull(a.rand, salt); err != nil {
		return "", fmt.Errorf("salt: %w", err)
	}
	var sum []byte
	err := inTurn(ctx, func() {
		sum = argon2.IDKey([]byte(secret), salt, hashPasses, hashKiB, hashLanes, hashBytes)
	})
	if err != nil {
		return "", err
	}
	return phc{hashKiB, hashPasses, hashLanes, salt, sum}.String(), nil
}

func (a argon2id) Matches(ctx context.Context, stored, secret string) (bool, error) {
	p, err := parsePHC(stored)
	if err != nil {
		return false, err
	}
	var sum []byte
	err = inTurn(ctx, func() {
		sum = argon2.IDKey([]byte(secret), p.salt, p.passes, p.kib, p.lanes, uint32(len(p.sum)))
	})
	return err == nil && subtle.ConstantTimeCompare(sum, p.sum) == 1, err
}

func inTurn(ctx context.Context, work func()) error {
	timer := time.NewTimer(hashWait)
	defer timer.Stop()
	select {
	case hashTurns <- struct{}{}:
		defer func() { <-hashTurns }()
		work()
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return apperr.New(apperr.TooMany, "many people are signing in just now; please try again in a moment")
	}
}

// phc is a hash in the PHC string format:
// $argon2id$v=19$m=19456,t=2,p=1$salt$hash, both in base64 without padding.
type phc struct {
	kib, passes uint32
	lanes       uint8
	salt, sum   []byte
}

func (p phc) String() string {
	enc := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, p.kib, p.passes, p.lanes, enc(p.salt), enc(p.sum))
}

func parsePHC(s string) (phc, error) {
	var p phc
	bad := func(why string) (phc, error) { return phc{}, fmt.Errorf("the stored hash is not one of ours: %s", why) }
	parts := strings.Split(s, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" {
		return bad("form")
	}
	if parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return bad("version")
	}
	const cost = "m=%d,t=%d,p=%d"
	if _, err := fmt.Sscanf(parts[3], cost, &p.kib, &p.passes, &p.lanes); err != nil ||
		fmt.Sprintf(cost, p.kib, p.passes, p.lanes) != parts[3] {
		return bad("parameters")
	}
	if p.kib < 8*uint32(p.lanes) || p.kib > maxKiB || p.passes < 1 || p.passes > maxPasses || p.lanes < 1 || p.lanes > maxLanes {
		return bad("cost")
	}
	var err error
	if p.salt, err = base64.RawStdEncoding.Strict().DecodeString(parts[4]); err != nil || len(p.salt) < 8 || len(p.salt) > 64 {
		return bad("salt")
	}
	if p.sum, err = base64.RawStdEncoding.Strict().DecodeString(parts[5]); err != nil || len(p.sum) < 16 || len(p.sum) > 64 {
		return bad("hash")
	}
	return p, nil
}
