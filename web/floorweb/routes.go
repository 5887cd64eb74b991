// Package floorweb is the tablet beside the ramp: what is next, the line in
// hand, the snags, and one's own clockings. Every form works without scripts,
// and sent twice it counts once.
package floorweb

import (
	"net/http"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/fitment"
	"rampside/internal/floor"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/roster"
	"rampside/web/ui"
)

// Services is what the pages stand on.
type Services struct {
	Floor   *floor.Service
	Cards   *jobcard.Service
	Clock   *clocking.Service
	Fitment *fitment.Service
	Roster  *roster.Service
	Garage  *garage.Service
	// PhotoForm is the form that takes a photo of a line and comes back to a
	// page; without it lines show no photos.
	PhotoForm func(line, back string) templ.Component
}

type pages struct {
	Services
	kit *ui.Kit
}

// Mount registers the pages of the floor.
func Mount(r chi.Router, kit *ui.Kit, s Services) {
	p := pages{s, kit}
	kit.Get(r, "/floor", actor.Work, p.floor)
	kit.Post(r, "/floor/off", actor.Work, p.off)
	kit.Post(r, "/floor/here", actor.Work, p.here)
	kit.Post(r, "/floor/home", actor.Work, p.home)

	kit.Get(r, "/floor/lines/{line}", actor.Work, p.line)
	kit.Post(r, "/floor/lines/{line}/on", actor.Work, p.on)
	kit.Post(r, "/floor/lines/{line}/tick", actor.Work, p.tick)
	for _, a := range acts {
		kit.Get(r, "/floor/lines/{line}/"+a.path, actor.Work, p.actPage(a))
		kit.Post(r, "/floor/lines/{line}/"+a.path, actor.Work, p.act(a))
	}
	kit.Get(r, "/floor/lines/{line}/snag", actor.Work, p.snags)
	kit.Post(r, "/floor/lines/{line}/snag", actor.Work, p.snag)
	kit.Get(r, "/floor/lines/{line}/snag/{kind}", actor.Work, p.snagDetails)
	kit.Post(r, "/floor/lines/{line}/strip", actor.Work, p.strip)
	kit.Get(r, "/floor/lines/{line}/parts/{part}", actor.Work, p.bench)
	kit.Post(r, "/floor/lines/{line}/parts/{part}/box", actor.Work, p.box)
	kit.Post(r, "/floor/lines/{line}/parts/{part}/measure", actor.Work, p.measure)
	kit.Post(r, "/floor/lines/{line}/parts/{part}/conditions", actor.Work, p.conditions)
	kit.Post(r, "/floor/lines/{line}/parts/{part}/waive", actor.WaiveFit, p.waive)
	kit.Post(r, "/floor/lines/{line}/parts/{part}/fit", actor.Work, p.fit)
	kit.Post(r, "/floor/lines/{line}/parts/{part}/arrived", actor.Work, p.arrived)

	kit.Get(r, "/floor/clockings", actor.Work, p.mine)
	kit.Get(r, "/floor/clockings/{clocking}", actor.Work, p.clocking)
	kit.Post(r, "/floor/clockings/{clocking}", actor.Work, p.correct)
	kit.Get(r, "/clockings", actor.SeeMargins, p.everybody)
}

// page is the frame of a page of the tablet.
func (p pages) page(r *http.Request, title string, topics ...string) ui.PageData {
	page := p.kit.Page(r, title, floorPath).Follow(r, topics...)
	page.Floor = true
	return page
}

const floorPath = "/floor"

func linePath(id jobcard.LineID) string { return floorPath + "/lines/" + ui.Itoa(id) }

func partPath(line jobcard.LineID, id jobcard.PartID) string {
	return linePath(line) + "/parts/" + ui.Itoa(id)
}

func snagPath(line jobcard.LineID, kind jobcard.SnagKind) string {
	return linePath(line) + "/snag/" + slug(kind)
}

func clockingPath(id clocking.ID) string { return floorPath + "/clockings/" + ui.Itoa(id) }

// slug is a snag's kind in an address: found-a-fault.
func slug(k jobcard.SnagKind) string { return strings.ReplaceAll(string(k), " ", "-") }

// back is the page that a form wants to return to, the floor when it does not
// say.
func back(f *ui.Form) string {
	if b := f.Get("back"); b != "" {
		return ui.LocalPath(b)
	}
	return floorPath
}

// write is what every write to a line begins with.
func write(r *http.Request) (actor.Actor, jobcard.LineID, *ui.Form, error) {
	id, err := ui.PathID[jobcard.LineID](r, "line")
	if err != nil {
		return actor.Actor{}, 0, nil, err
	}
	f := ui.ReadForm(r)
	who, err := ui.Writer(r)
	return who, id, f, err
}
