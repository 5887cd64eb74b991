package garage

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
)

// SetHours changes nothing of an operation but its hours, from a version. A
// stale edit is a Conflict with the current Operation.
func SetHours(ctx context.Context, tx *change.Tx, id OperationID, version int, low, likely, high time.Duration) (was, is Operation, err error) {
	if was, err = OperationByID(ctx, tx, id); err != nil {
		return was, is, err
	}
	err = tx.QueryRow(ctx, `
		update operation set low_minutes = $3, likely_minutes = $4, high_minutes = $5, version = version + 1
		where id = $1 and version = $2 returning version`, id, version, wholeMinutes(low), wholeMinutes(likely), wholeMinutes(high)).Scan(&version)
	if errors.Is(err, pgx.ErrNoRows) {
		return was, is, apperr.Stale("operation", was)
	}
	if err != nil {
		return was, is, fmt.Errorf("the hours of an operation: %w", err)
	}
	is = was
	is.Low, is.Likely, is.High, is.Version = low, likely, high, version
	tx.Record("operation changed", 0, was.Name, operationChanged(was, is))
	return was, is, nil
}
