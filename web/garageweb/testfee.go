package garageweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/workday"
	"rampside/web/ui"
)

const testFeePath = home + "/test-fees"

// feeRow is one maximum in the table.
type feeRow struct {
	Class, From, Day, Fee, State string
}

func (p pages) testFees(w http.ResponseWriter, r *http.Request) error {
	return p.showTestFees(w, r, nil, http.StatusOK)
}

func (p pages) showTestFees(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	who := ui.Who(r.Context())
	table, err := p.garage.TestMaxima(r.Context(), who)
	if err != nil {
		return err
	}
	set, err := p.garage.Overview(r.Context(), who)
	if err != nil {
		return err
	}
	page := p.kit.Page(r, "Test fees", home).Follow(r, live.All)
	return p.kit.Render(w, r, status, testFeePage(page, f, feeRows(table, set.Today(p.db.Now()), set.Money())))
}

// feeRows tells the fees in force from those before and after them; they come
// by class, the newest first.
func feeRows(table []pricing.Maximum, today workday.Day, cash money.Currency) []feeRow {
	rows := make([]feeRow, len(table))
	inForce := map[string]bool{}
	for i, m := range table {
		row := feeRow{Class: m.Class, From: m.From.Long(), Day: m.From.String(), Fee: cash.Format(m.Fee), State: "over"}
		switch {
		case m.From.After(today):
			row.State = "to come"
		case !inForce[m.Class]:
			row.State = "in force"
			inForce[m.Class] = true
		}
		rows[i] = row
	}
	return rows
}

func (p pages) setTestFee(w http.ResponseWriter, r *http.Request) error {
	var in pricing.Maximum
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			f.Required("class", "from", "fee")
			in = pricing.Maximum{Class: f.Str("class", 60), From: ui.Read(f, "from", workday.Parse), Fee: f.Money("fee")}
		},
		write: func(who actor.Actor) (string, string, error) {
			_, err := p.garage.SetTestMaximum(r.Context(), who, in)
			return testFeePath, "Fee noted", err
		},
		again: func(f *ui.Form, status int) error { return p.showTestFees(w, r, f, status) },
	})
}

func (p pages) removeTestFee(w http.ResponseWriter, r *http.Request) error {
	var class string
	var from workday.Day
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			f.Required("class", "from")
			class, from = f.Str("class", 60), ui.Read(f, "from", workday.Parse)
		},
		write: func(who actor.Actor) (string, string, error) {
			return testFeePath, "Fee taken back", p.garage.RemoveTestMaximum(r.Context(), who, class, from)
		},
		again: func(f *ui.Form, status int) error { return p.showTestFees(w, r, f, status) },
	})
}
