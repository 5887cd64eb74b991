package blob

import (
	"crypto/sha256"
	"hash"
	"io"
)

// checked passes a file through and compares it with its key at the end.
type checked struct {
	body io.ReadCloser
	key  Key
	sum  hash.Hash
	left int64 // bytes that the store said are still to come
	err  error
}

func newChecked(body io.ReadCloser, key Key, size int64) *checked {
	return &checked{body: body, key: key, sum: sha256.New(), left: size}
}

func (c *checked) Read(p []byte) (int, error) {
	if c.err != nil {
		return 0, c.err
	}
	n, err := c.body.Read(p)
	c.sum.Write(p[:n])
	c.left -= int64(n)
	if err == io.EOF && (c.left != 0 || Key(c.sum.Sum(nil)) != c.key) {
		err = ErrDamaged
	}
	c.err = err
	return n, err
}

func (c *checked) Close() error { return c.body.Close() }
