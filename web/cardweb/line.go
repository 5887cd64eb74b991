package cardweb

import (
	"net/http"
	"time"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/web/ui"
)

// target is what every write to a line or a part begins with.
type target struct {
	who  actor.Actor
	card jobcard.CardID
	id   int64
	form *ui.Form
}

// readTarget finds the card in the address, and the line or the part on it.
func (p pages) readTarget(r *http.Request, param string) (target, error) {
	var t target
	var err error
	if t.card, err = ui.PathID[jobcard.CardID](r, "card"); err != nil {
		return t, err
	}
	if param != "" {
		if t.id, err = ui.PathID[int64](r, param); err != nil {
			return t, err
		}
	}
	t.form = ui.ReadForm(r)
	if t.who, err = ui.Writer(r); err != nil {
		return t, err
	}
	switch param {
	case "line":
		err = p.cards.LineOn(r.Context(), t.who, t.card, jobcard.LineID(t.id))
	case "part":
		err = p.cards.PartOn(r.Context(), t.who, t.card, jobcard.PartID(t.id))
	}
	return t, err
}

func (t target) anchor(kind string) string { return "#" + kind + "-" + ui.Itoa(t.id) }

// readTerms reads what is written on a line.
func readTerms(f *ui.Form) jobcard.LineTerms {
	t := jobcard.LineTerms{
		Title:      f.Str("title", jobcard.MaxTitle),
		MustDo:     f.OneOf("must_do", "yes", "no") != "no",
		LabourType: garage.LabourTypeID(f.ID("labour_type")),
		VATCode:    money.VATCode(f.OneOf("vat_code", words(money.VATCodes())...)),
		Safety:     f.Bool("safety"),
		WheelsOff:  f.Bool("wheels_off"),
		Inspects:   f.Bool("inspects"),
		AssignedTo: actor.StaffID(f.ID("assigned_to")),
		Note:       f.Text("note", jobcard.MaxNote),
	}
	t.Estimate = readEstimate(f)
	if f.Get("fixed_price") != "" {
		v := f.Money("fixed_price")
		t.FixedPrice = &v
	}
	if f.Get("rate") != "" {
		v := f.Money("rate")
		t.Rate = &v
	}
	for _, k := range f.Strs("cautions", 20, 40) {
		t.Cautions = append(t.Cautions, caution.Key(k))
	}
	return t
}

// readEstimate reads the three hours; where only the likely one was given, it
// stands for all three.
func readEstimate(f *ui.Form) hours.Estimate {
	read := func(name string, or time.Duration) time.Duration {
		if f.Get(name) == "" {
			return or
		}
		return ui.Read(f, name, hours.Parse)
	}
	likely := read("likely", 0)
	return hours.Estimate{Low: read("low", likely), Likely: likely, High: read("high", likely)}
}

func words[T ~string](vs []T) []string {
	out := make([]string, len(vs))
	for i, v := range vs {
		out[i] = string(v)
	}
	return out
}

func (p pages) addLine(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "")
	if err != nil {
		return err
	}
	in := jobcard.AddLineInput{CardID: t.card, NewLine: jobcard.NewLine{LineTerms: readTerms(t.form)}}
	t.form.Required("title")
	anchor := ""
	if err = t.form.Err(); err == nil {
		var done jobcard.Changed
		done, err = p.cards.AddLine(r.Context(), t.who, in)
		anchor = "?do=line-0#line-" + ui.Itoa(done.LineID)
	}
	return p.reply(w, r, t.card, doing{editLine, 0}, t.form, anchor, "", err)
}

func (p pages) editLine(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "line")
	if err != nil {
		return err
	}
	in := jobcard.EditLineInput{LineID: jobcard.LineID(t.id), Version: int(t.form.Version()), LineTerms: readTerms(t.form)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.EditLine(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[jobcard.Line](err); ok {
		return p.staleLine(w, r, t, now)
	}
	return p.reply(w, r, t.card, doing{editLine, t.id}, t.form, t.anchor("line"), "Line changed", err)
}

func (p pages) strikeLine(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "line")
	if err != nil {
		return err
	}
	in := jobcard.StrikeInput{LineID: jobcard.LineID(t.id), Version: int(t.form.Version()), Reason: t.form.Str("reason", jobcard.MaxShort)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.StrikeLine(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{strikeLine, t.id}, t.form, t.anchor("line"), "Line struck out", err)
}

func (p pages) moveLine(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "line")
	if err != nil {
		return err
	}
	in := jobcard.MoveInput{LineID: jobcard.LineID(t.id), Position: t.form.Int("place", 1, jobcard.MaxLines)}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.MoveLine(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{editLine, t.id}, t.form, t.anchor("line"), "", err)
}

