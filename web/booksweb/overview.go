package booksweb

import (
	"fmt"
	"net/http"

	"rampside/internal/books"
	"rampside/internal/ledger"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type overviewView struct {
	Form    *ui.Form
	Tabs    []tab
	Printed string
	Tax     string
	Day     string // as a field has it
	DayName string
	Words   []string // the state of things in sentences
	Quotes  []quoteRow
	Waiting string
	Ages    []ui.Col
	Debtors []debtorRow
	Total   debtorRow
	Unpaid  []unpaidRow
	Taken   []takenRow
	Sum     takenRow
	Recent  []recentRow
}

type quoteRow struct {
	Name, Path, Card, CardPath, Plate, Who, WhoPath, Sent, Until, Lines, Gross, Mark string
}

type debtorRow struct {
	Name, Path string
	Cells      []figureCell
	Account    string
	Total      string
}

// figureCell is a figure with the documents behind it.
type figureCell struct {
	Value, What string
	Items       []item
}

type unpaidRow struct {
	Number, Path, Who, WhoPath, Issued, Due, Late, Gross, Open, Mark string
}

type takenRow struct {
	Method  string
	In, Out string
	Sum     figureCell
}

type recentRow struct{ Number, Path, Kind, Who, WhoPath, Card, CardPath, Issued, Net, Tax, Gross string }

// overview is how the money stands; a day that is none leaves today's takings,
// and says so at the field.
func (p pages) overview(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	day := ui.Read(f, "day", workday.Parse)
	status := http.StatusOK
	if f.Err() != nil {
		status, day = http.StatusUnprocessableEntity, workday.Day{}
	}
	o, err := p.books.Overview(r.Context(), ui.Who(r.Context()), day)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, overviewPage(p.frame(r, "Accounts"), newOverviewView(o, f)))
}

func newOverviewView(o books.Overview, f *ui.Form) *overviewView {
	pen := newPen(o.Frame)
	v := &overviewView{Form: f, Tabs: tabs(Path), Printed: pen.printed(), Tax: pen.tax(), Day: fieldDay(o.Day), DayName: o.Day.Long()}
	if o.Day == o.Today {
		v.DayName = "today, " + v.DayName
	}
	v.quotes(pen, o)
	v.owed(pen, o.Owed)
	v.taken(pen, o.Taken)
	for _, d := range o.Recent {
		v.Recent = append(v.Recent, recentRow{
			d.Number, billPath(d.ID), string(d.Kind), d.Name, customerPath(d.CustomerID), ui.Itoa(d.CardID), cardPath(d.CardID), date(d.Issued),
			pen.money(d.Net), pen.money(d.VAT), pen.money(d.Gross),
		})
	}
	return v
}

func (v *overviewView) quotes(pen pen, o books.Overview) {
	var waiting money.Minor
	for _, q := range o.Quotes {
		row := quoteRow{
			Name: q.Name, Path: quotePath(q.VersionID), Card: ui.Itoa(q.CardID), CardPath: cardPath(q.CardID), Plate: q.Mark, Who: q.Customer, WhoPath: customerPath(q.CustomerID),
			Sent: "not sent", Until: pen.day(q.ValidUntil.Add(-1)), Lines: counted(q.Lines, "line"), Gross: pen.money(q.Waiting), Mark: "asked",
		}
		if q.Sent != nil {
			row.Sent = pen.day(*q.Sent)
		}
		if !q.ValidUntil.After(o.Now) {
			row.Mark = "late"
		}
		waiting += q.Waiting
		v.Quotes = append(v.Quotes, row)
	}
	v.Waiting = pen.money(waiting)
}

func (v *overviewView) owed(pen pen, o books.Owed) {
	v.Ages = append(v.Ages, ui.Col{Label: "Customer"}, ui.Col{Label: "owed", Num: true})
	for _, b := range ledger.Buckets() {
		v.Ages = append(v.Ages, ui.Col{Label: b.String(), Num: true})
	}
	v.Ages = append(v.Ages, ui.Col{Label: "not set against a bill", Num: true})
	owing := 0
	for _, d := range o.Debtors {
		v.Debtors = append(v.Debtors, pen.debtor(d, o.On))
		for _, b := range d.Bills {
			late := b.Debt().Overdue(o.On)
			row := unpaidRow{Number: b.Number, Path: billPath(b.ID), Who: b.Name, WhoPath: customerPath(b.CustomerID), Issued: date(b.Issued), Due: date(b.Due),
				Gross: pen.money(b.Gross), Open: pen.money(b.Open()), Mark: "asked"}
			if late > 0 {
				row.Mark, row.Late = "late", counted(late, "day")
			}
			v.Unpaid = append(v.Unpaid, row)
			if b.Open() > 0 {
				owing++
			}
		}
	}
	v.Total = debtorRow{Name: "All of them", Account: pen.none(-o.Total.Unset), Total: pen.money(o.Total.Total)}
	for _, b := range ledger.Buckets() {
		v.Total.Cells = append(v.Total.Cells, figureCell{Value: pen.none(o.Total.In[b])})
	}
	// What is kept for customers is no less owed by others.
	var owed money.Minor
	for _, b := range ledger.Buckets() {
		owed += o.Total.In[b]
	}
	switch late := o.Total.In[ledger.To30] + o.Total.In[ledger.To60] + o.Total.In[ledger.To90] + o.Total.In[ledger.Over90]; {
	case owed == 0:
		v.Words = append(v.Words, "Every bill is paid.")
	case late == 0:
		v.Words = append(v.Words, fmt.Sprintf("%s is owed on %s; none is late.", pen.money(owed), counted(owing, "bill")))
	default:
		v.Words = append(v.Words, fmt.Sprintf("%s is owed on %s; %s of it is late.", pen.money(owed), counted(owing, "bill"), pen.money(late)))
	}
}

func (p pen) debtor(d books.Debtor, on workday.Day) debtorRow {
	row := debtorRow{Name: d.Name, Path: customerPath(d.CustomerID), Account: p.none(-d.Aged.Unset), Total: p.money(d.Aged.Total)}
	for _, bucket := range ledger.Buckets() {
		c := figureCell{Value: p.none(d.Aged.In[bucket]), What: "what " + d.Name + " owes, " + bucket.String()}
		for _, b := range d.Bills {
			if debt := b.Debt(); debt.Open() > 0 && ledger.BucketOf(debt.Overdue(on)) == bucket {
				c.Items = append(c.Items, item{b.Number + ", due " + date(b.Due), billPath(b.ID), p.money(debt.Open())})
			}
		}
		row.Cells = append(row.Cells, c)
	}
	return row
}

func (v *overviewView) taken(pen pen, all []books.Taken) {
	var in, out money.Minor
	for _, t := range all {
		row := takenRow{Method: t.Method, In: pen.none(t.In), Out: pen.none(-t.Out), Sum: figureCell{Value: pen.money(t.Sum()), What: "taken by " + t.Method}}
		for _, x := range t.Payments {
			row.Sum.Items = append(row.Sum.Items, item{x.Number + ", " + x.Words() + ", " + x.Name, paymentPath(x.ID), pen.money(x.Amount)})
		}
		in, out = in+t.In, out+t.Out
		v.Taken = append(v.Taken, row)
	}
	v.Sum = takenRow{Method: "All together", In: pen.none(in), Out: pen.none(-out), Sum: figureCell{Value: pen.money(in - out)}}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
