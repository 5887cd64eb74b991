package blob

import (
	"bytes"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"rampside/internal/apperr"
)

func openFolder(t *testing.T, dir string) *Folder {
	t.Helper()
	f, err := OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// noise gives n bytes that nothing else in these tests is made of.
func noise(seed uint64, n int) []byte {
	b := make([]byte, n)
	src := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16)})
	src.Read(b)
	return b
}

func mustPut(t *testing.T, s Store, data []byte) Key {
	t.Helper()
	key, err := s.Put(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	if key != KeyOf(data) {
		t.Fatalf("Put gave %v, the content's hash is %v", key, KeyOf(data))
	}
	return key
}

// filesIn lists all files below dir but the lock.
func filesIn(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && d.Name() != lockName {
			rel, _ := filepath.Rel(dir, name)
			names = append(names, rel)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestTheFolderIsForItsOwnerAloneAndFansOut(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "files")
	key := mustPut(t, openFolder(t, dir), []byte("abc"))
	if got, want := filesIn(t, dir), "ba/78/"+key.String(); len(got) != 1 || got[0] != want {
		t.Fatalf("files %v, want %s only", got, want)
	}
	err := filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestManyPuttingTheSameAtOnceLeaveOneFile(t *testing.T) {
	dir := t.TempDir()
	stores := []*Folder{openFolder(t, dir), openFolder(t, dir)}
	data := noise(1, 300_000)
	var wg sync.WaitGroup
	for i := range 32 {
		wg.Go(func() {
			if key, err := stores[i%2].Put(t.Context(), data); err != nil || key != KeyOf(data) {
				t.Errorf("Put: %v, %v", key, err)
			}
		})
	}
	wg.Wait()
	if got := filesIn(t, dir); len(got) != 1 {
		t.Fatalf("files left: %v", got)
	}
	if err := Verify(t.Context(), stores[0], KeyOf(data)); err != nil {
		t.Fatal(err)
	}
}

func TestWhatACrashLeftIsSweptUnlessSomebodyElseIsWriting(t *testing.T) {
	dir := t.TempDir()
	first := openFolder(t, dir)
	kept := mustPut(t, first, []byte("kept"))
	left := filepath.Join(dir, tmpPrefix+"LEFTOVER")
	stray := filepath.Join(dir, tmpDir, "a note of the owner")
	for _, name := range []string{left, stray} {
		if err := os.WriteFile(name, []byte("half a pho"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	openFolder(t, dir).Close()
	if _, err := os.Stat(left); err != nil {
		t.Fatal("a second server swept away what the first may be writing:", err)
	}
	first.Close()
	again := openFolder(t, dir)
	if _, err := os.Stat(left); !errors.Is(err, fs.ErrNotExist) {
		t.Fatal("the leftover is still there:", err)
	}
	if _, err := os.Stat(stray); err != nil {
		t.Fatal("a file that is not the store's was swept away:", err)
	}
	if err := Verify(t.Context(), again, kept); err != nil {
		t.Fatal(err)
	}
}

func TestALinkLeadsNobodyOutOfTheFolder(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	s, data := openFolder(t, dir), []byte("abc")
	key := KeyOf(data)
	if err := os.Symlink(outside, filepath.Join(dir, "ba")); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Put(t.Context(), data); err == nil {
		t.Fatal("a file was put through a link")
	}
	if got := filesIn(t, outside); len(got) != 0 {
		t.Fatalf("written outside: %v", got)
	}
	if err := os.MkdirAll(filepath.Join(outside, "78"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(outside, "78", key.String()), data, 0o600); err != nil {
		t.Fatal(err)
	}
	if r, _, err := s.Open(t.Context(), key); err == nil {
		r.Close()
		t.Fatal("a file was read through a link")
	}
	if err := s.Delete(t.Context(), key); err == nil {
		t.Fatal("a file was deleted through a link")
	}
	if got := filesIn(t, outside); len(got) != 1 {
		t.Fatalf("outside there is %v", got)
	}
}

func TestDamageOnTheDiskIsFoundAndTheNextPutMendsIt(t *testing.T) {
	dir := t.TempDir()
	s, data := openFolder(t, dir), noise(2, 100_000)
	key := mustPut(t, s, data)
	name := filepath.Join(dir, key.path())
	flipped := bytes.Clone(data)
	flipped[77_777] ^= 1
	for what, content := range map[string][]byte{
		"one bit flipped": flipped,
		"cut short":       data[:50_000],
		"empty":           {},
		"too long":        append(bytes.Clone(data), 'x'),
	} {
		if err := os.WriteFile(name, content, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := Verify(t.Context(), s, key); !errors.Is(err, ErrDamaged) {
			t.Errorf("%s: Verify says %v", what, err)
		}
		if _, err := ReadAll(t.Context(), s, key); !errors.Is(err, ErrDamaged) {
			t.Errorf("%s: ReadAll says %v", what, err)
		}
		mustPut(t, s, data)
		if err := Verify(t.Context(), s, key); err != nil {
			t.Errorf("%s: after another Put: %v", what, err)
		}
	}
}

func TestCheckFailsWhereNothingCanBeWritten(t *testing.T) {
	dir := t.TempDir()
	s := openFolder(t, dir)
	if err := s.Check(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := filesIn(t, dir); len(got) != 0 {
		t.Fatalf("Check left %v", got)
	}
	if err := os.RemoveAll(filepath.Join(dir, tmpDir)); err != nil {
		t.Fatal(err)
	}
	if err := s.Check(t.Context()); err == nil {
		t.Fatal("Check passed in a folder that takes no files")
	}
}

func TestAnAddressOpensTheStoreItNames(t *testing.T) {
	dir := t.TempDir()
	for _, address := range []string{dir + "/a", "file://" + dir + "/b", "file://localhost" + dir + "/c", "FILE://" + dir + "/d e"} {
		s, err := OpenStore(address, Creds{})
		if err != nil {
			t.Errorf("%s: %v", address, err)
			continue
		}
		mustPut(t, s, []byte("abc"))
		s.Close()
	}
	for _, sub := range []string{"a", "b", "c", "d e"} {
		if len(filesIn(t, filepath.Join(dir, sub))) != 1 {
			t.Errorf("nothing was put in %s", sub)
		}
	}
	for address, say := range map[string]string{
		"":                       "which folder",
		"file://elsewhere/x":     "file:///path",
		"file:///x?y=z":          "file:///path",
		"https://bucket.example": "s3://bucket",
		"/dev/null/x":            "make the folder",
		"/dev/null":              "folder for files",
	} {
		if s, err := OpenStore(address, Creds{}); err == nil {
			s.Close()
			t.Errorf("%q was opened", address)
		} else if !strings.Contains(err.Error(), say) {
			t.Errorf("%q: the message is %q, which does not say %q", address, err, say)
		}
	}
}

func TestAFileLargerThanTheLimitIsRefusedInWords(t *testing.T) {
	_, err := openFolder(t, t.TempDir()).Put(t.Context(), make([]byte, MaxSize+1))
	if !apperr.Is(err, apperr.TooLarge) || !strings.Contains(err.Error(), "64 MB") {
		t.Fatalf("the error is %v", err)
	}
}
