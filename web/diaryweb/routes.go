// Package diaryweb is the diary on a page, and the front page that leads to
// where each of the staff begins their day.
package diaryweb

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/diary"
	"rampside/internal/live"
	"rampside/internal/outlook"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type pages struct {
	kit   *ui.Kit
	diary *diary.Service
	looks *outlook.Service
}

// Mount registers the diary and the front page.
func Mount(r chi.Router, kit *ui.Kit, d *diary.Service, looks *outlook.Service) {
	p := pages{kit, d, looks}
	kit.Get(r, "/", actor.ReadCards, front)
	kit.Get(r, "/diary", actor.ReadCards, p.show)
}

// front leads technicians to the floor and everybody else to the diary.
func front(w http.ResponseWriter, r *http.Request) error {
	if ui.Who(r.Context()).Role == actor.Technician {
		return ui.SeeOther(w, r, "/floor")
	}
	return ui.SeeOther(w, r, "/diary")
}

// show is the diary of ?day=, or with ?view=week of its week; of today without
// either. A day that is none leaves today's open, and says so at the field.
func (p pages) show(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	day := ui.Read(f, "day", workday.Parse)
	week := f.OneOf("view", "day", "week") == "week"
	status := http.StatusOK
	if f.Err() != nil {
		status, day = http.StatusUnprocessableEntity, workday.Day{}
	}
	read := p.diary.Day
	if week {
		read = p.diary.Week
	}
	who := ui.Who(r.Context())
	d, err := read(r.Context(), who, day)
	if err != nil {
		return err
	}
	look, err := p.looks.Today(r.Context(), who)
	if err != nil {
		return err
	}
	v := newView(d, week, who, f)
	v.lookAhead(look, d.Today)
	page := p.kit.Page(r, v.Title, "/diary").Follow(r, live.All, live.Outlook)
	page.Wide = true
	return p.kit.Render(w, r, status, diaryPage(page, v))
}
