package link

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"strings"
	"testing"
	"time"
)

// The cases are those of RFC 4231, 4.2, 4.3 and 4.6 for HMAC-SHA-256; case 5 is
// the RFC's own example of a cut to 128 bits, which is how we cut.
func TestTheSignatureIsTheHMACOfRFC4231(t *testing.T) {
	for _, c := range []struct{ key, data, want string }{
		{strings.Repeat("0b", 20), hex.EncodeToString([]byte("Hi There")), "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
		{hex.EncodeToString([]byte("Jefe")), hex.EncodeToString([]byte("what do ya want for nothing?")), "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
		{strings.Repeat("0c", 20), hex.EncodeToString([]byte("Test With Truncation")), "a3b6167473100ee06e0c796c2955552b"},
	} {
		key, _ := hex.DecodeString(c.key)
		data, _ := hex.DecodeString(c.data)
		if got := hex.EncodeToString(sign(key, data)); got != c.want[:32] {
			t.Errorf("%s: %s, want %s", c.data, got, c.want[:32])
		}
	}
}

func TestATokenIsReadAsItWasWritten(t *testing.T) {
	secret, name := bytes.Repeat([]byte{7}, secretSize), []byte("0123456789abcdef")
	until := time.Date(2026, 10, 19, 23, 0, 0, 0, time.UTC)
	token := write(secret, name, until)
	if len(token) != tokenSize || strings.Trim(token, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_") != "" {
		t.Fatalf("the token is %q", token)
	}
	gotName, gotUntil, ok := read(secret, token)
	if !ok || !bytes.Equal(gotName, name) || !gotUntil.Equal(until) {
		t.Errorf("%q, %v, %v", gotName, gotUntil, ok)
	}
	if _, _, ok := read(bytes.Repeat([]byte{8}, secretSize), token); ok {
		t.Error("another garage's token was taken")
	}
}

// Every single bit of a token, turned over, makes it somebody else's.
func TestATokenWithOneBitTurnedIsRefused(t *testing.T) {
	secret := bytes.Repeat([]byte{7}, secretSize)
	token := write(secret, []byte("0123456789abcdef"), time.Unix(1_790_000_000, 0))
	raw, err := base64.RawURLEncoding.DecodeString(token)
	if err != nil || len(raw)*8 != 288 {
		t.Fatalf("%d bits, %v", len(raw)*8, err)
	}
	for i := range len(raw) * 8 {
		bad := bytes.Clone(raw)
		bad[i/8] ^= 1 << (i % 8)
		if _, _, ok := read(secret, base64.RawURLEncoding.EncodeToString(bad)); ok {
			t.Fatalf("bit %d turned over was taken", i)
		}
	}
}

func TestWhatIsNoTokenIsRefusedWithoutAFault(t *testing.T) {
	secret := bytes.Repeat([]byte{7}, secretSize)
	token := write(secret, []byte("0123456789abcdef"), time.Unix(1_790_000_000, 0))
	for _, bad := range []string{
		"", "x", token[:47], token + "A", token[:47] + "=", " " + token[1:], token[:47] + "\n", strings.Repeat("A", tokenSize),
		strings.ReplaceAll(token, token[:4], "../."), strings.Repeat("\x00", tokenSize), strings.Repeat("é", tokenSize/2), strings.Repeat("A", 1<<20),
	} {
		if _, _, ok := read(secret, bad); ok {
			t.Errorf("%.60q was taken", bad)
		}
	}
}

func FuzzRead(f *testing.F) {
	secret := bytes.Repeat([]byte{7}, secretSize)
	good := write(secret, []byte("0123456789abcdef"), time.Unix(1_790_000_000, 0))
	f.Add(good)
	f.Add(strings.Repeat("A", tokenSize))
	f.Add("../../etc")
	f.Fuzz(func(t *testing.T, token string) {
		name, until, ok := read(secret, token)
		if ok && write(secret, name, until) != token {
			t.Errorf("%q was taken and is not how it is written", token)
		}
	})
}
