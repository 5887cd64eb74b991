package storesweb

import (
	"fmt"
	"net/http"

	"rampside/internal/lateness"
	"rampside/internal/stores"
	"rampside/web/ui"
)

type suppliersView struct {
	Tabs    []tab
	Rows    []supplierRow
	Classes []ui.Col
	Owed    string
	Costs   bool
	Printed string
}

type supplierRow struct {
	Name, Reach                    string
	Counts                         []string
	N                              string
	Quantiles                      []string
	Coming, Overdue                string
	Owed, Held, ToSend, Old, Short string
	OverdueMark                    bool
}

func (p pages) suppliers(w http.ResponseWriter, r *http.Request) error {
	a, err := p.stores.Accounts(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, http.StatusOK, suppliersPage(p.frame(r, "Suppliers"), newSuppliersView(a)))
}

func newSuppliersView(a stores.Accounts) *suppliersView {
	pen := newPen(a.Garage, a.Now)
	v := &suppliersView{Tabs: tabs(suppliersPath), Costs: a.Costs, Printed: a.Now.In(pen.loc).Format("2 January 2006, 15:04")}
	v.Classes = append(v.Classes, ui.Col{Label: "Supplier"})
	for _, c := range (lateness.Record{}).Counts() {
		v.Classes = append(v.Classes, ui.Col{Label: c.Label, Num: true})
	}
	v.Classes = append(v.Classes, ui.Col{Label: "in all", Num: true})
	for _, percent := range lateness.Usual {
		v.Classes = append(v.Classes, ui.Col{Label: inTen(percent) + " no later than", Num: true})
	}
	for _, x := range a.All {
		row := supplierRow{Name: x.Supplier.Name, Reach: x.Supplier.Phone, N: fmt.Sprint(x.Late.N), Coming: none(x.ToCome), Overdue: none(x.Overdue),
			ToSend: none(x.ToSend), Old: none(x.Old), OverdueMark: x.Overdue > 0}
		for _, c := range x.Late.Counts() {
			row.Counts = append(row.Counts, none(c.N))
		}
		for _, percent := range lateness.Usual {
			row.Quantiles = append(row.Quantiles, pen.quantile(x.Late, percent))
		}
		if a.Costs {
			row.Owed, row.Held, row.Short = pen.money(x.Owed), pen.money(x.Held), pen.money(x.Short)
		}
		v.Rows = append(v.Rows, row)
	}
	if a.Costs {
		v.Owed = pen.money(a.Owed())
	}
	return v
}

func none(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

func standCols(costs bool) []ui.Col {
	out := []ui.Col{{Label: "Supplier"}, {Label: "Telephone"}, {Label: "Lines to come", Num: true}, {Label: "Past their time", Num: true}, {Label: "To be sent back", Num: true}, {Label: "of these exchange units", Num: true}}
	if costs {
		out = append(out, ui.Col{Label: "Owed once sent", Num: true}, ui.Col{Label: "Owed", Num: true}, ui.Col{Label: "Given up", Num: true})
	}
	return out
}
