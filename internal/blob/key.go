package blob

import (
	"crypto/sha256"
	"database/sql/driver"
	"encoding/hex"
	"errors"
	"fmt"
)

// Key names a file by the SHA-256 of its content (FIPS 180-4). It is the 32
// bytes themselves and not a text, so that no key can name a place outside
// the store. In the database and in addresses it is 64 lower-case hexadecimal
// digits.
type Key [sha256.Size]byte

// KeyOf gives the key under which data is kept.
func KeyOf(data []byte) Key { return sha256.Sum256(data) }

var errKey = errors.New("a file's key has 64 digits of 0-9 and a-f")

// ParseKey reads a key from its 64 digits; only the spelling that String
// gives is taken.
func ParseKey(s string) (Key, error) {
	var k Key
	if len(s) != hex.EncodedLen(len(k)) {
		return Key{}, errKey
	}
	if _, err := hex.Decode(k[:], []byte(s)); err != nil || k.String() != s {
		return Key{}, errKey
	}
	return k, nil
}

// String gives the 64 digits.
func (k Key) String() string { return hex.EncodeToString(k[:]) }

// IsZero tells whether no key was set.
func (k Key) IsZero() bool { return k == Key{} }

// MarshalText gives the 64 digits, for JSON.
func (k Key) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads the 64 digits.
func (k *Key) UnmarshalText(b []byte) (err error) {
	*k, err = ParseKey(string(b))
	return err
}

// Value writes a key to a text column.
func (k Key) Value() (driver.Value, error) { return k.String(), nil }

// Scan reads a key from a text column that is not null.
func (k *Key) Scan(src any) (err error) {
	switch v := src.(type) {
	case string:
		*k, err = ParseKey(v)
	case []byte:
		*k, err = ParseKey(string(v))
	default:
		err = fmt.Errorf("%w, not a %T", errKey, src)
	}
	return err
}

// dir is the folder of a key, two levels down: no folder grows past what a
// file system lists quickly, and what is typed by hand is found at once.
func (k Key) dir() string {
	s := k.String()
	return s[:2] + "/" + s[2:4]
}

// path is where a key is kept, in a folder and in a bucket alike.
func (k Key) path() string { return k.dir() + "/" + k.String() }

// keyAt reads a path back; ok is false for what the store did not put there.
func keyAt(path string) (k Key, ok bool) {
	if len(path) < 6 {
		return Key{}, false
	}
	k, err := ParseKey(path[6:])
	return k, err == nil && k.path() == path
}
