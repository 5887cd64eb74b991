package blob

import (
	"bytes"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"rampside/internal/apperr"
)

func openAt(t *testing.T, address string, creds Creds) Store {
	t.Helper()
	s, err := OpenStore(address, creds)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestABucketIsLaidOutAsAFolderIs(t *testing.T) {
	server := newS3Server(t, false)
	s := openAt(t, server.address("photos"), Creds{AccessKey: testAccess, SecretKey: testSecret})
	key := mustPut(t, s, []byte("abc"))
	server.with(func() {
		if string(server.objects["photos/ba/78/"+key.String()]) != "abc" {
			t.Errorf("the bucket holds %v", server.objects)
		}
	})
	root := openAt(t, server.address(""), Creds{AccessKey: testAccess, SecretKey: testSecret})
	mustPut(t, root, []byte("abc"))
	server.with(func() {
		if string(server.objects["ba/78/"+key.String()]) != "abc" {
			t.Errorf("without a prefix the bucket holds %v", server.objects)
		}
	})
}

func TestTheSameContentIsSentToTheBucketOnce(t *testing.T) {
	server := newS3Server(t, false)
	s := server.open(t, "photos")
	for range 5 {
		mustPut(t, s, noise(8, 5000))
	}
	server.with(func() {
		if server.seen["PUT"] != 1 {
			t.Errorf("sent %d times", server.seen["PUT"])
		}
	})
	// A bucket whose HEAD is refused to us takes files all the same.
	server.with(func() { server.deny = "HEAD" })
	mustPut(t, s, noise(9, 5000))
}

func TestWrongKeysAreToldByCheckAndByPut(t *testing.T) {
	server := newS3Server(t, false)
	s := openAt(t, server.address("photos"), Creds{AccessKey: testAccess, SecretKey: "not the secret"})
	_, put := s.Put(t.Context(), []byte("abc"))
	_, _, open := s.Open(t.Context(), KeyOf([]byte("abc")))
	for what, err := range map[string]error{"Check": s.Check(t.Context()), "Put": put, "Open": open} {
		var e *apperr.Error
		if !errors.As(err, &e) || e.Kind != apperr.Internal || e.Message == "" {
			t.Errorf("%s says %v", what, err)
		}
	}
	server.with(func() {
		if len(server.objects) != 0 {
			t.Errorf("the bucket holds %v", server.objects)
		}
	})
}

func TestAServiceThatIsBusyForAMomentIsAskedAgain(t *testing.T) {
	server := newS3Server(t, false)
	s := server.open(t, "")
	for range 3 {
		server.with(func() { server.fail = tries - 1 })
		mustPut(t, s, noise(10, 70_000))
	}
	server.with(func() { server.fail = 1000 })
	if _, err := s.Put(t.Context(), noise(11, 10)); err == nil || !strings.Contains(err.Error(), "nothing was saved") {
		t.Fatalf("a service that stays busy: %v", err)
	}
}

func TestAServiceThatIsAwayIsToldSoon(t *testing.T) {
	server := newS3Server(t, false)
	s := server.open(t, "")
	server.http.Close()
	if err := s.Check(t.Context()); err == nil {
		t.Fatal("Check passed with nobody there")
	}
	if _, err := s.Put(t.Context(), []byte("abc")); apperr.KindOf(err) != apperr.Internal || err == nil {
		t.Fatalf("Put says %v", err)
	}
}

func TestWhatComesBackWrongFromTheBucketIsFound(t *testing.T) {
	server := newS3Server(t, false)
	s := server.open(t, "photos")
	key := mustPut(t, s, noise(12, 40_000))
	server.with(func() { server.flip = true })
	if _, err := ReadAll(t.Context(), s, key); !errors.Is(err, ErrDamaged) {
		t.Fatalf("one bit wrong: %v", err)
	}
	if err := s.Check(t.Context()); !errors.Is(err, ErrDamaged) {
		t.Fatalf("Check, one bit wrong: %v", err)
	}
	server.with(func() { server.flip, server.cut = false, true })
	if _, err := ReadAll(t.Context(), s, key); err == nil {
		t.Fatal("half a file was taken for a whole one")
	}
}

func TestAServiceThatMissesWhatIsDeletedIsNotBelievedToHaveFailed(t *testing.T) {
	server := newS3Server(t, false)
	s := server.open(t, "")
	server.with(func() { server.strict = true })
	if err := s.Delete(t.Context(), KeyOf([]byte("never put"))); err != nil {
		t.Fatal(err)
	}
	server.with(func() { server.deny = "DELETE" })
	if err := s.Delete(t.Context(), KeyOf([]byte("never put"))); err == nil {
		t.Fatal("a delete that was refused was called done")
	}
}

func TestAMistakeInAnS3AddressIsNamed(t *testing.T) {
	keys := Creds{AccessKey: testAccess, SecretKey: testSecret}
	for address, say := range map[string]string{
		"s3://":               "bucket",
		"s3://b?endpoint=h:1": "bucket",
		"s3://garage-photos":  "endpoint",
		"s3://garage-photos?endpoint=https://h:1":              "without https",
		"s3://garage-photos?endpoint=h:1&regoin=x":             `"regoin"`,
		"s3://garage-photos?endpoint=h:1&insecure=perhaps":     "insecure",
		"s3://garage-photos?endpoint=h:1&style=oblique":        "host or path",
		"s3://garage-photos/a/../b?endpoint=h:1":               "prefix",
		"s3://garage-photos/a//b?endpoint=h:1":                 "prefix",
		"s3://K:" + testSecret[:4] + "@garage-photos?region=x": "do not belong",
		"s3://garage-photos:x/?endpoint=%zz":                   "cannot be read",
		"s3://garage-photos?endpoint=no%20host:1":              "address",
	} {
		s, err := OpenStore(address, keys)
		if err == nil {
			s.Close()
			t.Errorf("%s was opened", address)
		} else if !strings.Contains(err.Error(), say) || strings.Contains(err.Error(), testSecret[:4]) {
			t.Errorf("%s: the message is %q, and should say %q", address, err, say)
		}
	}
	if _, err := OpenStore("s3://garage-photos?region=eu-west-2", Creds{}); err == nil || !strings.Contains(err.Error(), "access key") {
		t.Errorf("without keys: %v", err)
	}
}

func TestAnS3AddressIsReadWithItsUsualSettings(t *testing.T) {
	at, err := parseS3("s3://garage-photos/a/b/?region=eu-west-2")
	if err != nil || at.endpoint != "s3.eu-west-2.amazonaws.com" || at.prefix != "a/b/" || at.insecure {
		t.Errorf("%+v, %v", at, err)
	}
	at, err = parseS3("s3://garage-photos?endpoint=store.example:9000&insecure=1")
	if err != nil || at.endpoint != "store.example:9000" || at.region != "us-east-1" || !at.insecure || at.prefix != "" {
		t.Errorf("%+v, %v", at, err)
	}
}

func TestTheKeysToTheBucketNeverPrint(t *testing.T) {
	c := Creds{AccessKey: "ACCESS-WORD", SecretKey: "SECRET-WORD", SessionToken: "SESSION-WORD"}
	var log bytes.Buffer
	slog.New(slog.NewJSONHandler(&log, nil)).Info("opened", "creds", c)
	for _, out := range []string{fmt.Sprint(c), fmt.Sprintf("%+v", c), fmt.Sprintf("%#v", c), (&c).String(), log.String()} {
		if strings.Contains(out, "-WORD") {
			t.Errorf("printed: %s", out)
		}
	}
}
