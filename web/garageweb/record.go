package garageweb

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/internal/workday"
	"rampside/web/ui"
)

const recordPath = home + "/record"

// eventsShown is how many events a page of the record holds.
const eventsShown = 60

type recordView struct {
	Filter  *ui.Form
	Rows    []eventRow
	Staff   []ui.Option
	Older   string // the address of the next page, empty at the end
	Newest  string // the address of the first page, empty on it
	Verify  string
	Verdict *verdictView
}

type eventRow struct {
	ID, When, Who, From, What, Subject string
	Card, CardPath                     string
	Detail                             []detailLine
}

type detailLine struct{ Name, Value string }

type verdictView struct {
	Holds        bool
	Words        string
	Head, Seal   string
	BrokenAround string // the address at which to look
}

func (p pages) record(w http.ResponseWriter, r *http.Request) error {
	who := ui.Who(r.Context())
	q := ui.ReadQuery(r)
	set, err := garage.Load(r.Context(), p.db.Pool)
	if err != nil {
		return err
	}
	filter := change.Filter{Limit: eventsShown + 1, Before: q.ID("before"), CardID: q.ID("card"), StaffID: actor.StaffID(q.ID("staff"))}
	if day := ui.Read(q, "day", workday.Parse); !day.IsZero() {
		filter.From, filter.To = workday.Bounds(day, set.Location())
	}
	status := http.StatusOK
	v := recordView{Filter: q, Verify: recordPath + "?verify=yes"}
	if q.Err() != nil {
		status = http.StatusUnprocessableEntity
	} else {
		events, err := p.db.Read(r.Context(), who, filter)
		if err != nil {
			return err
		}
		v.fill(events, q, set)
	}
	if v.Staff, err = p.everybody(r); err != nil {
		return err
	}
	if q.Bool("verify") {
		verdict, err := p.db.Verify(r.Context(), who)
		if err != nil {
			return err
		}
		v.Verdict = verdictOf(verdict)
	}
	page := p.kit.Page(r, "Record", home)
	page.Wide = true
	if filter.Before == 0 && v.Verdict == nil {
		page = page.Follow(r, live.All)
	}
	return p.kit.Render(w, r, status, recordPage(page, v))
}

func (p pages) everybody(r *http.Request) ([]ui.Option, error) {
	people, err := account.People(r.Context(), p.db.Pool)
	if err != nil {
		return nil, err
	}
	out := []ui.Option{{Label: "everybody"}}
	for _, s := range people {
		out = append(out, ui.Option{Value: ui.Itoa(s.ID), Label: s.Name})
	}
	return out, nil
}

func (v *recordView) fill(events []change.Event, q *ui.Form, set garage.Settings) {
	if len(events) > eventsShown {
		events = events[:eventsShown]
		v.Older = recordAt(q, events[eventsShown-1].ID)
	}
	if q.Get("before") != "" {
		v.Newest = recordAt(q, 0)
	}
	loc := set.Location()
	for _, e := range events {
		row := eventRow{
			ID: ui.Itoa(e.ID), When: e.At.In(loc).Format("Mon 2 Jan 2006 15:04:05"), Who: e.StaffName, What: e.Kind, Subject: e.Subject,
			From: e.Device, Detail: detailLines(e.Detail),
		}
		if e.Via != actor.ViaPage {
			row.From = string(e.Via) + ", " + e.Device
		}
		if e.CardID != 0 {
			row.Card = fmt.Sprint("card ", e.CardID)
			row.CardPath = "/cards/" + ui.Itoa(e.CardID)
		}
		v.Rows = append(v.Rows, row)
	}
}

// recordAt is the address of the page before an event, with the same filter.
func recordAt(q *ui.Form, before int64) string {
	u := url.Values{}
	for _, name := range []string{"card", "staff", "day"} {
		if s := q.Get(name); s != "" {
			u.Set(name, s)
		}
	}
	if before > 0 {
		u.Set("before", ui.Itoa(before))
	}
	if len(u) == 0 {
		return recordPath
	}
	return recordPath + "?" + u.Encode()
}

// detailLines writes an event's detail one line to each name; a pair of was
// and is on one line.
func detailLines(raw json.RawMessage) []detailLine {
	var fields map[string]any
	if json.Unmarshal(raw, &fields) != nil {
		return nil
	}
	var out []detailLine
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		value := words(fields[name])
		if pair, ok := fields[name].(map[string]any); ok && len(pair) == 2 {
			was, hadWas := pair["was"]
			is, hasIs := pair["is"]
			if hadWas && hasIs {
				value = orNothing(words(was)) + " → " + orNothing(words(is))
			}
		}
		out = append(out, detailLine{name, value})
	}
	return out
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

// words writes a JSON value for reading.
func words(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case bool:
		return yesNo(v)
	case []any:
		parts := make([]string, len(v))
		for i, e := range v {
			parts[i] = words(e)
		}
		return strings.Join(parts, ", ")
	case map[string]any:
		var parts []string
		for _, name := range slices.Sorted(maps.Keys(v)) {
			parts = append(parts, name+" "+words(v[name]))
		}
		return strings.Join(parts, ", ")
	}
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	return string(b)
}

func verdictOf(v change.Verdict) *verdictView {
	out := &verdictView{Holds: v.Holds()}
	if !v.Holds() {
		out.Words = fmt.Sprintf("The chain is broken at event %d: it, or what stood before it, was changed in the database after it was written. The %s before it hold.",
			v.BrokenAt, count(v.Events, "event", "events"))
		out.BrokenAround = recordPath + "?before=" + ui.Itoa(v.BrokenAt+1)
		return out
	}
	if v.Events == 0 {
		out.Words = "The record is empty."
		return out
	}
	out.Words = fmt.Sprintf("The chain holds: %s, each as it was written.", count(v.Events, "event", "events"))
	out.Head, out.Seal = ui.Itoa(v.Head), hex.EncodeToString(v.Seal)
	return out
}
