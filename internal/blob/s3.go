package blob

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"
)

// Creds are the keys to an S3-compatible service. They never print.
type Creds struct {
	AccessKey, SecretKey string
	// SessionToken comes with keys that are lent for a time; else empty.
	SessionToken string
}

// String keeps the keys out of %v.
func (Creds) String() string { return "[keys not shown]" }

// GoString keeps the keys out of %#v.
func (c Creds) GoString() string { return c.String() }

// LogValue keeps the keys out of the log.
func (c Creds) LogValue() slog.Value { return slog.StringValue(c.String()) }

// tries is how often a request is sent before its failure counts. A person is
// waiting at the other end, so a service that is down has to show soon.
const tries = 3

// S3 is a Store in a bucket of an S3-compatible service.
type S3 struct {
	core      *minio.Core
	transport *http.Transport
	bucket    string
	prefix    string // "" or "some/place/"
}

// OpenS3 opens s3://bucket/prefix?endpoint=host:port&region=name as a Store.
// It speaks to nobody yet: Check does. More settings: insecure=1 for plain
// http; style=host or style=path for the bucket's place in the address (path
// is usual at an endpoint of one's own, host elsewhere). Without an endpoint
// it is the public one of the region.
func OpenS3(address string, creds Creds) (*S3, error) {
	at, err := parseS3(address)
	if err != nil {
		return nil, err
	}
	if creds.AccessKey == "" || creds.SecretKey == "" {
		return nil, errors.New("the S3 store needs its access key and its secret key")
	}
	return openS3(at, creds, &http.Transport{
		Proxy:                 http.ProxyFromEnvironment,
		DialContext:           (&net.Dialer{Timeout: 5 * time.Second, KeepAlive: 30 * time.Second}).DialContext,
		TLSHandshakeTimeout:   5 * time.Second,
		ResponseHeaderTimeout: 20 * time.Second,
		IdleConnTimeout:       time.Minute,
		MaxIdleConnsPerHost:   8,
		DisableCompression:    true,
		ForceAttemptHTTP2:     true,
	})
}

func openS3(at s3Address, creds Creds, transport *http.Transport) (*S3, error) {
	core, err := minio.NewCore(at.endpoint, &minio.Options{
		Creds:        credentials.NewStaticV4(creds.AccessKey, creds.SecretKey, creds.SessionToken),
		Secure:       !at.insecure,
		Transport:    transport,
		Region:       at.region,
		BucketLookup: at.lookup,
		MaxRetries:   tries,
	})
	if err != nil {
		return nil, fmt.Errorf("the S3 store's address: %w", err)
	}
	return &S3{core: core, transport: transport, bucket: at.bucket, prefix: at.prefix}, nil
}

// Put keeps data; see Store. What is there under the key already is taken to
// be right: the service answers for what it keeps.
func (s *S3) Put(ctx context.Context, data []byte) (Key, error) {
	if err := errors.Join(ctx.Err(), tooLarge(data)); err != nil {
		return Key{}, err
	}
	key := KeyOf(data)
	name := s.prefix + key.path()
	info, err := s.core.StatObject(ctx, s.bucket, name, minio.StatObjectOptions{})
	if err == nil && info.Size == int64(len(data)) {
		return key, nil
	}
	// A service that may not list the bucket to us says "forbidden" for what
	// is not there, so only the write itself can tell.
	if err := s.put(ctx, name, data); err != nil {
		return Key{}, fault("the place that keeps the photos does not take them just now, so nothing was saved", err)
	}
	return key, nil
}

// put writes one object in one request, with its MD5 so that the service
// refuses what was damaged on the way.
func (s *S3) put(ctx context.Context, name string, data []byte) error {
	_, err := s.core.Client.PutObject(ctx, s.bucket, name, bytes.NewReader(data), int64(len(data)), minio.PutObjectOptions{
		ContentType:      "application/octet-stream",
		SendContentMd5:   true,
		DisableMultipart: true,
	})
	return err
}

// Open reads a file; see Store.
func (s *S3) Open(ctx context.Context, key Key) (io.ReadCloser, int64, error) {
	body, info, _, err := s.core.GetObject(ctx, s.bucket, s.prefix+key.path(), minio.GetObjectOptions{})
	if minio.ToErrorResponse(err).Code == minio.NoSuchKey {
		return nil, 0, noSuchFile(fmt.Errorf("%w: %w", fs.ErrNotExist, err))
	}
	if err != nil {
		return nil, 0, fault("the file cannot be read just now", err)
	}
	return newChecked(body, key), info.Size, nil
}

// Delete removes a file; see Store. In a bucket that keeps versions the
// service hides it, and the bucket's own rules remove it for good.
func (s *S3) Delete(ctx context.Context, key Key) error {
	err := s.core.RemoveObject(ctx, s.bucket, s.prefix+key.path(), minio.RemoveObjectOptions{})
	if err != nil && minio.ToErrorResponse(err).Code != minio.NoSuchKey {
		return fault("the file cannot be deleted just now", err)
	}
	return nil
}

// Keys goes through everything that is kept; see Store.
func (s *S3) Keys(ctx context.Context) iter.Seq2[Key, error] {
	return func(yield func(Key, error) bool) {
		ctx, cancel := context.WithCancel(ctx)
		defer cancel()
		list := minio.ListObjectsOptions{Prefix: s.prefix, Recursive: true}
		for object := range s.core.ListObjectsIter(ctx, s.bucket, list) {
			if object.Err != nil {
				yield(Key{}, fault("the files cannot be listed just now", object.Err))
				return
			}
			key, ok := keyAt(strings.TrimPrefix(object.Key, s.prefix))
			if ok && !yield(key, nil) {
				return
			}
		}
		if err := ctx.Err(); err != nil {
			yield(Key{}, err)
		}
	}
}

// Check writes one small object, always the same, and reads it back.
func (s *S3) Check(ctx context.Context) error {
	name, want := s.prefix+"check", []byte("can this be written?\n")
	if err := s.put(ctx, name, want); err != nil {
		return fault("the place that keeps the photos cannot be written", err)
	}
	body, _, _, err := s.core.GetObject(ctx, s.bucket, name, minio.GetObjectOptions{})
	if err != nil {
		return fault("the place that keeps the photos cannot be read", err)
	}
	defer body.Close()
	got, err := io.ReadAll(io.LimitReader(body, int64(len(want))+1))
	if err == nil && !bytes.Equal(got, want) {
		err = ErrDamaged
	}
	if err != nil {
		return fault("the place that keeps the photos cannot be read", err)
	}
	return nil
}

// Close lets go of the connections.
func (s *S3) Close() error {
	s.transport.CloseIdleConnections()
	return nil
}
