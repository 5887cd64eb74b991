package quoteweb

import (
	"bytes"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/money"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/web/ui"
)

// versionView is a version as the customer sees it, and what the desk may do
// with it.
type versionView struct {
	Form       *ui.Form
	V          *quote.Version
	Pen        pen
	Path       string
	Card       string
	CardPath   string
	Quotes     string
	State      string
	Why        string // why it can be answered no more
	May        bool   // it can be sent and answered
	Withdrawn  bool
	TakingBack bool
	Facts      [][2]string
	From       []string
	To         []string
	Jobs       []jobView
	Taxes      []taxView
	Found      []foundView
	Sendings   []sendingView
	Sittings   []sittingView
	Link       *linkView
	Printed    string
	Latest     string // the newest version's page, where this is another
}

type jobView struct {
	Title string
	Mark  string
	Hint  string
	Gross string
	Waits string
	Lines []priceView
	Notes []string
}

type priceView struct {
	What, Number, Qty, Each, Rate, Net string
	Notes                              []string
}

type taxView struct{ Rate, Net, VAT string }

type foundView struct {
	Severity, What, Means, For string
	Photos                     []photoView
}

type photoView struct{ Href, Thumb, Alt string }

type sendingView struct {
	Head  string
	Notes []string
	Link  string // where the link is shown, empty for none that stands
	Name  string
}

// linkView is a link to be passed on.
type linkView struct {
	Address string
	MailTo  string
	Text    string
	For     string
}

func (p pages) version(w http.ResponseWriter, r *http.Request) error {
	v, err := p.read(r)
	if err != nil {
		return err
	}
	return p.versionSheet(w, r, http.StatusOK, v, r.URL.Query().Get("do") == "withdraw", nil)
}

func (p pages) versionSheet(w http.ResponseWriter, r *http.Request, status int, v *quote.Version, takingBack bool, f *ui.Form) error {
	view := newVersionView(v, p.kit.Now())
	view.Form, view.TakingBack = f, takingBack
	if err := p.showLink(r, view); err != nil {
		return err
	}
	return p.kit.Render(w, r, status, versionPage(p.frame(r, v.Title(), v.CardID), view))
}

// showLink puts the link of the sending that the address asks for on the page.
func (p pages) showLink(r *http.Request, view *versionView) error {
	n, err := strconv.ParseInt(r.URL.Query().Get("link"), 10, 64)
	if err != nil {
		return nil
	}
	for _, s := range view.V.Sendings {
		if s.LinkID != n || !s.LinkOver.IsZero() {
			continue
		}
		m, err := p.links.Token(r.Context(), ui.Who(r.Context()), link.ID(n))
		if err != nil {
			return err
		}
		address := p.kit.PublicURL(m.Path())
		text := view.V.Letter(s.ToName, "", address)
		view.Link = &linkView{Address: address, MailTo: post.Mailto(view.V.Customer.Email, view.V.Subject(), text), Text: text, For: s.ToName}
	}
	return nil
}

func newVersionView(v *quote.Version, now time.Time) *versionView {
	pen := penOf(v)
	out := &versionView{
		V: v, Pen: pen, Path: versionPath(v.ID), Card: ui.Itoa(v.CardID), CardPath: cardPath(v.CardID), Quotes: CardPath(v.CardID),
		State: string(v.State(now)), Withdrawn: !v.Withdrawn.At.IsZero(), Printed: pen.full(now),
	}
	out.Why, out.May = v.Answerable(now)
	if v.Latest != v.ID {
		out.Latest = versionPath(v.Latest)
	}
	out.From = append(lines(v.Garage.Address), v.Garage.Phone, v.Garage.Email)
	out.To = lines(v.Customer.Address)
	add := func(name, value string) {
		if strings.TrimSpace(value) != "" {
			out.Facts = append(out.Facts, [2]string{name, value})
		}
	}
	add("Issued", pen.day(v.IssuedAt))
	add("To be agreed to until", v.LastDay().Long())
	add("Car", v.Car.Name)
	add("Registration", v.Car.Mark)
	add("Mileage", v.Car.MileageText())
	add("Card", ui.Itoa(v.CardID))
	if v.Garage.VATNumber != "" {
		add(v.Garage.TaxName+" number", v.Garage.VATNumber)
	}
	for _, j := range v.Jobs {
		out.Jobs = append(out.Jobs, pen.job(j))
	}
	if v.Rest.Title != "" {
		rest := pen.job(v.Rest)
		for _, c := range v.Adjust {
			n := c.Amount
			if !c.Up {
				n = -n
			}
			rest.Lines = append(rest.Lines, priceView{What: quote.AdjustWords(pen.cur, c.Adjusted), Rate: rate(c.VAT.Code, c.VAT.Rate), Net: pen.money(n)})
		}
		out.Jobs = append(out.Jobs, rest)
	}
	for _, t := range v.Totals.ByRate {
		out.Taxes = append(out.Taxes, taxView{quote.RateWords(t.Code, t.Rate), pen.money(t.Net), pen.money(t.VAT)})
	}
	out.Found = found(v)
	for _, s := range v.Sendings {
		sv := sendingView{Name: s.ToName}
		sv.Head, sv.Notes = pen.sendingWords(s)
		if s.LinkID != 0 && s.LinkOver.IsZero() && now.Before(v.ValidUntil) {
			sv.Link = out.Path + "?link=" + strconv.FormatInt(s.LinkID, 10) + "#link"
		}
		out.Sendings = append(out.Sendings, sv)
	}
	for _, g := range v.Sittings() {
		out.Sittings = append(out.Sittings, pen.sitting(v, g))
	}
	return out
}

