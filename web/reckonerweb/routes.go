// Package reckonerweb is the reckoner: the calculators by themselves, for the
// desk with a phone in hand. Each is one form whose result is in its address,
// so that it can be kept, sent or put on a card's note. Nothing is stored.
package reckonerweb

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/money"
	"rampside/web/ui"
)

const home = "/reckoner"

// House is what the garage's own settings put into the calculators: its
// currency and the standard rate of VAT today.
type House struct {
	Currency money.Currency
	Standard money.Rate
}

type pages struct {
	kit   *ui.Kit
	house func(context.Context) (House, error)
}

// Mount registers the reckoner. house is asked for on the pages about money.
func Mount(r chi.Router, kit *ui.Kit, house func(context.Context) (House, error)) {
	p := pages{kit, house}
	kit.Get(r, home, actor.ReadCards, p.index)
	for _, t := range tools {
		kit.Get(r, home+"/"+t.slug, actor.ReadCards, p.show(t))
	}
}

// tool is one calculator.
type tool struct {
	slug, title string
	// what is its line in the list of calculators.
	what string
	// fill asks for its fields and, once something was sent, works it out.
	fill func(p pages, ctx context.Context, f *ui.Form, v *view) error
}

var tools = []tool{
	{"tyres", "Tyre sizes", "two sizes beside each other, to scale: diameter, rims, speedometer", tyres},
	{"wheels", "Wheel offset", "how much further in and out another wheel reaches", wheels},
	{"wheel-over-brake", "Wheel over brake", "the room between rim and caliper, with what the measurements may be off by", overBrake},
	{"load-and-speed", "Load and speed index", "what 91V means, and what an axle needs", loadAndSpeed},
	{"stud-circle", "Stud circle", "from the distance between two fixings", studCircle},
	{"brake-wear", "Brake wear", "what is left of a disc, drum or pad, and how far it lasts", brakeWear},
	{"vin", "VIN", "what a chassis number says, and whether it is read right", vinTool},
	{"mark", "Registration mark", "its layout, its age and what else it may be", markTool},
	{"mark-up", "Mark-up and margin", "cost, price, mark-up and margin, from any two", markUp},
	{"vat", "VAT", "onto an amount and out of it", vat},
}

// view is a calculator as its page shows it: every word and figure made.
type view struct {
	tool
	Form *ui.Form
	// Fields makes the fields, once everything was read: a message stands in
	// them. First is the place of the one that gets the cursor on an empty
	// form.
	Fields func() []group
	First  int
	Groups []group
	Result *result
	// Formulas, Sources and Limits stand on the page whether or not anything
	// was worked out.
	Formulas, Sources, Limits []string
}

// group is some fields that belong together; Legend may be empty.
type group struct {
	Legend  string
	Entries []entry
}

// entry is one field, with options where it is a choice.
type entry struct {
	In      ui.Input
	Options []ui.Option
}

// result is what came out.
type result struct {
	// Verdict is one of the words of the fit, or empty; Says is the answer in a
	// sentence.
	Verdict, Says string
	Facts         []figure
	Tables        []table
	Picture       *picture
	// Measure lists what to measure, Notes what else to know.
	Measure, Notes []string
}

// figure is one line of an answer; with Steps it opens to show how it came
// about.
type figure struct {
	Name, Value string
	Steps       []ui.Step
}

type table struct {
	Caption string
	Heads   []ui.Col
	Rows    [][]string
}

func (p pages) index(w http.ResponseWriter, r *http.Request) error {
	return p.kit.Render(w, r, http.StatusOK, indexPage(p.kit.Page(r, "Reckoner", home), tools))
}

func (p pages) show(t tool) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		f := ui.ReadQuery(r)
		if err := f.Err(); err != nil {
			return err
		}
		v := &view{tool: t, Form: f}
		if err := t.fill(p, r.Context(), f, v); err != nil {
			return err
		}
		status := http.StatusOK
		if f.Err() != nil {
			status, v.Result = http.StatusUnprocessableEntity, nil
		}
		v.Groups = v.Fields()
		if first := &v.Groups[0].Entries[v.First].In; status == http.StatusOK && v.Result == nil {
			*first = first.Focus()
		}
		return p.kit.Render(w, r, status, toolPage(p.kit.Page(r, t.title, home), v))
	}
}

// sent tells whether any of the fields came with the address, so that there is
// something to work out or to complain of.
func sent(f *ui.Form, names ...string) bool {
	for _, n := range names {
		if f.Values.Has(n) {
			return true
		}
	}
	return false
}

const (
	makersFirst = "What the maker says of this car or part, and what is measured on it, come before these figures."
	peopleFirst = "Local rules and trained people decide; the reckoner only adds up."
)
