package billweb

import (
	"net/http"
	"net/url"

	"rampside/internal/bill"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type listRow struct {
	Path, Number, Mark, Buyer, Car string
	Issued, Due                    string
	Gross, Open                    string
}

func rowOf(b bill.Row, today workday.Day) listRow {
	r := listRow{
		Path: billPath(b.ID), Number: b.Number, Mark: b.Word(today), Buyer: b.Buyer, Car: b.Car, Issued: bill.DayWords(b.Issued), Gross: b.Currency.Format(b.Gross),
	}
	if b.Kind == bill.Bill {
		r.Due = bill.DayWords(b.Due)
		if b.Open != 0 {
			r.Open = b.Currency.Format(b.Open)
		}
	}
	return r
}

type listView struct {
	Tabs   []tab
	Find   ui.Input
	Unpaid ui.Input
	Rows   []listRow
	Older  string
	Said   string
	Wrong  *ui.Form
}

const pageRows = 50

func (p pages) list(w http.ResponseWriter, r *http.Request) error {
	who := ui.Who(r.Context())
	q := ui.ReadQuery(r)
	f := bill.Filter{Find: q.Str("find", bill.MaxShort), Unpaid: q.Bool("unpaid"), Before: bill.ID(q.ID("before")), Limit: pageRows}
	status := http.StatusOK
	v := &listView{
		Tabs: tabs(who, Path), Find: q.Field("find", "Find a number, a name or a mark").Max(bill.MaxShort), Unpaid: q.Field("unpaid", "Only what is still owed"), Wrong: q,
	}
	var rows []bill.Row
	if q.Err() != nil {
		status = http.StatusUnprocessableEntity
	} else {
		var err error
		if rows, err = p.bills.List(r.Context(), who, f); err != nil {
			return err
		}
	}
	today, err := p.bills.Today(r.Context(), who)
	if err != nil {
		return err
	}
	for _, b := range rows {
		v.Rows = append(v.Rows, rowOf(b, today))
	}
	if len(rows) == pageRows {
		next := url.Values{"find": {f.Find}, "before": {ui.Itoa(rows[len(rows)-1].ID)}}
		if f.Unpaid {
			next.Set("unpaid", "yes")
		}
		v.Older = Path + "?" + next.Encode()
	}
	if len(rows) == 0 {
		v.Said = "There is no bill yet. They are issued from a card once its work is done."
		if f.Find != "" || f.Unpaid || f.Before != 0 {
			v.Said = "No bill is like that."
		}
	}
	return p.kit.Render(w, r, status, listPage(p.frame(r, "Bills"), v))
}

type owedView struct {
	Tabs  []tab
	Day   string
	Heads []ui.Col
	Rows  []owedRow
	Total owedRow
}

type owedRow struct {
	Name, Path, Phone, Since string
	Ages                     []string
	Kept, Total              string
}

func (p pages) owed(w http.ResponseWriter, r *http.Request) error {
	who := ui.Who(r.Context())
	all, set, err := p.bills.Owed(r.Context(), who)
	if err != nil {
		return err
	}
	cur := set.Money()
	v := &owedView{Tabs: tabs(who, owedPath), Day: bill.DayWords(set.Today(p.kit.Now()))}
	v.Heads = []ui.Col{{Label: "Customer"}, {Label: "Since"}}
	for _, b := range ledger.Buckets() {
		v.Heads = append(v.Heads, ui.Col{Label: b.String(), Num: true})
	}
	v.Heads = append(v.Heads, ui.Col{Label: "Kept for them", Num: true}, ui.Col{Label: "Owed", Num: true})
	blank := func(m money.Minor) string {
		if m == 0 {
			return ""
		}
		return cur.Format(m)
	}
	var sum ledger.Aged
	row := func(a ledger.Aged) owedRow {
		o := owedRow{Since: bill.DayWords(a.Oldest), Kept: blank(a.Unset), Total: cur.Format(a.Total)}
		for _, m := range a.In {
			o.Ages = append(o.Ages, blank(m))
		}
		return o
	}
	for _, d := range all {
		o := row(d.Aged)
		o.Name, o.Phone, o.Path = d.Name, d.Phone, Path+"?unpaid=yes&find="+url.QueryEscape(d.Name)
		v.Rows = append(v.Rows, o)
		for i := range sum.In {
			sum.In[i] += d.In[i]
		}
		sum.Unset, sum.Total = sum.Unset+d.Unset, sum.Total+d.Total
	}
	v.Total = row(sum)
	return p.kit.Render(w, r, http.StatusOK, owedPage(p.frame(r, "Who owes what"), v))
}
