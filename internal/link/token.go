package link

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"time"
)

// A token is the link's name, its end in whole seconds of Unix time, and the
// signature over both, in base64url (RFC 4648, 5) without padding: 48 signs.
//
// The signature is HMAC-SHA-256 (RFC 2104) cut to its first 128 bits, which is
// the least that RFC 2104, 5 recommends: half of the digest.
const (
	nameSize  = 16
	endSize   = 4
	macSize   = 16
	tokenSize = (nameSize + endSize + macSize) / 3 * 4
)

// mayEnd is the last second that a token can carry: 7 February 2106.
var mayEnd = time.Unix(1<<32-1, 0)

func sign(secret, message []byte) []byte {
	m := hmac.New(sha256.New, secret)
	m.Write(message)
	return m.Sum(nil)[:macSize]
}

// signed is what the signature is taken over. The words before it keep it
// from being taken for anything else that may be signed one day.
func signed(b []byte) []byte { return append([]byte("rampside link 1\x00"), b...) }

func write(secret, name []byte, until time.Time) string {
	b := make([]byte, 0, nameSize+endSize+macSize)
	b = append(b, name...)
	b = binary.BigEndian.AppendUint32(b, uint32(until.Unix()))
	return base64.RawURLEncoding.EncodeToString(append(b, sign(secret, signed(b))...))
}

var strict = base64.RawURLEncoding.Strict()

// read gives the name and the end that a token of ours carries. The signature
// is compared in constant time, and nothing is believed before.
func read(secret []byte, token string) (name []byte, until time.Time, ok bool) {
	if len(token) != tokenSize {
		return nil, time.Time{}, false
	}
	b, err := strict.DecodeString(token)
	if err != nil {
		return nil, time.Time{}, false
	}
	said, mac := b[:nameSize+endSize], b[nameSize+endSize:]
	if !hmac.Equal(mac, sign(secret, signed(said))) {
		return nil, time.Time{}, false
	}
	return said[:nameSize], time.Unix(int64(binary.BigEndian.Uint32(said[nameSize:])), 0).UTC(), true
}
