package floorweb

import (
	"net/http"
	"slices"
	"strings"

	"rampside/internal/apperr"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/web/ui"
)

// choice is one thing that can get in the way, with what it leads to.
type choice struct {
	Kind jobcard.SnagKind
	Path string // of its details
	Says string
	// Taps are the buttons that report it at once: one for each part where it
	// is about a part, none where words are needed first.
	Taps []tap
}

// tap reports a snag with nothing more to say.
type tap struct {
	Label, Part string
	// Title, Low, Likely and High are the work that is asked for then.
	Title, Low, Likely, High string
}

// What is asked for when a job has grown and nobody says by how much. Common
// practice, no published source.
const (
	grownLow    = "0.5"
	grownLikely = "1.0"
	grownHigh   = "2.0"
)

// choices are the five snags as they stand for this line.
func (v *lineView) choices() []choice {
	says := map[jobcard.SnagKind]string{
		jobcard.WrongPart:   "It goes back, the same is needed again, and the line waits.",
		jobcard.PartMissing: "The line waits until it is here.",
		jobcard.JobGrown:    "More work is asked of the customer; you go on with what is agreed.",
		jobcard.FoundFault:  "The desk asks the customer about it; you go on.",
		jobcard.Blocked:     "You are clocked off, and the line stays open.",
	}
	var out []choice
	for _, k := range jobcard.SnagKinds {
		c := choice{Kind: k, Path: snagPath(v.line.ID, k), Says: says[k]}
		switch k {
		case jobcard.WrongPart, jobcard.PartMissing:
			c.Taps = v.partTaps(k)
		case jobcard.JobGrown:
			c.Taps = []tap{{Label: "The job has grown", Title: grownTitle(v.Title), Low: grownLow, Likely: grownLikely, High: grownHigh}}
		case jobcard.Blocked:
			c.Taps = []tap{{Label: "Blocked by something else"}}
		}
		out = append(out, c)
	}
	return out
}

// partTaps is a button for each part that it can be, or one that names none.
func (v *lineView) partTaps(k jobcard.SnagKind) []tap {
	label := map[jobcard.SnagKind]string{jobcard.WrongPart: "Wrong part", jobcard.PartMissing: "A part is missing"}[k]
	var out []tap
	for _, p := range v.sheet.PartsOf(v.line.ID) {
		if p.Counts() && p.Verdict != jobcard.DoesNotFit {
			out = append(out, tap{Label: label + ": " + p.Name, Part: ui.Itoa(p.ID)})
		}
	}
	if len(out) == 0 {
		out = []tap{{Label: label}}
	}
	return out
}

func grownTitle(title string) string { return cut("More work: "+title, jobcard.MaxTitle) }

func (p pages) snags(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.LineID](r, "line")
	if err != nil {
		return err
	}
	v, err := p.view(r, id)
	if err != nil {
		return err
	}
	return p.kit.Render(w, r, http.StatusOK, snagPage(p.page(r, "Snag"), v, v.choices()))
}

func (p pages) snagDetails(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[jobcard.LineID](r, "line")
	if err != nil {
		return err
	}
	i := slices.IndexFunc(jobcard.SnagKinds, func(k jobcard.SnagKind) bool { return slug(k) == pathWord(r, "kind") })
	if i < 0 {
		return apperr.New(apperr.NotFound, "there is no such page")
	}
	return p.showSnag(w, r, http.StatusOK, id, jobcard.SnagKinds[i], nil)
}

func (p pages) showSnag(w http.ResponseWriter, r *http.Request, status int, id jobcard.LineID, k jobcard.SnagKind, f *ui.Form) error {
	v, err := p.view(r, id)
	if err != nil {
		return err
	}
	d := detailsView{Kind: k, Grown: k == jobcard.JobGrown, Found: k == jobcard.FoundFault || k == jobcard.JobGrown}
	if k == jobcard.WrongPart || k == jobcard.PartMissing {
		d.Parts = []ui.Option{{Value: "", Label: "not one of these"}}
		for _, x := range v.sheet.PartsOf(id) {
			if x.Counts() {
				d.Parts = append(d.Parts, ui.Option{Value: ui.Itoa(x.ID), Label: x.Name})
			}
		}
	}
	if d.Found {
		if d.Operations, err = p.operationNames(r); err != nil {
			return err
		}
	}
	return p.kit.Render(w, r, status, snagDetailsPage(p.page(r, detailTitles[k]), v, d, f))
}

