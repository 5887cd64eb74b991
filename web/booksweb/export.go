package booksweb

import (
	"bytes"
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"rampside/internal/apperr"
	"rampside/internal/books"
	"rampside/internal/export"
	"rampside/web/ui"
)

type exportView struct {
	Form     *ui.Form
	Tabs     []tab
	Printed  string
	Path     string
	From, To string
	Usual    []choice
	Words    string
	Book     string
	Zip      string
	Rows     []exportRow
}

type exportRow struct {
	Name, Says, Path, Count string
	Totals                  []item
}

func (p pages) export(w http.ResponseWriter, r *http.Request) error {
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	period := readPeriod(f)
	status := http.StatusOK
	if f.Err() != nil {
		status, period = http.StatusUnprocessableEntity, books.Period{}
	}
	e, err := p.books.Export(r.Context(), ui.Who(r.Context()), period)
	if err != nil {
		return err
	}
	v, err := newExportView(e, f)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, status, exportPage(p.frame(r, "Tables to take out"), v))
}

func newExportView(e books.Export, f *ui.Form) (*exportView, error) {
	pen := newPen(e.Frame)
	at := func(file string) string { return exportPath + "/" + file + span(e.Period) }
	v := &exportView{
		Form: f, Tabs: tabs(exportPath), Printed: pen.printed(), Path: exportPath, From: fieldDay(e.Period.From), To: fieldDay(e.Period.To), Usual: choices(exportPath, e.Today),
		Book: at("books.xlsx"), Zip: at("books.zip"), Words: pen.tax() + " stands in its table on the day a bill is issued.",
	}
	if e.Basis == books.ByCash {
		v.Words = pen.tax() + " stands in its table on the day money came (cash accounting)."
	}
	for _, t := range e.Tables {
		row := exportRow{Name: t.Name, Says: t.Says, Path: at(t.Name + ".csv"), Count: counted(len(t.Rows), "row")}
		for _, name := range t.Totals {
			sum, err := t.Sum(name)
			if err != nil {
				return nil, err
			}
			row.Totals = append(row.Totals, item{Words: name, Amount: pen.money(sum)})
		}
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

// exportFile is one of the files of a period: books.xlsx, books.zip, or one of
// the tables as CSV.
func (p pages) exportFile(w http.ResponseWriter, r *http.Request) error {
	file := chi.URLParam(r, "file")
	f := ui.ReadQuery(r)
	period := readPeriod(f)
	if err := f.Err(); err != nil {
		return err
	}
	name, ending, _ := strings.Cut(file, ".")
	if _, known := books.TableNamed(name); !(known && ending == "csv") && file != "books.xlsx" && file != "books.zip" {
		return apperr.New(apperr.NotFound, "there is no such page")
	}
	e, err := p.books.Export(r.Context(), ui.Who(r.Context()), period)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	mediaType := ""
	switch ending {
	case "xlsx":
		mediaType = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
		err = export.WriteXLSX(&b, "Books of "+e.Garage.Name, e.Now, e.Tables...)
		name = e.Name()
	case "zip":
		mediaType = "application/zip"
		err = export.Zip(&b, e.Now, e.Tables...)
		name = e.Name()
	default:
		t, _ := e.Table(name)
		mediaType = "text/csv; charset=utf-8"
		err = export.Write(&b, t.Table, t.Rows)
		name = strings.Replace(e.Name(), "books", name, 1)
	}
	if err != nil {
		return err
	}
	send(w, mediaType, "attachment", name+"."+ending, b.Bytes())
	return nil
}

type columnsView struct {
	Tabs    []tab
	Printed string
	Tables  []export.Table
}

func (p pages) columns(w http.ResponseWriter, r *http.Request) error {
	v := &columnsView{Tabs: tabs(columnsPath), Tables: books.Tables(), Printed: p.kit.Now().UTC().Format("2 January 2006")}
	return p.kit.Render(w, r, http.StatusOK, columnsPage(p.frame(r, "What the columns mean"), v))
}
