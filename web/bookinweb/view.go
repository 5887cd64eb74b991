package bookinweb

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/caution"
	"rampside/internal/fact"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// formView is the form as the page shows it: every word made.
type formView struct {
	Form *ui.Form
	// First is the first look at the form, with the cursor where typing
	// begins; NewRow is the look after one more row was asked for.
	First, NewRow bool
	Car           *carView // nil for a new car
	Customer      *person  // on file, and not the known car's keeper
	// Keeper asks for a new customer; else their fields are folded away.
	Keeper     bool
	KeeperOpen bool
	Left       []leftView
	Lines      []lineRow
	Facts      []factRow
	Mileage    string // hint
	Operations []string
	// Twins and Same are on file already with what was typed as new.
	Twins []twin
	Same  []person
}

type carView struct {
	ID, Link, Mark, Name, VIN, Keeper, KeeperLink, Phone, Last string
	Notes                                                      []string
	Facts                                                      []knownFact
	Cautions                                                   string
}

type knownFact struct{ Label, Value, Source, Doubt string }

type person struct{ ID, Name, Phone string }

type twin struct{ ID, Called, Name, Link string }

type leftView struct {
	ID, Title, Why, Severity string
	Ticked                   bool
}

type lineRow struct {
	Form   *ui.Form
	Number string
	Focus  bool
}

type factRow struct {
	Form   *ui.Form
	Number string
	// Key is set where the row is for one fact only.
	Key     string
	Label   string
	Hint    string
	Suggest []string
	Focus   bool
}

func (p pages) view(r *http.Request, f *ui.Form, g garage.Desk, rec *vehicle.Record) (*formView, error) {
	v := &formView{Form: f, Operations: names(g.Operations)}
	customer, err := p.chosen(r, f)
	if err != nil {
		return nil, err
	}
	if customer != nil {
		v.Customer = &person{ID: ui.Itoa(customer.ID), Name: customer.Name, Phone: customer.Phone}
	}
	if rec != nil {
		v.Car = newCarView(rec)
		v.Mileage = mileageHint(rec)
		left, err := p.cards.LeftOvers(r.Context(), ui.Who(r.Context()), rec.ID)
		if err != nil {
			return nil, err
		}
		v.left(left, g)
	}
	if v.Mileage == "" {
		v.Mileage = "in miles, or with km behind it"
	}
	v.Keeper = v.Customer == nil && (rec == nil || rec.Keeper == nil)
	for _, name := range []string{"name", "phone", "email", "address"} {
		v.KeeperOpen = v.KeeperOpen || f.Get("customer."+name) != "" || f.Problem("customer."+name) != ""
	}
	v.rows()
	return v, nil
}

func (v *formView) rows() {
	f := v.Form
	lines := rows(f, "line", "title", jobcard.MaxLines)
	for n := range lines {
		v.Lines = append(v.Lines, lineRow{
			Form: f.Row("line", n), Number: strconv.Itoa(n + 1), Focus: f.Get("more") == "line" && n == lines-1,
		})
	}
	facts := rows(f, "fact", "value", factsMax)
	for n := range facts {
		row := factRow{Form: f.Row("fact", n), Number: strconv.Itoa(n + 1), Label: "What it is", Focus: f.Get("more") == "fact" && n == facts-1}
		// A row without a problem at its key, and with one, is about that one.
		if k, ok := fact.KeyOf(row.Form.Get("key")); ok {
			row.Key, row.Label, row.Suggest = k.Key, k.Label, k.Options
			row.Hint = k.How
			if k.Unit != "" {
				row.Label += ", " + k.Unit
			}
		}
		v.Facts = append(v.Facts, row)
	}
}

func (v *formView) left(left []jobcard.LeftOver, g garage.Desk) {
	ticked := v.Form.Values["take_back"]
	for _, l := range left {
		why := []string{"deferred"}
		if l.Declined {
			why[0] = "declined"
		}
		if l.Reason != "" {
			why[0] += ": " + l.Reason
		}
		if l.Decided != "" {
			why = append(why, "decided by "+l.Decided)
		}
		why = append(why, workday.Of(l.At, g.Location()).Long())
		v.Left = append(v.Left, leftView{
			ID: ui.Itoa(l.ID), Title: l.Title, Why: strings.Join(why, ", "), Severity: string(l.Severity),
			Ticked: slices.Contains(ticked, ui.Itoa(l.ID)),
		})
	}
}

func newCarView(rec *vehicle.Record) *carView {
	c := &carView{
		ID: ui.Itoa(rec.ID), Link: "/vehicles/" + ui.Itoa(rec.ID), Mark: rec.Called(), Name: rec.Name(), VIN: rec.VIN, Notes: rec.Notes,
	}
	if rec.MarkShown == "" {
		c.VIN = ""
	}
	if rec.Keeper != nil {
		c.Keeper, c.Phone, c.KeeperLink = rec.Keeper.Name, rec.Keeper.Phone, "/customers/"+ui.Itoa(rec.Keeper.ID)
	}
	if last, ok := rec.LastVisit(); ok {
		c.Last = "last here " + last.Day.Long()
	}
	for _, k := range rec.Facts {
		f := knownFact{Label: k.Key.Label, Value: k.Key.Shown(k.Best.Value), Source: k.Best.Source.Words()}
		if k.Contradicted {
			f.Doubt = "sources differ"
		}
		c.Facts = append(c.Facts, f)
	}
	var cautions []string
	for _, k := range caution.Of(rec.Cautions) {
		cautions = append(cautions, k.Title)
	}
	c.Cautions = strings.Join(cautions, ", ")
	return c
}

func mileageHint(rec *vehicle.Record) string {
	last, ok := rec.LastMileage()
	if !ok {
		return ""
	}
	return "last " + thousands(*last.Mileage) + " " + last.Unit + " on " + last.Day.Long()
}

func sourceOptions() []ui.Option {
	out := []ui.Option{{Value: "", Label: "where from?"}}
	for _, s := range vehicle.Sources() {
		out = append(out, ui.Option{Value: string(s), Label: s.Words()})
	}
	return out
}

func keyOptions() []ui.Option {
	out := []ui.Option{{Value: "", Label: "which fact?"}}
	for _, k := range fact.Vocabulary() {
		if k.Kind == fact.Chassis {
			continue // the VIN has a field of its own
		}
		out = append(out, ui.Option{Value: k.Key, Label: k.Titled()})
	}
	return out
}

func factCount(c *carView) string {
	n, doubts := len(c.Facts), 0
	for _, f := range c.Facts {
		if f.Doubt != "" {
			doubts++
		}
	}
	s := strconv.Itoa(n) + " facts are known"
	if n == 1 {
		s = "one fact is known"
	}
	if doubts > 0 {
		s += ", sources differ on " + strconv.Itoa(doubts)
	}
	return s
}

// factTyped tells whether there is anything in the rows of facts that must
// not be folded away.
func factTyped(v *formView) bool {
	for _, f := range v.Facts {
		if f.Form.Get("value") != "" || f.Form.Problem("value")+f.Form.Problem("key")+f.Form.Problem("source") != "" {
			return true
		}
	}
	return len(v.Facts) > 1
}

// thousands writes 48210 as 48,210.
func thousands(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
