package yourcarweb

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/pricing"
	"rampside/internal/quote"
	"rampside/internal/signature"
	"rampside/web/ui"
)

// quoteView is a version as the customer has it before them.
type quoteView struct {
	Form  *ui.Form
	Reach reach

	Title, Greeting, Car, Mark, VIN string
	Kind, Note, Until, Path         string
	// WithTax are the words behind an amount that has VAT in it, if it has.
	WithTax string
	Jobs    []jobView
	// Other are findings that belong to no job of the list.
	Other []findingView
	// Rest is what belongs to no job of those chosen, or of all while none is;
	// RestSays tells which. Without RestShown there is nothing.
	Rest, RestTitle, RestSays string
	RestShown                 bool
	Total                     string
	Yes                       int
	Version                   int64
	Signed                    signature.Drawn
	SignedBy                  string
	SignedAt                  string
	// Printed is the head of the paper.
	Printed string
	// State of the page: Asking shows the form, else the answer is shown.
	Asking, Answerable, Some bool
	Why                      string // it cannot be answered
	Newer                    string // it took an older one's place
	Staff                    bool
	Done                     bool
	Paper                    bool
}

// jobView is one job to say yes or no to.
type jobView struct {
	ID         string
	Title      string
	Gross      string
	IfWaits    string
	Severity   string
	Means      string
	Findings   []findingView
	Photos     []photoView
	Lines      []string
	Dangerous  bool
	Understand string
	// Answer is what stands or was typed: agreed, declined or empty.
	Answer string
	// Fixed is why it cannot be answered any more, empty when it can.
	Fixed   string
	Mark    string
	Said    string
	Problem string
}

type findingView struct{ Severity, What, Measured, Means string }

type photoView struct{ Path, Small, Caption string }

// version reads the version that a link leads to: the one it was made for, or
// the newest that was sent since, so that an old message leads to what holds.
func (p pages) version(ctx context.Context, l link.Link) (v *quote.Version, newer bool, err error) {
	who := l.Customer("")
	v, err = p.Quotes.Read(ctx, who, quote.VersionID(l.Target))
	if err != nil || v.Latest == v.ID || !v.Withdrawn.At.IsZero() {
		return v, false, err
	}
	latest, err := p.Quotes.Read(ctx, who, v.Latest)
	// One that was not sent yet is still the garage's own business.
	if apperr.Is(err, apperr.NotFound) {
		return v, false, nil
	}
	return latest, true, err
}

// show makes the view. f is what was typed, nil for a first look.
func (p pages) show(r *http.Request, l link.Link, v *quote.Version, newer bool, f *ui.Form) (*quoteView, error) {
	now := p.kit.Now()
	path := r.URL.Path
	out := &quoteView{
		Form: f, Title: v.Title(), Greeting: l.GivenTo, Car: v.Car.Name, Mark: v.Car.Mark, VIN: v.Car.VIN, Kind: v.Kind.Means(), Note: v.Note,
		Until: v.LastDay().Long(), Path: path, WithTax: v.Garage.WithTax(), Version: int64(v.ID),
		Reach: reach{v.Garage.Name, v.Garage.Phone, v.Garage.Email}, Staff: staff(r),
		Printed: now.In(v.Garage.Location()).Format("2 January 2006 15:04"),
	}
	out.Why, out.Answerable = v.Answerable(now)
	if !slices.ContainsFunc(v.Jobs, canAnswer) {
		out.Why, out.Answerable = "All of it is agreed and begun, or has been taken off the list.", false
	}
	if v.Latest != v.ID && v.Withdrawn.At.IsZero() {
		out.Why = "We have made a newer version, number " + strconv.Itoa(v.LatestNo) + ", and send it to you. The prices here hold no more."
	}
	if newer {
		out.Newer = "The version that this link was made for holds no more. This is the newer one, " + v.Name() + "; please answer it here."
	}
	shown := map[int64]bool{}
	for _, j := range v.Jobs {
		out.Jobs = append(out.Jobs, job(v, j, path, f, shown))
	}
	for _, x := range v.Findings {
		if !shown[x.ID] {
			out.Other = append(out.Other, finding(x))
		}
	}
	for i := range out.Jobs {
		out.Some = out.Some || v.Jobs[i].Last != nil
	}
	var yes []jobcard.LineID
	for i, j := range out.Jobs {
		if j.Answer == string(jobcard.Agreed) && !v.Jobs[i].Struck {
			yes = append(yes, v.Jobs[i].LineID)
		}
	}
	t, err := totalsOf(v, yes)
	if err != nil {
		return nil, err
	}
	out.Yes, out.Total, out.Rest, out.RestTitle, out.RestSays, out.RestShown = t.Jobs, t.Total, t.Rest, t.Title, t.Says, t.Shown
	out.signed(v)
	return out, nil
}

