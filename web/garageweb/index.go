package garageweb

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/web/ui"
)

func (p pages) index(w http.ResponseWriter, r *http.Request) error {
	o, err := p.garage.Overview(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	page := p.kit.Page(r, "Garage", home).Follow(r, live.All)
	return p.kit.Render(w, r, http.StatusOK, indexPage(page, append(links(o), p.more...), o.Set))
}

func links(o garage.Overview) []Link {
	about := "not set up yet"
	if o.Set {
		about = fmt.Sprintf("%s, %s to %s, %s", o.Name, o.Opens, o.Closes, weekWords(o.WorkDays))
	}
	return []Link{
		{home + "/settings", "Settings", about},
		{home + "/operations", "Operations", count(o.Operations, "job", "jobs") + " to write on a card"},
		{home + "/labour", "Labour", count(o.LabourTypes, "kind", "kinds") + " of labour with their hourly rates"},
		{home + "/suppliers", "Suppliers", count(o.Suppliers, "supplier", "suppliers") + " of parts"},
		{home + "/vat", "VAT", "the rates, by the day they begin"},
		{home + "/test-fees", "Test fees", "the most that the law allows for a test, by class and day"},
		{home + "/hours", "Hours", "who works when, who is away, who was in"},
		{home + "/record", "Record", "who did what, when and from where"},
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// weekWords writes days of the week, Monday first: "Mon to Fri", "Mon, Wed".
func weekWords(days []time.Weekday) string {
	var out []string
	for i := 0; i < len(days); {
		j := i
		for j+1 < len(days) && (days[j]+1)%7 == days[j+1] {
			j++
		}
		switch {
		case j > i+1:
			out = append(out, short(days[i])+" to "+short(days[j]))
		default:
			for _, d := range days[i : j+1] {
				out = append(out, short(d))
			}
		}
		i = j + 1
	}
	return strings.Join(out, ", ")
}

func short(d time.Weekday) string { return d.String()[:3] }
