package blob

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5/pgtype"
)

// The digests are the examples that NIST publishes with FIPS 180-4 ("abc" and
// the two-block message) and that of the empty message from its SHA test
// vectors.
func TestAKeyIsTheSHA256OfTheContent(t *testing.T) {
	for content, want := range map[string]string{
		"abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
		"":    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
	} {
		if got := KeyOf([]byte(content)).String(); got != want {
			t.Errorf("key of %q = %s, want %s", content, got, want)
		}
		if got, err := ParseKey(want); err != nil || got != KeyOf([]byte(content)) {
			t.Errorf("ParseKey(%s) = %v, %v", want, got, err)
		}
	}
}

func TestNothingButSixtyFourLowerCaseDigitsIsAKey(t *testing.T) {
	good := KeyOf([]byte("x")).String()
	for _, s := range []string{
		"", good[1:], good + "0", strings.ToUpper(good), good[:63] + "g", " " + good[1:], good[:63] + "\n",
		"../../../../etc/passwd", "..%2f" + good[5:], strings.Repeat(".", 64), strings.Repeat("/", 64),
		strings.Repeat("../", 21) + "x", good[:62] + "\x00a", "tmp/put-x", "lock",
	} {
		if k, err := ParseKey(s); err == nil {
			t.Errorf("ParseKey(%q) took it as %v", s, k)
		}
	}
}

func FuzzAKeyThatParsesIsSpeltAsItWas(f *testing.F) {
	f.Add(KeyOf(nil).String())
	f.Add("../../../../../../../../../../../../../../../../../../../etc/x")
	f.Fuzz(func(t *testing.T, s string) {
		k, err := ParseKey(s)
		if err != nil {
			return
		}
		if k.String() != s {
			t.Fatalf("%q became %q", s, k)
		}
		if back, ok := keyAt(k.path()); !ok || back != k {
			t.Fatalf("the path %q does not lead back to %v", k.path(), k)
		}
	})
}

func TestAKeyGoesThroughATextColumnAndJSON(t *testing.T) {
	key, m := KeyOf([]byte("abc")), pgtype.NewMap()
	for _, format := range []int16{pgtype.TextFormatCode, pgtype.BinaryFormatCode} {
		b, err := m.Encode(pgtype.TextOID, format, key, nil)
		if err != nil || string(b) != key.String() {
			t.Fatalf("in format %d pgx writes %q, %v", format, b, err)
		}
		var back Key
		if err := m.Scan(pgtype.TextOID, format, b, &back); err != nil || back != key {
			t.Fatalf("in format %d pgx reads %v, %v", format, back, err)
		}
		if err := m.Scan(pgtype.TextOID, format, []byte("../etc/passwd"), &back); err == nil {
			t.Fatal("a path was read as a key")
		}
		if err := m.Scan(pgtype.TextOID, format, nil, &back); err == nil {
			t.Fatal("null was read as a key")
		}
	}
	b, err := json.Marshal(key)
	if err != nil || string(b) != `"`+key.String()+`"` {
		t.Fatalf("JSON %s, %v", b, err)
	}
	var back Key
	if err := json.Unmarshal(b, &back); err != nil || back != key || back.IsZero() {
		t.Fatalf("from JSON: %v, %v", back, err)
	}
}
