package quoteweb

import (
	"net/http"
	"strconv"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/quote"
	"rampside/web/ui"
)

type compareView struct {
	Title  string
	Quotes string
	A, B   string
	Was    string
	Is     string
	By     string
	Alike  bool
	Notes  []string
	Jobs   []changeView
	With   string
	Others []ui.NavLink
}

type changeView struct {
	Change string
	Title  string
	Was    string
	Is     string
	By     string
	Lines  []string
}

func (p pages) compare(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	q := ui.ReadQuery(r)
	a, b := q.Int("a", 1, 999), q.Int("b", 1, 999)
	if q.Err() != nil {
		return apperr.New(apperr.NotFound, "say which two versions to compare, such as a=1 and b=2")
	}
	c, err := p.quotes.Compare(r.Context(), ui.Who(r.Context()), id, a, b)
	if err != nil {
		return err
	}
	v := newCompareView(c)
	return p.kit.Render(w, r, http.StatusOK, comparePage(p.frame(r, v.Title, id), v))
}

func newCompareView(c quote.Comparison) *compareView {
	pen := penOf(c.B)
	v := &compareView{
		Title: "What changed from " + c.A.Name() + " to " + c.B.Name(), Quotes: CardPath(c.B.CardID), A: c.A.Title(), B: c.B.Title(),
		Was: pen.money(c.A.Totals.Gross), Is: pen.money(c.B.Totals.Gross), By: pen.by(c.By), Alike: c.Alike(), With: pen.with,
	}
	if c.Kind {
		v.Notes = append(v.Notes, "It was an "+string(c.A.Kind)+" and is a "+string(c.B.Kind)+".")
		if c.A.Kind == quote.Fixed {
			v.Notes[0] = "It was a " + string(c.A.Kind) + " and is an " + string(c.B.Kind) + "."
		}
	}
	if c.Days {
		v.Notes = append(v.Notes, "It could be agreed to until "+c.A.LastDay().Long()+", and can be until "+c.B.LastDay().Long()+".")
	}
	if c.Note {
		v.Notes = append(v.Notes, "Our words to the customer are others.")
	}
	for _, j := range c.Jobs {
		one := changeView{Change: string(j.Change), Title: j.Title(), By: pen.by(j.By)}
		if j.Change != quote.Added {
			one.Was = pen.money(j.Was.Gross)
		}
		if j.Change != quote.Gone {
			one.Is = pen.money(j.Is.Gross)
		}
		if j.Change != quote.Added && j.Change != quote.Gone {
			one.Lines = pen.changes(j)
		}
		v.Jobs = append(v.Jobs, one)
	}
	return v
}

// changes says, line by line, what makes a job another.
func (p pen) changes(j quote.JobChange) []string {
	var out []string
	if j.Was.Title != j.Is.Title {
		out = append(out, "was called “"+j.Was.Title+"”")
	}
	if j.Was.IfWaits != j.Is.IfWaits {
		out = append(out, "what happens if it waits is worded otherwise")
	}
	for _, l := range j.Lines {
		s := l.Words()
		switch l.Change {
		case quote.Same:
			continue
		case quote.Added:
			s += " added, " + p.money(l.Is.Net)
		case quote.Gone:
			s += " gone, " + p.money(l.Was.Net)
		case quote.Reworded:
			s += " at the same price, worded or counted otherwise"
		default:
			s += ": " + p.money(l.Was.Net) + " became " + p.money(l.Is.Net)
			if l.Was.Qty != l.Is.Qty {
				s += ", " + quote.Quantity(l.Was) + " became " + quote.Quantity(l.Is)
			}
		}
		out = append(out, s+comma(p.without))
	}
	return out
}

type recordView struct {
	Title   string
	Quotes  string
	Card    string
	Printed string
	Mark    string
	Car     string
	Who     string
	Entries []entryView
	Totals  []totalView
	Tax     string
}

type entryView struct {
	At      string
	Deed    string
	Version string
	Path    string
	Words   string
	Notes   []string
	Said    *sittingView
	// Letter is what was written to the customer.
	Letter string
}

type totalView struct{ Name, State, Net, Gross string }

func (p pages) record(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	rec, err := p.quotes.Record(r.Context(), ui.Who(r.Context()), id)
	if err != nil {
		return err
	}
	set, err := p.quotes.Garage(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	pen := penOfSettings(set)
	v := &recordView{Title: "On record for card " + ui.Itoa(id), Quotes: CardPath(id), Card: ui.Itoa(id), Printed: pen.full(rec.Now), Tax: pen.tax}
	for _, x := range rec.Versions {
		v.Mark, v.Car, v.Who = x.Car.Mark, x.Car.Name, x.Customer.Name
		v.Totals = append(v.Totals, totalView{x.Title(), string(x.State(rec.Now)), penOf(x).money(x.Totals.Net), penOf(x).money(x.Totals.Gross)})
	}
	for _, e := range rec.Entries {
		v.Entries = append(v.Entries, pen.entry(e))
	}
	return p.kit.Render(w, r, http.StatusOK, recordPage(p.frame(r, v.Title, id), v))
}

// comma puts words behind something as an aside.
func comma(words string) string {
	if words == "" {
		return ""
	}
	return "," + words
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func (p pen) entry(e quote.Entry) entryView {
	out := entryView{At: p.full(e.At), Deed: string(e.Deed)}
	if e.Version != nil {
		out.Version, out.Path = e.Version.Title(), versionPath(e.Version.ID)
		p = penOf(e.Version)
	}
	switch e.Deed {
	case quote.WasIssued:
		v := e.Version
		out.Words = p.money(v.Totals.Gross) + p.with + ", " + counted(len(v.Jobs), "line") + ", to be agreed to until " + v.LastDay().Long()
		out.Notes = append(out.Notes, "by "+v.IssuedBy)
		for _, j := range v.Jobs {
			out.Notes = append(out.Notes, j.Title+": "+p.money(j.Gross))
			if j.IfWaits != "" {
				out.Notes = append(out.Notes, "if it waits: "+j.IfWaits)
			}
		}
		if v.Rest.Title != "" {
			out.Notes = append(out.Notes, v.Rest.Title+": "+p.money(v.Rest.Gross))
		}
		if v.Note != "" {
			out.Notes = append(out.Notes, "our words: “"+v.Note+"”")
		}
	case quote.WasSent:
		out.Words, out.Notes = p.sendingWords(*e.Sending)
		out.Letter = e.Sending.LetterText
	case quote.WasOpened:
		out.Words = "by the link of " + e.Sending.ToName
	case quote.WasAnswered:
		s := p.sitting(e.Version, e.Answers)
		out.Said = &s
	case quote.WasWithdrawn:
		out.Words = "by " + e.Version.Withdrawn.By + ": " + e.Version.Withdrawn.Reason
	case quote.WasSaid:
		g := e.Answers[0]
		out.Words = e.Title + ": " + answerWord(g.Answer) + ", " + p.money(g.Net) + p.without + ", said by " + g.SaidBy + " " + g.How
		if g.TakenBy != "" {
			out.Notes = append(out.Notes, "taken down by "+g.TakenBy)
		}
		if g.UpTo != nil {
			out.Notes = append(out.Notes, "up to "+p.money(*g.UpTo)+p.with)
		}
	}
	return out
}
