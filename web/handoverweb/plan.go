package handoverweb

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// planView is a card as it would be handed over.
type planView struct {
	Path, Card, Mark, Car string
	Form                  *ui.Form
	Facts                 [][2]string
	Hard, Soft            []stopView
	Unsafe                []itemView
	Done, NotDone, Found  []itemView
	Doubt                 []tickView
	OldParts, Photos      []tickView
	Due                   []dueView
	Told                  string
	Seen                  string
	GivenTo               string
	Unit                  string
	// May tells whether the car can go at all.
	May bool
	// Past is where an earlier handover of this card is.
	Past string
}

type stopView struct{ Words, Path string }

type itemView struct {
	Mark, Title, Why string
	More             []string
}

type tickView struct {
	ID, Value, Label, Small string
	On                      bool
}

type dueView struct {
	Form         *ui.Form
	What, On, At string
}

func (p pages) plan(w http.ResponseWriter, r *http.Request) error {
	card, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	return p.planPage(w, r, http.StatusOK, card, nil)
}

func (p pages) planPage(w http.ResponseWriter, r *http.Request, status int, card jobcard.CardID, f *ui.Form) error {
	plan, err := p.Hands.Plan(r.Context(), ui.Who(r.Context()), card)
	if err != nil {
		return err
	}
	if r.Method == http.MethodGet && plan.Sheet.Stage == jobcard.Collected && len(plan.Past) > 0 {
		return ui.SeeOther(w, r, madePath(plan.Past[0]))
	}
	page := p.kit.Page(r, "Handover, card "+ui.Itoa(card), "/diary")
	page.OwnHead, page.Wide = true, true
	return p.kit.Render(w, r, status, planTemplate(page, newPlanView(plan, f)))
}

func newPlanView(plan handover.Plan, f *ui.Form) *planView {
	s := plan.Sheet
	posted := f != nil
	if !posted {
		f = ui.NewForm(nil)
	}
	v := &planView{
		Path: Path(s.ID), Card: "/cards/" + ui.Itoa(s.ID), Mark: s.Vehicle.Mark, Car: s.Vehicle.Name(), Form: f, Seen: plan.Seen,
		GivenTo: first(s.ContactName, s.Customer.Name), Unit: s.MileageUnit, May: len(plan.Hard()) == 0,
	}
	v.fact("Card", ui.Itoa(s.ID)+", "+string(s.Stage))
	v.fact("Customer", s.Customer.Name)
	if s.Mileage != nil {
		v.fact("Mileage in", handover.Handover{MileageUnit: s.MileageUnit}.Miles(s.Mileage))
	}
	v.fact("Keys", s.KeysNote)
	for _, x := range plan.Hard() {
		v.Hard = append(v.Hard, stopView{ui.Sentence(x.Words), x.Path})
	}
	for _, x := range plan.Soft() {
		v.Soft = append(v.Soft, stopView{ui.Sentence(x.Words), x.Path})
	}
	unsafe := slices.Concat(plan.Unsafe, plan.Doubt)
	v.Unsafe, v.Done, v.NotDone, v.Found = items(unsafe), items(plan.Done), items(plan.NotDone), items(plan.Found)
	v.Told = handover.Told(joined(v.Car, v.Mark), unsafe)
	if len(plan.Past) > 0 {
		v.Past = madePath(plan.Past[0])
	}
	for _, x := range plan.Doubt {
		v.Doubt = append(v.Doubt, tick(f, posted, "right", "right", ui.Itoa(x.FindingID), x.What, false))
	}
	for n, x := range plan.OldParts {
		v.OldParts = append(v.OldParts, tick(f, posted, "returned-"+strconv.Itoa(n), "returned", x, x, false))
	}
	for n, x := range s.Photos {
		t := tick(f, posted, "photo-"+ui.Itoa(x.ID), "photos", ui.Itoa(x.ID), first(x.Caption, "Photo "+strconv.Itoa(n+1)), n < 4)
		t.Small = "/photos/" + ui.Itoa(x.ID) + "/small"
		v.Photos = append(v.Photos, t)
	}
	v.due(plan, f, posted)
	return v
}

