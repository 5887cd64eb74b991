package blob

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path"
	"syscall"
)

const (
	tmpDir    = "tmp"  // files that are being written
	lockName  = "lock" // held, shared, by everybody who may be writing
	dirMode   = 0o700
	fileMode  = 0o600
	tmpPrefix = tmpDir + "/put-"
)

// Folder is a Store in a folder of this machine, or of a share that has
// flock and an atomic rename. Several servers may use one folder.
type Folder struct {
	root *os.Root
	lock *os.File
}

// OpenFolder opens a folder as a Store and makes it if need be, for this user
// only. What an earlier crash left half written is swept away, unless another
// server has the folder open: then it may be that server's, and is left to
// the next start.
func OpenFolder(dir string) (*Folder, error) {
	if dir == "" {
		return nil, errors.New("say in which folder the files are kept")
	}
	if err := os.MkdirAll(dir, dirMode); err != nil {
		return nil, fmt.Errorf("make the folder for files: %w", err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, fmt.Errorf("open the folder for files: %w", err)
	}
	f := &Folder{root: root}
	if err := f.start(); err != nil {
		return nil, errors.Join(fmt.Errorf("open the folder for files: %w", err), f.Close())
	}
	return f, nil
}

func (f *Folder) start() (err error) {
	if err := f.root.MkdirAll(tmpDir, dirMode); err != nil {
		return err
	}
	f.lock, err = f.root.OpenFile(lockName, os.O_RDWR|os.O_CREATE, fileMode)
	if err != nil {
		return err
	}
	switch err := flock(f.lock, syscall.LOCK_EX|syscall.LOCK_NB); {
	case err == nil:
		if err := f.sweep(); err != nil {
			return err
		}
	case !errors.Is(err, syscall.EWOULDBLOCK):
		return err
	}
	return flock(f.lock, syscall.LOCK_SH)
}

func flock(file *os.File, how int) error {
	for {
		err := syscall.Flock(int(file.Fd()), how)
		if err != syscall.EINTR {
			return err
		}
	}
}

// sweep removes what was being written when a server ended. Only whoever has
// the lock alone may call it.
func (f *Folder) sweep() error {
	entries, err := fs.ReadDir(f.root.FS(), tmpDir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		name := tmpDir + "/" + e.Name()
		if ok, _ := path.Match(tmpPrefix+"*", name); !ok {
			continue
		}
		if err := f.root.Remove(name); err != nil {
			return err
		}
	}
	return nil
}

// Put keeps data; see Store.
func (f *Folder) Put(ctx context.Context, data []byte) (Key, error) {
	if err := errors.Join(ctx.Err(), tooLarge(data)); err != nil {
		return Key{}, err
	}
	key := KeyOf(data)
	if !f.holds(key, data) {
		if err := f.write(key, data); err != nil {
			return Key{}, storeFault(err)
		}
	}
	// Also when it was there already: whoever renamed it into place may not
	// have come to this point yet.
	for _, dir := range []string{".", key.dir()[:2], key.dir()} {
		if err := f.syncDir(dir); err != nil {
			return Key{}, storeFault(err)
		}
	}
	return key, nil
}

// holds tells whether the very bytes are in their place. Anything that keeps
// them from being read is a no, and the write that follows names the trouble.
func (f *Folder) holds(key Key, data []byte) bool {
	info, err := f.root.Lstat(key.path())
	if err != nil || !info.Mode().IsRegular() || info.Size() != int64(len(data)) {
		return false
	}
	kept, err := f.root.ReadFile(key.path())
	return err == nil && bytes.Equal(kept, data)
}

// write puts the data under a name of its own, down to the disk, and renames
// it into place only then: under its key a file is whole or not there.
func (f *Folder) write(key Key, data []byte) error {
	tmp := tmpPrefix + rand.Text()
	if err := f.writeNew(tmp, data); err != nil {
		return errors.Join(err, f.drop(tmp))
	}
	err := f.root.MkdirAll(key.dir(), dirMode)
	if err == nil {
		err = f.root.Rename(tmp, key.path())
	}
	if err != nil {
		return errors.Join(err, f.drop(tmp))
	}
	return nil
}

func (f *Folder) writeNew(name string, data []byte) error {
	file, err := f.root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return err
	}
	if _, err = file.Write(data); err == nil {
		err = file.Sync()
	}
	return errors.Join(err, file.Close())
}

func (f *Folder) drop(name string) error {
	if err := f.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func (f *Folder) syncDir(name string) error {
	dir, err := f.root.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}

// Open reads a file; see Store.
func (f *Folder) Open(ctx context.Context, key Key) (io.ReadCloser, int64, error) {
	if err := ctx.Err(); err != nil {
		return nil, 0, err
	}
	file, err := f.root.Open(key.path())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, 0, noSuchFile(err)
	}
	if err != nil {
		return nil, 0, fault("the file cannot be read just now", err)
	}
	info, err := file.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = ErrDamaged
	}
	if err != nil {
		return nil, 0, errors.Join(fault("the file cannot be read just now", err), file.Close())
	}
	return newChecked(file, key), info.Size(), nil
}

// Delete removes a file; see Store.
func (f *Folder) Delete(ctx context.Context, key Key) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	switch err := f.root.Remove(key.path()); {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fault("the file cannot be deleted just now", err)
	}
	return f.syncDir(key.dir())
}

// Keys goes through everything that is kept; see Store. Files that the store
// did not put there are passed over.
func (f *Folder) Keys(ctx context.Context) iter.Seq2[Key, error] {
	return func(yield func(Key, error) bool) {
		err := fs.WalkDir(f.root.FS(), ".", func(name string, d fs.DirEntry, err error) error {
			if err = errors.Join(err, ctx.Err()); err != nil {
				return err
			}
			if key, ok := keyAt(name); ok && d.Type().IsRegular() && !yield(key, nil) {
				return errStopped
			}
			return nil
		})
		if err != nil && err != errStopped {
			yield(Key{}, err)
		}
	}
}

var errStopped = errors.New("the caller has seen enough")

// Check writes a small file down to the disk, reads it and removes it.
func (f *Folder) Check(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	name, want := tmpPrefix+rand.Text(), []byte("is there room to write?\n")
	err := f.writeNew(name, want)
	if err == nil {
		var got []byte
		if got, err = f.root.ReadFile(name); err == nil && !bytes.Equal(got, want) {
			err = ErrDamaged
		}
	}
	if err = errors.Join(err, f.drop(name)); err != nil {
		return storeFault(err)
	}
	return nil
}

// Close lets go of the folder and of the lock on it.
func (f *Folder) Close() error {
	err := f.root.Close()
	if f.lock != nil {
		err = errors.Join(err, f.lock.Close())
	}
	return err
}

// storeFault puts a write that failed into words. ENOSPC and EDQUOT are the
// disk's and the quota's, EFBIG the process's own limit on a file.
func storeFault(err error) error {
	for _, full := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		if errors.Is(err, full) {
			return fault("the disk that keeps the photos is full, so nothing was saved: free some room, then try again",
				fmt.Errorf("%w: %w", ErrFull, err))
		}
	}
	return fault("the folder that keeps the photos cannot be written, so nothing was saved", err)
}
