package blob

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"go.uber.org/goleak"

	"rampside/internal/apperr"
)

// TestMain lends the test binary to the tests that need a process to kill or
// to limit, and else looks for goroutines that were left behind.
func TestMain(m *testing.M) {
	if what := os.Getenv("BLOB_TEST_CHILD"); what != "" {
		child(what)
		return
	}
	goleak.VerifyTestMain(m)
}

// everyStore runs a test on a folder and on a bucket alike.
func everyStore(t *testing.T, test func(t *testing.T, s Store, stray func(name string))) {
	t.Run("folder", func(t *testing.T) {
		dir := t.TempDir()
		test(t, openFolder(t, dir), func(name string) {
			if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, name), []byte("stray"), 0o600); err != nil {
				t.Fatal(err)
			}
		})
	})
	for _, mode := range []string{"http", "https"} {
		t.Run("S3 by "+mode, func(t *testing.T) {
			server := newS3Server(t, mode == "https")
			test(t, server.open(t, "photos/of/the garage"), func(name string) {
				server.set("photos/of/the garage/"+name, []byte("stray"))
			})
		})
	}
}

func TestWhatWasPutIsReadBack(t *testing.T) {
	everyStore(t, func(t *testing.T, s Store, _ func(string)) {
		for _, data := range [][]byte{nil, []byte("abc"), noise(3, 65536), noise(4, 1_234_567)} {
			key := mustPut(t, s, data)
			mustPut(t, s, data)
			got, err := ReadAll(t.Context(), s, key)
			if err != nil || !bytes.Equal(got, data) {
				t.Fatalf("%d bytes came back as %d: %v", len(data), len(got), err)
			}
			r, size, err := s.Open(t.Context(), key)
			if err != nil || size != int64(len(data)) {
				t.Fatalf("Open gives size %d of %d: %v", size, len(data), err)
			}
			if err := r.Close(); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Check(t.Context()); err != nil {
			t.Fatal(err)
		}
	})
}

func TestAFileThatIsNotKeptIsNotFound(t *testing.T) {
	everyStore(t, func(t *testing.T, s Store, _ func(string)) {
		missing := KeyOf([]byte("never put"))
		_, _, err := s.Open(t.Context(), missing)
		if !apperr.Is(err, apperr.NotFound) || !errors.Is(err, fs.ErrNotExist) {
			t.Fatalf("Open says %v", err)
		}
		if err := Verify(t.Context(), s, missing); !apperr.Is(err, apperr.NotFound) {
			t.Fatalf("Verify says %v", err)
		}
	})
}

func TestADeletedFileIsGoneAndMayBeDeletedAgain(t *testing.T) {
	everyStore(t, func(t *testing.T, s Store, _ func(string)) {
		gone, stays := mustPut(t, s, []byte("gone")), mustPut(t, s, []byte("stays"))
		for range 2 {
			if err := s.Delete(t.Context(), gone); err != nil {
				t.Fatal(err)
			}
		}
		if _, _, err := s.Open(t.Context(), gone); !apperr.Is(err, apperr.NotFound) {
			t.Fatalf("after deleting, Open says %v", err)
		}
		if err := Verify(t.Context(), s, stays); err != nil {
			t.Fatal(err)
		}
	})
}

func TestKeysListsWhatIsKeptInOrderAndNothingElse(t *testing.T) {
	everyStore(t, func(t *testing.T, s Store, stray func(string)) {
		var want []Key
		for i := range 57 {
			want = append(want, mustPut(t, s, noise(uint64(100+i), 10)))
		}
		slices.SortFunc(want, func(a, b Key) int { return bytes.Compare(a[:], b[:]) })
		stray("readme")
		stray("ba/79/" + KeyOf([]byte("abc")).String())
		stray("ba/78/notes")
		var got []Key
		for key, err := range s.Keys(t.Context()) {
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, key)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%d keys listed, %d put, or not in order", len(got), len(want))
		}
		n := 0
		for range s.Keys(t.Context()) {
			if n++; n == 3 {
				break
			}
		}
		if n != 3 {
			t.Fatalf("stopping early saw %d keys", n)
		}
	})
}

func TestACallThatWasGivenUpDoesNothing(t *testing.T) {
	everyStore(t, func(t *testing.T, s Store, _ func(string)) {
		key := mustPut(t, s, []byte("abc"))
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		_, put := s.Put(ctx, []byte("abd"))
		_, _, open := s.Open(ctx, key)
		var listed error
		for _, err := range s.Keys(ctx) {
			listed = err
		}
		for what, err := range map[string]error{
			"Put": put, "Open": open, "Keys": listed, "Delete": s.Delete(ctx, key), "Check": s.Check(ctx),
		} {
			if !errors.Is(err, context.Canceled) {
				t.Errorf("%s says %v", what, err)
			}
		}
		if err := Verify(t.Context(), s, key); err != nil {
			t.Fatal(err)
		}
		if err := Verify(t.Context(), s, KeyOf([]byte("abd"))); !apperr.Is(err, apperr.NotFound) {
			t.Fatalf("the second file: %v", err)
		}
	})
}