// comma is WithTax as an aside: ", with VAT".
func (v *quoteView) comma() string {
	if v.WithTax == "" {
		return ""
	}
	return "," + v.WithTax
}

func (v *quoteView) signed(of *quote.Version) {
	if len(of.Answers) == 0 {
		return
	}
	last := of.Answers[0]
	for _, a := range of.Answers {
		if a.At.After(last.At) {
			last = a
		}
	}
	// What cannot be read was checked when it came in; then there is none.
	v.Signed, _ = signature.Parse(last.Signature)
	v.SignedBy = last.SaidBy
	v.SignedAt = at(last.At, of)
}

func at(t time.Time, v *quote.Version) string {
	return t.In(v.Garage.Location()).Format("15:04 on Monday 2 January 2006")
}

func job(v *quote.Version, j quote.Job, path string, f *ui.Form, shown map[int64]bool) jobView {
	id := strconv.FormatInt(int64(j.LineID), 10)
	out := jobView{
		ID: id, Title: j.Title, Gross: v.Garage.Money().Format(j.Gross), IfWaits: j.IfWaits,
		Severity: string(j.Severity), Means: means(j.Severity), Dangerous: j.Dangerous(), Understand: j.Understand(),
	}
	switch {
	case j.Agreed():
		out.Answer, out.Mark = string(jobcard.Agreed), "agreed"
	case j.Declined():
		out.Answer, out.Mark = string(jobcard.Declined), "declined"
	default:
		out.Mark, out.Said = "asked", "not answered yet"
	}
	if out.Answer != "" && j.Last != nil {
		out.Said = j.Last.SaidBy + ", " + at(j.Last.At, v)
	}
	switch {
	case j.Struck:
		out.Fixed = "This has been taken off the list since. Please ask us."
	case j.Begun && j.Agreed():
		out.Fixed = "Work on it has begun, so your yes stands. Ring us if you need it stopped."
	}
	if f != nil && out.Fixed == "" {
		if typed := f.Get("answer." + id); f.Values.Has("answer." + id) {
			out.Answer = typed
		}
		out.Problem = f.Problem("answer." + id)
	}
	for _, x := range v.Findings {
		if x.JobLine == j.LineID {
			shown[x.ID] = true
			out.Findings = append(out.Findings, finding(x))
		}
	}
	for _, x := range v.Photos {
		if x.LineID == j.LineID {
			out.Photos = append(out.Photos, pictured(path, x))
		}
	}
	for _, x := range j.Lines {
		// Labour has the job's own name, which stands above already.
		words := x.Text
		if x.Kind == pricing.Labour {
			words = "labour"
		}
		out.Lines = append(out.Lines, words)
	}
	return out
}

// canAnswer tells whether a job can still be said yes or no to.
func canAnswer(j quote.Job) bool { return !j.Struck && !(j.Begun && j.Agreed()) }

func finding(x quote.Finding) findingView {
	out := findingView{Severity: string(x.Severity), What: x.What, Means: means(x.Severity)}
	if x.Measured != "" {
		out.Measured = "measured " + x.Measured
	}
	if x.Limit != "" {
		if out.Measured != "" {
			out.Measured += ", "
		}
		out.Measured += "the limit is " + x.Limit
	}
	return out
}

func pictured(path string, x quote.Photo) photoView {
	at := path + "/photo/" + strconv.FormatInt(x.ID, 10)
	caption := x.Caption
	if caption == "" {
		caption = "Photo of what was found"
	}
	return photoView{Path: at, Small: at + "?small=yes", Caption: caption}
}
