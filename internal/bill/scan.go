package bill

import (
	"database/sql"
	"errors"
	"strings"
	"time"

	"rampside/internal/workday"
)

// dayScan reads a date of the database into a day.
type dayScan struct{ into *workday.Day }

func day(into *workday.Day) sql.Scanner { return dayScan{into} }

func (d dayScan) Scan(v any) error {
	t, ok := v.(time.Time)
	if !ok {
		return errors.New("not a date")
	}
	*d.into = workday.FromDate(t)
	return nil
}

type dayMaybe struct{ into **workday.Day }

func dayOrNil(into **workday.Day) sql.Scanner { return dayMaybe{into} }

func (d dayMaybe) Scan(v any) error {
	if v == nil {
		*d.into = nil
		return nil
	}
	var one workday.Day
	if err := (dayScan{&one}).Scan(v); err != nil {
		return err
	}
	*d.into = &one
	return nil
}

// likeOf takes what stands for anything in a LIKE pattern as it is written.
func likeOf(s string) string {
	return strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(strings.ToLower(strings.TrimSpace(s)))
}
