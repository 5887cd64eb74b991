package booksweb

import (
	"errors"
	"net/http"
	"strings"

	"rampside/internal/apperr"
	"rampside/internal/books"
	"rampside/internal/customer"
	"rampside/internal/ledger"
	"rampside/internal/post"
	"rampside/web/ui"
)

type statementView struct {
	Form            *ui.Form
	Tabs            []tab
	Printed         string
	Title, Name     string
	Reach           string
	Path, PDF, Mail string
	From, To        string
	Usual           []choice
	Opening         string
	Closing         string
	ClosingWords    string
	Rows            []statementRow
	Open            []unpaidRow
	Ages            []item
	Account         string
	Address, Text   string
	Mailing         bool // the form to mail it is open
	Letters         []letterRow
}

type statementRow struct{ Day, Number, Path, What, Charged, Paid, Balance string }

type letterRow struct{ At, To, State, Trouble string }

const mailTextMax = 4000

func (p pages) statement(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	f := ui.ReadQuery(r)
	if err := f.Err(); err != nil {
		return err
	}
	span := readPeriod(f)
	status := http.StatusOK
	if f.Err() != nil {
		status, span = http.StatusUnprocessableEntity, books.Period{}
	}
	return p.statementSheet(w, r, status, id, span, f, r.URL.Query().Get("do") == "mail")
}

func (p pages) statementSheet(w http.ResponseWriter, r *http.Request, status int, id customer.ID, span books.Period, f *ui.Form, mailing bool) error {
	who := ui.Who(r.Context())
	s, err := p.books.Statement(r.Context(), who, id, span)
	if err != nil {
		return err
	}
	letters, err := p.books.Letters(r.Context(), who, id)
	if err != nil {
		return err
	}
	v := newStatementView(s, f)
	v.Mailing = mailing
	v.letters(newPen(s.Frame), letters)
	return p.kit.Render(w, r, status, statementPage(p.frame(r, "Account of "+s.Customer.Name), v))
}

func newStatementView(s books.Statement, f *ui.Form) *statementView {
	pen := newPen(s.Frame)
	path := customerPath(s.Customer.ID)
	v := &statementView{
		Form: f, Tabs: tabs(""), Printed: pen.printed(), Title: s.Title(), Name: s.Customer.Name, Path: path, PDF: path + "/pdf" + span(s.Period), Mail: path + "/mail",
		From: fieldDay(s.Period.From), To: fieldDay(s.Period.To), Usual: choices(path, s.Today), Opening: pen.money(s.Opening), Closing: pen.money(s.Closing),
		ClosingWords: "Owed on " + date(s.Period.To), Account: pen.none(-s.Debtor.Aged.Unset), Address: s.Customer.Email,
	}
	var reach []string
	for _, x := range []string{s.Customer.Phone, s.Customer.Email, strings.ReplaceAll(s.Customer.Address, "\n", ", ")} {
		if x != "" {
			reach = append(reach, x)
		}
	}
	v.Reach = strings.Join(reach, " · ")
	if s.Closing < 0 {
		v.ClosingWords = "We owe on " + date(s.Period.To)
		v.Closing = pen.money(-s.Closing)
	}
	for _, r := range s.Rows {
		row := statementRow{Day: date(r.Day), Number: r.Number, What: books.Words(r), Balance: pen.money(r.Balance)}
		if id, is := s.Bills[r.Number]; is {
			row.Path = billPath(id)
		} else if id, is := s.Payments[r.Number]; is {
			row.Path = paymentPath(id)
		}
		if charged, _ := books.Columns(r); charged {
			row.Charged = pen.money(r.Amount)
		} else {
			row.Paid = pen.money(r.Amount)
		}
		v.Rows = append(v.Rows, row)
	}
	for _, b := range s.Debtor.Bills {
		late := b.Debt().Overdue(s.On())
		row := unpaidRow{Number: b.Number, Path: billPath(b.ID), Issued: date(b.Issued), Due: date(b.Due), Gross: pen.money(b.Gross), Open: pen.money(b.Open())}
		if late > 0 {
			row.Late = counted(late, "day")
		}
		v.Open = append(v.Open, row)
	}
	for _, b := range ledger.Buckets() {
		if m := s.Debtor.Aged.In[b]; m != 0 {
			v.Ages = append(v.Ages, item{Words: b.String(), Amount: pen.money(m)})
		}
	}
	v.Text = "Dear " + s.Customer.Name + ",\n\nplease find your statement of account attached. " + mailWords(pen, s) + "\n\n" + s.Garage.Name + "\n" + s.Garage.Phone
	return v
}

func mailWords(pen pen, s books.Statement) string {
	if s.Closing <= 0 {
		return "Nothing is owed on " + date(s.Period.To) + "."
	}
	return pen.money(s.Closing) + " is owed on " + date(s.Period.To) + "."
}

func (v *statementView) letters(pen pen, all []post.Status) {
	for _, l := range all {
		v.Letters = append(v.Letters, letterRow{pen.day(l.At), l.To, string(l.State), l.Trouble})
	}
}

func (p pages) statementPDF(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	f := ui.ReadQuery(r)
	span := readPeriod(f)
	if err := f.Err(); err != nil {
		return err
	}
	s, err := p.books.Statement(r.Context(), ui.Who(r.Context()), id, span)
	if err != nil {
		return err
	}
	pdf, err := s.PDF()
	if err != nil {
		return err
	}
	send(w, "application/pdf", "inline", s.FileName(), pdf)
	return nil
}

// send answers with a file, which is nobody else's to keep.
func send(w http.ResponseWriter, mediaType, how, name string, content []byte) {
	h := w.Header()
	h.Set("Content-Type", mediaType)
	h.Set("Content-Disposition", how+`; filename="`+name+`"`)
	h.Set("Cache-Control", "no-store")
	_, _ = w.Write(content) // a failure is a browser that went away
}

func (p pages) mailStatement(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[customer.ID](r, "customer")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	span := readPeriod(f)
	in := books.MailInput{CustomerID: id, Period: span, To: f.Str("address", 254), Text: f.Text("text", mailTextMax)}
	f.Required("address", "text")
	if f.Err() == nil {
		_, err := p.books.Mail(r.Context(), who, in)
		if err == nil {
			p.kit.Flash(w, "The statement goes out by mail")
			return ui.SeeOther(w, r, customerPath(id)+spanOr(span))
		}
		if !f.Take(renamed(err)) {
			return err
		}
	}
	if span.Check() != nil {
		span = books.Period{}
	}
	return p.statementSheet(w, r, http.StatusUnprocessableEntity, id, span, f, true)
}

// renamed moves the message about the letter's address to the form's field,
// since to is the period's last day there.
func renamed(err error) error {
	var e *apperr.Error
	if errors.As(err, &e) && e.Fields["to"] != "" {
		e.Fields["address"] = e.Fields["to"]
		delete(e.Fields, "to")
	}
	return err
}

func spanOr(p books.Period) string {
	if p == (books.Period{}) {
		return ""
	}
	return span(p)
}
