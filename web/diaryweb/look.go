package diaryweb

import (
	"rampside/internal/outlook"
	"rampside/internal/workday"
)

// lookAhead puts what the outlook says beside the cars that it is of: those of
// today that are promised and not ready.
func (v *view) lookAhead(r outlook.Read, today workday.Day) {
	if r.None || r.Off != "" || r.Day != today {
		return
	}
	for g := range v.Groups {
		for i := range v.Groups[g].Rows {
			row := &v.Groups[g].Rows[i]
			if c, ok := r.Of(row.id); ok && row.live && !c.Promise.IsZero() {
				s := r.Strip(c)
				row.Look = &s
			}
		}
	}
}