func (p pages) orderLine(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "line")
	if err != nil {
		return err
	}
	in := jobcard.OrderInput{LineID: jobcard.LineID(t.id), After: jobcard.LineID(t.form.ID("after")), Remove: t.form.Bool("free")}
	t.form.Required("after")
	if err = t.form.Err(); err == nil {
		_, err = p.cards.SetOrder(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{editLine, t.id}, t.form, "?do=line-"+ui.Itoa(t.id)+t.anchor("line"), "", err)
}

// work ticks, defers or opens a line from the desk.
func (p pages) work(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "line")
	if err != nil {
		return err
	}
	act := t.form.OneOf("act", "tick", deferLine, reopenLine)
	reason := t.form.Str("reason", jobcard.MaxShort)
	decided := t.form.Str("decided_by", jobcard.MaxShort)
	t.form.Required("act")
	line := jobcard.LineID(t.id)
	flash := ""
	if err = t.form.Err(); err == nil {
		switch act {
		case "tick":
			flash = "Ticked"
			_, err = p.clocks.Tick(r.Context(), t.who, clocking.LineInput{LineID: line})
		case deferLine:
			flash = "Deferred"
			_, err = p.clocks.Defer(r.Context(), t.who, clocking.DeferInput{LineID: line, Reason: reason, DecidedBy: decided})
		case reopenLine:
			flash = "Open again"
			_, err = p.clocks.Reopen(r.Context(), t.who, clocking.ReasonInput{LineID: line, Reason: reason})
		}
	}
	return p.reply(w, r, t.card, doing{act, t.id}, t.form, t.anchor("line"), flash, err)
}

func (p pages) staleLine(w http.ResponseWriter, r *http.Request, t target, now jobcard.Line) error {
	f := t.form
	fixed := ""
	if now.FixedPrice != nil {
		fixed = money.FormatPlain(*now.FixedPrice)
	}
	must := "no"
	if now.MustDo {
		must = "yes"
	}
	yesNo := []ui.Option{{Value: "yes", Label: "must do"}, {Value: "no", Label: "if there is time"}}
	s := ui.Stale{
		Thing: "line", Action: cardPath(t.card) + "/lines/" + ui.Itoa(t.id), Back: cardPath(t.card) + t.anchor("line"),
		Version: int64(now.Version),
		Rows: []ui.StaleRow{
			{Name: "title", Label: "Work", Theirs: now.Title, Yours: f.Get("title")},
			{Name: "must_do", Label: "Must it be done", Theirs: must, Yours: f.Get("must_do"), Options: yesNo},
			{Name: "low", Label: "Low hours", Theirs: hours.FormatBare(now.Estimate.Low), Yours: f.Get("low")},
			{Name: "likely", Label: "Likely hours", Theirs: hours.FormatBare(now.Estimate.Likely), Yours: f.Get("likely")},
			{Name: "high", Label: "High hours", Theirs: hours.FormatBare(now.Estimate.High), Yours: f.Get("high")},
			{Name: "rate", Label: "Rate an hour", Theirs: money.FormatPlain(now.Rate), Yours: f.Get("rate")},
			{Name: "fixed_price", Label: "Fixed price", Theirs: fixed, Yours: f.Get("fixed_price")},
			{Name: "note", Label: "Note", Theirs: now.Note, Yours: f.Get("note"), Long: true},
		},
		Keep: carry(f, "labour_type", "vat_code", "safety", "wheels_off", "inspects", "assigned_to", "cautions"),
	}
	return p.kit.Stale(w, r, s)
}

// carry takes further fields of a form along unseen.
func carry(f *ui.Form, names ...string) []ui.Carried {
	var out []ui.Carried
	for _, n := range names {
		for _, v := range f.Values[n] {
			out = append(out, ui.Carried{Name: n, Value: v})
		}
	}
	return out
}