// due offers what the intervals propose and one row more.
func (v *planView) due(plan handover.Plan, f *ui.Form, posted bool) {
	for _, x := range append(slices.Clip(plan.Due), handover.Item{}) {
		d := dueView{Form: f.Row("due", len(v.Due))}
		if posted { // what was emptied stays empty
			v.Due = append(v.Due, d)
			continue
		}
		d.What = x.What
		if !x.DueOn.IsZero() {
			d.On = x.DueOn.String()
		}
		if x.DueAt > 0 {
			d.At = strconv.Itoa(x.DueAt)
		}
		v.Due = append(v.Due, d)
	}
}

func (v *planView) fact(name, value string) {
	if value != "" {
		v.Facts = append(v.Facts, [2]string{name, value})
	}
}

// tick is a box that is ticked as it was posted, or at first as on says.
func tick(f *ui.Form, posted bool, id, name, value, label string, on bool) tickView {
	if posted {
		on = slices.Contains(f.Values[name], value)
	}
	return tickView{ID: id, Value: value, Label: label, On: on}
}

func items(all []handover.Item) []itemView {
	out := make([]itemView, len(all))
	for n, i := range all {
		v := itemView{Mark: string(i.Kind), Title: i.What, Why: i.Why}
		if i.Severity != "" {
			v.Mark = string(i.Severity)
		}
		if i.Kind == handover.NotDone {
			v.Mark = notDoneMark(i.Why)
		}
		if i.Measured != "" {
			v.More = append(v.More, "measured "+i.Measured)
		}
		if i.Limit != "" {
			v.More = append(v.More, "limit "+i.Limit)
		}
		v.More = append(v.More, i.Parts...)
		v.More = append(v.More, i.Checks...)
		out[n] = v
	}
	return out
}

// notDoneMark is the word in the margin for why something was not done.
func notDoneMark(why string) string {
	for begins, mark := range map[string]string{"Declined": "declined", "Waiting": "waiting on parts", "Put off": "deferred"} {
		if strings.HasPrefix(why, begins) {
			return mark
		}
	}
	return "open"
}

func first(ss ...string) string {
	for _, s := range ss {
		if s != "" {
			return s
		}
	}
	return ""
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " " + b
}

// readInput reads the form of a handover.
func readInput(f *ui.Form, card jobcard.CardID) handover.Input {
	in := handover.Input{
		CardID: card, Seen: f.Str("seen", 40), GivenTo: f.Str("given_to", handover.MaxShort), Keys: f.Str("keys", handover.MaxShort),
		Note: f.Text("note", handover.MaxNote), Anyway: f.Text("anyway", handover.MaxNote),
		Right: f.IDs("right", 100), Photos: f.IDs("photos", 100), Returned: f.Strs("returned", handover.MaxReturned+1, handover.MaxShort),
		Name: f.Str("name", handover.MaxShort), How: f.OneOf("how", jobcard.Ways...), Signature: f.Signature("signature").String(),
	}
	if more := f.Str("returned_more", handover.MaxShort); more != "" {
		in.Returned = append(in.Returned, more)
	}
	if f.Get("mileage_out") != "" {
		n := f.Int("mileage_out", 0, jobcard.MaxMiles)
		in.MileageOut = &n
	}
	for _, row := range f.Rows("due", handover.MaxDue) {
		d := handover.DueInput{What: row.Str("what", handover.MaxShort), On: ui.Read(row, "on", workday.Parse), At: row.Int("at", 0, 4_000_000)}
		if d.What == "" && (!d.On.IsZero() || d.At > 0) {
			row.Fail("what", "say what is due then")
		}
		in.Due = append(in.Due, d)
	}
	f.Required("given_to", "keys")
	return in
}

func (p pages) make(w http.ResponseWriter, r *http.Request) error {
	card, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := readInput(f, card)
	var made handover.Made
	if err = f.Err(); err == nil {
		made, err = p.Hands.Make(r.Context(), who, in)
	}
	return p.reply(w, r, f, madePath(made.ID), "Handed over to "+in.GivenTo, err, func(status int) error {
		return p.planPage(w, r, status, card, f)
	})
}
