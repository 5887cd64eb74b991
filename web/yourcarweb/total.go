package yourcarweb

import (
	"encoding/json"
	"net/http"
	"strconv"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/quote"
)

// totals is what the jobs come to that somebody has said yes to, in words. The
// page shows it, and the script asks for it as they choose: prices are worked
// out here only.
type totals struct {
	Jobs  int    `json:"-"`
	Total string `json:"total"`
	// What belongs to no job: of those chosen, or of all while none is. Shown
	// is false when there is nothing.
	Rest  string `json:"rest"`
	Title string `json:"title"`
	Says  string `json:"says"`
	Shown bool   `json:"shown"`
}

func totalsOf(v *quote.Version, yes []jobcard.LineID) (totals, error) {
	c, err := v.Chosen(yes)
	if err != nil {
		return totals{}, err
	}
	m := v.Garage.Money()
	out := totals{Jobs: c.Jobs, Total: m.Format(c.Totals.Gross), Title: v.Rest.Title, Says: "It is worked out on what you have said yes to."}
	rest := c.Rest
	if c.Jobs == 0 {
		rest, out.Says = v.Rest.Gross, "It is worked out on everything above; with fewer jobs it is worked out on those."
	}
	if out.Title == "" {
		out.Title = "Rounding of " + v.Garage.TaxName
	}
	out.Rest, out.Shown = m.Format(rest), rest != 0 || v.Rest.Gross != 0
	return out, nil
}

// total answers the script: what the jobs named in the address come to.
func (p pages) total(w http.ResponseWriter, r *http.Request) error {
	l, ok, err := p.find(w, r, false)
	if err != nil || !ok {
		return err
	}
	if l.Purpose != link.Quote {
		return apperr.New(apperr.NotFound, "there is nothing to add up here")
	}
	v, _, err := p.version(r.Context(), l)
	if err != nil {
		return err
	}
	named := r.URL.Query()["yes"]
	if len(named) > jobcard.MaxLines {
		return apperr.New(apperr.NotFound, "there are not so many lines")
	}
	var yes []jobcard.LineID
	for _, s := range named {
		if n, err := strconv.ParseInt(s, 10, 64); err == nil {
			yes = append(yes, jobcard.LineID(n))
		}
	}
	t, err := totalsOf(v, yes)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(t)
}
