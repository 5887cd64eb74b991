package quoteweb

import (
	"fmt"
	"net/http"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/quote"
	"rampside/web/ui"
)

type answerView struct {
	Form     *ui.Form
	Title    string
	Path     string
	Quotes   string
	Why      string
	May      bool
	Latest   string
	Jobs     []askView
	Total    string
	With     string
	Name     string
	Zone     string
	Sittings []sittingView
}

// askView is one job that an answer is taken down to.
type askView struct {
	Field      string
	Understood string // the field of a danger's acknowledgement; empty for none
	Words      string
	Title      string
	Label      string
	Mark       string
	Begun      bool
	Hint       string
	Answer     string // as it stands
	Struck     bool
}

func (p pages) answers(w http.ResponseWriter, r *http.Request) error {
	v, err := p.readToAnswer(r)
	if err != nil {
		return err
	}
	return p.answerSheet(w, r, http.StatusOK, v, nil)
}

// readToAnswer is read, for whoever takes answers down.
func (p pages) readToAnswer(r *http.Request) (*quote.Version, error) { return p.read(r) }

func (p pages) answerSheet(w http.ResponseWriter, r *http.Request, status int, v *quote.Version, f *ui.Form) error {
	pen := penOf(v)
	view := &answerView{
		Form: f, Title: "Answers to " + v.Title(), Path: versionPath(v.ID), Quotes: CardPath(v.CardID), Total: pen.money(v.Totals.Gross), With: pen.with,
		Name: v.Customer.Name, Zone: pen.loc.String(),
	}
	view.Why, view.May = v.Answerable(p.kit.Now())
	if v.Latest != v.ID {
		view.Latest = versionPath(v.Latest)
	}
	for _, j := range v.Jobs {
		view.Jobs = append(view.Jobs, pen.ask(j))
	}
	for _, g := range v.Sittings() {
		view.Sittings = append(view.Sittings, pen.sitting(v, g))
	}
	page := p.frame(r, view.Title, v.CardID)
	page.Live = "" // a form that is being filled in stands still
	return p.kit.Render(w, r, status, answerPage(page, view))
}

func (p pen) ask(j quote.Job) askView {
	out := askView{
		Field: "answer." + ui.Itoa(j.LineID), Title: j.Title, Label: j.Title + ", " + p.money(j.Gross) + p.with, Begun: j.Begun, Struck: j.Struck,
		Mark: string(jobcard.Asked),
	}
	switch {
	case j.Agreed():
		out.Answer, out.Mark = string(jobcard.Agreed), string(jobcard.Agreed)
	case j.Declined():
		out.Answer, out.Mark = string(jobcard.Declined), string(jobcard.Declined)
	}
	if !j.MustDo {
		out.Label += ", if there is time"
	}
	if j.IfWaits != "" {
		out.Hint = "If it waits: " + j.IfWaits
	}
	if j.Begun {
		out.Hint = "Work on it has begun: it cannot be declined any more. " + out.Hint
	}
	if j.Dangerous() {
		out.Understood, out.Words = "understood."+ui.Itoa(j.LineID), j.Understand()
	}
	return out
}

// options are the answers that can be given to a job.
func (a askView) options() []ui.Option {
	out := []ui.Option{{Value: string(jobcard.Agreed), Label: "Yes"}}
	if !a.Begun {
		out = append(out, ui.Option{Value: string(jobcard.Declined), Label: "No"})
	}
	return append(out, ui.Option{Value: "", Label: "Not said"})
}

func (p pages) answer(w http.ResponseWriter, r *http.Request) error {
	v, err := p.readToAnswer(r)
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	pen := penOf(v)
	in := quote.AnswerInput{
		VersionID: v.ID, SaidBy: f.Str("said_by", jobcard.MaxShort), How: f.OneOf("how", jobcard.Ways...), SaidAt: f.When("said_at", pen.loc),
		Signature: f.Signature("signature").String(), Note: f.Text("note", jobcard.MaxNote),
	}
	f.Required("said_by", "how")
	if f.Get("up_to") != "" {
		m := ui.Read(f, "up_to", func(s string) (money.Minor, error) { return pen.cur.Parse(s) })
		in.UpTo = &m
	}
	f.Call("said_by", "who said so")
	f.Call("how", "how they answered")
	f.Call("up_to", "up to how much")
	f.Call("said_at", "when it was said")
	for _, j := range v.Jobs {
		f.Call("answer."+ui.Itoa(j.LineID), j.Title)
		f.Call("understood."+ui.Itoa(j.LineID), "leaving “"+j.Title+"”")
		a := jobcard.Consent(f.OneOf("answer."+ui.Itoa(j.LineID), "", string(jobcard.Agreed), string(jobcard.Declined)))
		if a != "" {
			in.Jobs = append(in.Jobs, quote.JobAnswer{LineID: j.LineID, Answer: a, Understood: f.Bool("understood." + ui.Itoa(j.LineID))})
		}
	}
	if len(in.Jobs) == 0 && f.Err() == nil {
		f.Summary = "say yes or no to one line at least"
	}
	var done quote.Done
	if err = f.Err(); err == nil {
		done, err = p.quotes.Answer(r.Context(), who, in)
	}
	return p.reply(w, r, f, versionPath(v.ID), doneWords(done), err, func(status int) error {
		return p.answerSheet(w, r, status, v, f)
	})
}

func doneWords(d quote.Done) string {
	if d.Sitting == 0 {
		return "All of that was on record already"
	}
	return fmt.Sprintf("Taken down: %d yes, %d no", d.Agreed, d.Refused)
}