// Taxed tells whether there is VAT to be shown.
func (v *versionView) Taxed() bool { return v.V.Garage.Registered() }

// Before is how many columns stand before the last of the price table.
func (v *versionView) Before() string {
	if v.Taxed() {
		return "5"
	}
	return "4"
}

func lines(s string) []string { return strings.FieldsFunc(s, func(r rune) bool { return r == '\n' }) }

func rate(code money.VATCode, r money.Rate) string {
	if code == money.Outside || code == money.Exempt {
		return "none"
	}
	return money.FormatRate(r)
}

func (p pen) job(j quote.Job) jobView {
	out := jobView{Title: j.Title, Gross: p.money(j.Gross), Waits: j.IfWaits}
	if j.LineID != 0 {
		out.Mark = string(jobcard.Asked)
		switch {
		case j.Agreed():
			out.Mark = string(jobcard.Agreed)
		case j.Declined():
			out.Mark = string(jobcard.Declined)
		}
		if j.Struck {
			out.Hint = "struck out on the card since"
		}
		if !j.MustDo {
			out.Title += ", if there is time"
		}
	}
	for i, l := range j.Lines {
		a := j.About[i]
		row := priceView{
			What: quote.LineWords(l), Number: a.Number, Qty: quote.Quantity(l), Each: quote.Each(p.cur, l), Rate: rate(l.VAT.Code, l.VAT.Rate), Net: p.money(l.Net),
		}
		for _, adj := range l.Adjust {
			row.Notes = append(row.Notes, quote.AdjustWords(p.cur, adj))
		}
		if a.CustomersOwn {
			row.Notes = append(row.Notes, "brought by you: we answer for the work, not for the part")
		}
		out.Lines = append(out.Lines, row)
	}
	return out
}

// found is what was found, each with the photos of the line it was found on.
// A photo stands once.
func found(v *quote.Version) []foundView {
	shown := map[int64]bool{}
	take := func(line jobcard.LineID) (out []photoView) {
		for _, p := range v.Photos {
			if p.LineID == line && line != 0 && !shown[p.ID] {
				shown[p.ID] = true
				alt := p.Caption
				if alt == "" {
					alt = "Photo " + strconv.FormatInt(p.ID, 10)
				}
				at := "/photos/" + strconv.FormatInt(p.ID, 10)
				out = append(out, photoView{at, at + "/small", alt})
			}
		}
		return out
	}
	var out []foundView
	for _, f := range v.Findings {
		one := foundView{Severity: string(f.Severity), What: f.What, Means: quote.SeverityMeans(f.Severity), Photos: append(take(f.FoundOn), take(f.JobLine)...)}
		if f.Measured != "" {
			one.What += ": measured " + f.Measured
		}
		if f.Limit != "" {
			one.What += ", limit " + f.Limit
		}
		if j, ok := v.Job(f.JobLine); ok {
			one.For = "put right by “" + j.Title + "”"
		}
		out = append(out, one)
	}
	return out
}

// pdf is the version on paper.
func (p pages) pdf(w http.ResponseWriter, r *http.Request) error {
	v, err := p.read(r)
	if err != nil {
		return err
	}
	at, err := p.paperLink(r, v)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := v.Paper(at).Write(&b); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="`+v.FileName()+`"`)
	h.Set("Cache-Control", "no-store")
	_, _ = w.Write(b.Bytes()) // a failure is a browser that went away
	return nil
}

// paperLink is the newest link at which a version can still be answered, for
// the code on its paper; empty when none was made.
func (p pages) paperLink(r *http.Request, v *quote.Version) (string, error) {
	if _, ok := v.Answerable(p.kit.Now()); !ok {
		return "", nil
	}
	for _, s := range slices.Backward(v.Sendings) {
		if s.LinkID != 0 && s.LinkOver.IsZero() {
			return p.quotes.Address(r.Context(), ui.Who(r.Context()), link.ID(s.LinkID))
		}
	}
	return "", nil
}

func (p pages) withdraw(w http.ResponseWriter, r *http.Request) error {
	v, err := p.read(r)
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := quote.WithdrawInput{VersionID: v.ID, Reason: f.Str("reason", jobcard.MaxShort)}
	if err = f.Err(); err == nil {
		_, err = p.quotes.Withdraw(r.Context(), who, in)
	}
	return p.reply(w, r, f, versionPath(v.ID), "Taken back: it can be answered no more", err, func(status int) error {
		return p.versionSheet(w, r, status, v, true, f)
	})
}