// detailsView is what the form of a snag's details offers.
type detailsView struct {
	Kind       jobcard.SnagKind
	Parts      []ui.Option
	Found      bool // work may have been found
	Grown      bool
	Operations []string
}

var detailTitles = map[jobcard.SnagKind]string{
	jobcard.WrongPart: "The wrong part", jobcard.PartMissing: "A part is missing", jobcard.JobGrown: "The job has grown",
	jobcard.FoundFault: "Found a fault", jobcard.Blocked: "Blocked by something else",
}

func (p pages) operationNames(r *http.Request) ([]string, error) {
	all, err := p.Floor.Operations(r.Context(), ui.Who(r.Context()))
	var names []string
	for _, o := range all {
		names = append(names, o.Name)
	}
	return names, err
}

func (p pages) snag(w http.ResponseWriter, r *http.Request) error {
	who, id, f, err := write(r)
	if err != nil {
		return err
	}
	in := jobcard.SnagInput{
		LineID: id, Kind: ui.OneOf(f, "kind", jobcard.SnagKinds...), PartID: jobcard.PartID(f.ID("part")),
		Note: f.Text("note", jobcard.MaxNote), Defer: f.Bool("defer"), DecidedBy: f.Str("decided_by", jobcard.MaxShort),
	}
	if in.Kind == "" {
		f.Fail("kind", "please say what the snag is")
		return f.Err()
	}
	if in.Found, err = p.readFound(r, f, in.Kind); err != nil {
		return err
	}
	if err = f.Err(); err == nil {
		_, err = p.Clock.Snag(r.Context(), who, in)
	}
	switch {
	case err == nil:
		p.kit.Flash(w, flashOf(in))
		return ui.SeeOther(w, r, linePath(id))
	case f.Take(err):
		return p.showSnag(w, r, http.StatusUnprocessableEntity, id, in.Kind, f)
	}
	return err
}

// readFound reads the work that was found, if any is named. The name of an
// operation makes it that operation, whose hours count where none are given.
func (p pages) readFound(r *http.Request, f *ui.Form, k jobcard.SnagKind) (*jobcard.Found, error) {
	if k != jobcard.FoundFault && k != jobcard.JobGrown {
		return nil, nil
	}
	n := jobcard.Found{
		Title: f.Str("found.title", jobcard.MaxTitle), Severity: ui.OneOf(f, "found.severity", jobcard.Severities...),
		Measured: f.Str("found.measured", jobcard.MaxShort), Limit: f.Str("found.limit", jobcard.MaxShort),
	}
	if n.Title == "" && k == jobcard.JobGrown {
		return nil, nil
	}
	likely := ui.Read(f, "found.likely", hours.Parse)
	n.Estimate = hours.Estimate{Low: likely, Likely: likely, High: likely}
	if f.Get("found.low") != "" {
		n.Estimate.Low = ui.Read(f, "found.low", hours.Parse)
	}
	if f.Get("found.high") != "" {
		n.Estimate.High = ui.Read(f, "found.high", hours.Parse)
	}
	if n.Title == "" {
		return &n, nil
	}
	ops, err := p.Floor.Operations(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return nil, err
	}
	for _, o := range ops {
		if strings.EqualFold(o.Name, n.Title) {
			n.OperationID = o.ID
		}
	}
	return &n, nil
}

func flashOf(in jobcard.SnagInput) string {
	switch {
	case in.Defer:
		return "Noted; the line is put off"
	case in.Kind == jobcard.WrongPart:
		return "Noted; the part goes back and the line waits for the right one"
	case in.Kind == jobcard.PartMissing:
		return "Noted; the line waits for the part"
	case in.Kind == jobcard.Blocked:
		return "Noted; you are off this line"
	case in.Found != nil:
		return "Noted; the customer will be asked"
	}
	return "Noted"
}
