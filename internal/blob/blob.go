// Package blob keeps files, such as photos, outside the database: each under
// the SHA-256 of what is in it. The same content is kept once, a name says
// nothing about its content or its owner, and a file that was damaged on the
// disk is found out when it is read.
//
// A folder is the default; an S3-compatible service is chosen by
// configuration. Both lay the files out in the same way (ab/cd/abcd…), so one
// can be copied to the other as it is.
//
// Write the file first and commit the row that names it afterwards: a crash
// between the two leaves a file that nothing names, which costs a little
// room, and never a row that names a file that is not there.
package blob

import (
	"context"
	"errors"
	"io"
	"iter"
	"net/url"
	"strings"

	"rampside/internal/apperr"
)

// MaxSize is the largest file a store takes, in bytes.
const MaxSize = 64 << 20

// Store keeps files by their content.
type Store interface {
	// Put keeps data and gives its key. When it returns, the file is on the
	// disk and stays there through a power cut. The same data again is not
	// kept twice, and mends a damaged copy in a folder.
	Put(ctx context.Context, data []byte) (Key, error)
	// Open reads a file and gives its size in bytes. The reader checks the
	// content on the way and ends in ErrDamaged where it is not what was
	// put. A key that is not kept is an apperr.NotFound that is also
	// fs.ErrNotExist.
	Open(ctx context.Context, key Key) (io.ReadCloser, int64, error)
	// Delete removes a file; that it is gone already is no error. Nothing
	// here knows what still refers to it, or is about to: the caller does.
	Delete(ctx context.Context, key Key) error
	// Keys goes through everything that is kept, in the order of the keys.
	// It ends at the first error.
	Keys(ctx context.Context) iter.Seq2[Key, error]
	// Check tells whether a file can be written and read at this moment.
	Check(ctx context.Context) error
	// Close lets go of the store; nothing may be called after it.
	Close() error
}

var (
	// ErrDamaged is what a read ends in when the content is not what was put.
	ErrDamaged = errors.New("the file is damaged: its content does not match its name")
	// ErrFull is inside the error of a Put for which there was no room.
	ErrFull = errors.New("no room is left")
)

// OpenStore opens the store that an address names: a folder by its path or as
// file:///path, or s3://bucket/prefix?endpoint=host:port&region=name (see
// OpenS3). A folder that does not exist yet is made. The keys are for S3 only.
func OpenStore(address string, creds Creds) (Store, error) {
	scheme, _, isURL := strings.Cut(address, "://")
	if !isURL {
		return OpenFolder(address)
	}
	switch strings.ToLower(scheme) {
	case "file":
		u, err := url.Parse(address)
		if err != nil || (u.Host != "" && u.Host != "localhost") || u.RawQuery != "" {
			return nil, errors.New("the address of a folder is its path, or file:///path")
		}
		return OpenFolder(u.Path)
	case "s3":
		return OpenS3(address, creds)
	}
	return nil, errors.New("files are kept in a folder (give its path) or in S3 (s3://bucket/prefix?endpoint=…)")
}

// ReadAll reads a whole file and checks it. It refuses what is larger than
// MaxSize.
func ReadAll(ctx context.Context, s Store, key Key) ([]byte, error) {
	r, size, err := s.Open(ctx, key)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if size > MaxSize {
		return nil, ErrDamaged
	}
	return io.ReadAll(r)
}

// Verify reads a whole file and tells whether it is what was put: nil, a
// NotFound, ErrDamaged, or the error that kept it from being read.
func Verify(ctx context.Context, s Store, key Key) error {
	r, _, err := s.Open(ctx, key)
	if err != nil {
		return err
	}
	defer r.Close()
	_, err = io.Copy(io.Discard, r)
	return err
}

func tooLarge(data []byte) error {
	if len(data) <= MaxSize {
		return nil
	}
	return apperr.New(apperr.TooLarge, "a file may have %d MB at most; this one has more", MaxSize>>20)
}

func noSuchFile(cause error) error {
	e := apperr.NoSuch("file")
	e.Cause = cause
	return e
}

// fault is an error of the store that a person can be told of in a sentence.
func fault(message string, cause error) error {
	return &apperr.Error{Kind: apperr.Internal, Message: message, Cause: cause}
}
