package api

import (
	"encoding/json"
	"errors"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/workday"
)

// Time is a moment: RFC 3339, in UTC when it is an answer. The zero Time is
// none.
type Time struct{ time.Time }

// MarshalJSON writes the moment in UTC.
func (t Time) MarshalJSON() ([]byte, error) { return json.Marshal(t.UTC()) }

// Schema is that of a moment.
func (Time) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeString, Format: "date-time"}
}

// Resolve refuses moments that no garage has seen.
func (t Time) Resolve(_ huma.Context, at *huma.PathBuffer) []error {
	if y := t.UTC().Year(); !t.IsZero() && (y < workday.FirstYear || y > workday.LastYear) {
		return []error{&huma.ErrorDetail{Location: at.String(), Message: workday.ErrYear.Error()}}
	}
	return nil
}

func at(t time.Time) Time { return Time{t} }

func atOrNot(t *time.Time) Time {
	if t == nil {
		return Time{}
	}
	return Time{*t}
}

// Day is a day of the garage's calendar: ISO 8601. The zero Day is none.
type Day struct {
	workday.Day
	wrong error
}

// UnmarshalText reads a day; what is wrong with it Resolve tells, at its
// place.
func (d *Day) UnmarshalText(b []byte) error {
	d.Day, d.wrong = workday.Parse(string(b))
	return nil
}

// Schema is that of a date.
func (Day) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeString, Format: "date"}
}

// Resolve tells what is wrong with the day.
func (d Day) Resolve(_ huma.Context, at *huma.PathBuffer) []error {
	if d.wrong != nil {
		return []error{&huma.ErrorDetail{Location: at.String(), Message: d.wrong.Error()}}
	}
	return nil
}

func on(d workday.Day) Day { return Day{Day: d} }

// Clock is a time of day by the garage's clock: HH:MM.
type Clock struct{ workday.Clock }

// UnmarshalText reads a time of day that the schema has let through.
func (c *Clock) UnmarshalText(b []byte) error {
	t, err := time.Parse("15:04", string(b))
	if err != nil {
		return errors.New("a time of day is written like 16:40, please")
	}
	c.Clock = workday.Clock(t.Hour()*60 + t.Minute())
	return nil
}

// Schema is that of a time of day.
func (Clock) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeString, Pattern: `^([01][0-9]|2[0-3]):[0-5][0-9]$`, PatternDescription: "a time of day, such as 16:40"}
}

func clock(c workday.Clock) Clock { return Clock{c} }

func minutes(d time.Duration) int64 { return int64(d / time.Minute) }
func seconds(d time.Duration) int64 { return int64(d / time.Second) }

func ofMinutes(n int64) time.Duration { return time.Duration(n) * time.Minute }

// list turns each of some things into what is shown of it; never nil, since an
// empty list is [] and not null.
func list[T, U any](xs []T, show func(T) U) []U {
	out := make([]U, 0, len(xs))
	for _, x := range xs {
		out = append(out, show(x))
	}
	return out
}

func same[T any](x T) T { return x }

// money is an amount for those who may see it.
func onlyIf[T any](may bool, v T) *T {
	if !may {
		return nil
	}
	return &v
}
