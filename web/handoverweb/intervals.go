package handoverweb

import (
	"net/http"
	"strconv"

	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/handover"
	"rampside/web/ui"
)

type intervalRow struct {
	Path, Name, Anchor string
	Version            int64
	Months, Distance   string
	Form               *ui.Form
	// Posted tells that the form came back: empty is what was typed.
	Posted bool
}

// was is what stands, where nothing was posted.
func (r intervalRow) was(value string) string {
	if r.Posted {
		return ""
	}
	return value
}

func (p pages) intervals(w http.ResponseWriter, r *http.Request) error {
	return p.intervalsPage(w, r, http.StatusOK, 0, nil)
}

func (p pages) intervalsPage(w http.ResponseWriter, r *http.Request, status int, id garage.OperationID, f *ui.Form) error {
	if f == nil {
		f = ui.NewForm(nil)
	}
	all, err := p.Hands.Intervals(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	rows := make([]intervalRow, len(all))
	for n, v := range all {
		rows[n] = intervalRow{
			Path: IntervalsPath + "/" + ui.Itoa(v.OperationID), Name: v.Name, Anchor: "operation-" + ui.Itoa(v.OperationID), Version: int64(v.Version),
			Months: figure(v.Months), Distance: figure(v.Distance), Form: f.Row("op", int(v.OperationID)), Posted: v.OperationID == id,
		}
	}
	page := p.kit.Page(r, "When work is due again", "/garage")
	return p.kit.Render(w, r, status, intervalsTemplate(page, rows, f))
}

func figure(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (p pages) setInterval(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[garage.OperationID](r, "operation")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	row := f.Row("op", int(id))
	if f.Values.Has("months") || f.Values.Has("distance") { // from the page that shows both versions
		row = f
	}
	in := handover.IntervalInput{OperationID: id, Version: int(f.Version()), Months: row.Int("months", 0, 240), Distance: row.Int("distance", 0, 500_000)}
	var now handover.Interval
	if err = f.Err(); err == nil {
		now, err = p.Hands.SetInterval(r.Context(), who, in)
	}
	if was, ok := ui.IsStale[handover.Interval](err); ok {
		return p.kit.Stale(w, r, ui.Stale{
			Thing: "interval", Action: IntervalsPath + "/" + ui.Itoa(id), Back: IntervalsPath, Version: int64(was.Version),
			Rows: []ui.StaleRow{
				{Name: "months", Label: "Months", Theirs: figure(was.Months), Yours: row.Get("months")},
				{Name: "distance", Label: "Miles or km", Theirs: figure(was.Distance), Yours: row.Get("distance")},
			},
		})
	}
	if apperr.Is(err, apperr.NotFound) {
		return err
	}
	return p.reply(w, r, row, IntervalsPath+"#operation-"+ui.Itoa(id), "Noted for "+now.Name, err, func(status int) error {
		return p.intervalsPage(w, r, status, id, f)
	})
}
