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
	err  error
}

func newChecked(body io.ReadCloser, key Key) *checked {
	return &checked{body: body, key: key, sum: sha256.New()}
}

func (c *checked) Read(p []byte) (int, error) {
	if c.err != nil {
		return 0, c.err
	}
	n, err := c.body.Read(p)
	c.sum.Write(p[:n])
	if err == io.EOF && Key(c.sum.Sum(nil)) != c.key {
		err = ErrDamaged
	}
	c.err = err
	return n, err
}

func (c *checked) Close() error { return c.body.Close() }
