package quote

import (
	"time"

	"github.com/jackc/pgx/v5/pgtype"
)

// when reads a time that may be absent: SQL null is the zero time.
type when struct{ t *time.Time }

func (w *when) ScanTimestamptz(v pgtype.Timestamptz) error {
	*w.t = time.Time{}
	if v.Valid {
		*w.t = v.Time.UTC()
	}
	return nil
}

func orZero(t *time.Time) *when { return &when{t} }
