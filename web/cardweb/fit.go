package cardweb

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"strings"

	"rampside/internal/apperr"
	"rampside/internal/assembly"
	"rampside/internal/fact"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/web/fitweb"
	"rampside/web/ui"
)

// fitted is what a page knows of the fit of the card's parts.
type fitted struct {
	card *fitment.CardFit
	// Of the part that is open: what is remembered.
	memory  fitment.Memory
	suggest []fitment.Hint
}

// remembered adds what is remembered for the part that is open.
func (p pages) remembered(r *http.Request, id jobcard.CardID, d doing, out fitted) (fitted, error) {
	if d.verb != verdict {
		return out, nil
	}
	var err error
	ctx, who := r.Context(), ui.Who(r.Context())
	part, ok := out.card.Part(jobcard.PartID(d.id))
	switch {
	case !ok:
	case fitment.NumberKey(part.Number) != "":
		out.memory, err = p.fits.Memory(ctx, who, fitment.MemoryQuery{Number: part.Number, VehicleID: out.card.VehicleID, But: id})
	default:
		out.suggest, err = p.fits.Suggest(ctx, who, part.ID)
	}
	return out, err
}

// fitView is the fit of one part as the card shows it.
type fitView struct {
	fitweb.Proof
	Waived   string // who let it through, and why
	Held     bool
	CanWaive bool
	HasWords bool
	Version  int64 // of what was put on it
	Rule     string
	Kind     string
	Props    map[string]string
	Words    string
	Rows     []fitment.Row
	InRows   bool // whether rows can say it
	Links    []string
	Hints    []string
}

// fitOfPart makes the view of a part's fit.
func (v *view) fitOfPart(p jobcard.Part) fitView {
	x := fitView{Held: p.Held, CanWaive: v.mayWaive && p.Held, InRows: true, Kind: string(assembly.Other)}
	for _, w := range v.sheet.Waivers {
		if w.ID == p.Waiver {
			x.Waived = "let through by " + v.sheet.Staff[w.By] + ", " + v.clock(w.At) + ", when it was “" + string(w.Verdict) + "”: " + w.Reason
		}
	}
	if v.fit.card == nil {
		return x
	}
	pf, ok := v.fit.card.Part(p.ID)
	if !ok {
		return x
	}
	x.Proof = fitweb.Of(v.fit.card, pf)
	if put := pf.Put; put != nil {
		x.HasWords, x.Version, x.Rule, x.Kind, x.Props, x.Words = !put.Empty(), int64(put.Version), put.Rule, put.Kind, put.Props, put.BoxWords
		x.Rows, x.InRows = fitment.ToRows(pf.Rule())
	}
	if v.Do.is(verdict, int64(p.ID)) {
		for _, l := range v.fit.memory.Kin.Links {
			x.Links = append(x.Links, l.Number+" "+string(l.Kind)+" "+l.Other)
		}
		for _, h := range append(slices.Clone(v.fit.memory.Hints), v.fit.suggest...) {
			w := h.Number
			if h.Relation != "" {
				w += " (" + h.Relation + ")"
			}
			x.Hints = append(x.Hints, w+": "+h.Words())
		}
	}
	return x
}

func (p pages) setVerdict(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := jobcard.VerdictInput{
		PartID: jobcard.PartID(t.id), Version: int(t.form.Version()), Verdict: ui.OneOf(t.form, "verdict", jobcard.Verdicts...),
		Note: t.form.Text("note", jobcard.MaxNote),
	}
	if t.form.Bool("any_car") {
		in.Verdict, in.Note = jobcard.Fits, jobcard.AnyCar
	} else {
		t.form.Required("verdict")
	}
	if err = t.form.Err(); err == nil {
		_, err = p.cards.SetVerdict(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{verdict, t.id}, t.form, t.anchor("part"), "", err)
}

// waive lets a part through the gate.
func (p pages) waive(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := fitment.WaiveInput{
		PartID: jobcard.PartID(t.id), Verdict: ui.OneOf(t.form, "verdict", jobcard.Verdicts...), Reason: t.form.Str("reason", jobcard.MaxShort),
	}
	if err = t.form.Err(); err == nil {
		_, err = p.fits.Waive(r.Context(), t.who, in)
	}
	return p.reply(w, r, t.card, doing{waivePart, t.id}, t.form, t.anchor("part"), "Let through; the reason is on the card", err)
}

// measure notes a fact as read off the car.
func (p pages) measure(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := fitweb.ReadMeasure(t.form, jobcard.PartID(t.id))
	if err = t.form.Err(); err == nil {
		_, err = p.fits.Measure(r.Context(), t.who, in)
	}
	d := doing{verdict, t.id}
	if err != nil && fitweb.Measured(t.form, err) {
		return p.show(w, r, apperr.KindOf(err).Status(), t.card, d, t.form)
	}
	return p.reply(w, r, t.card, d, t.form, "?do="+verdict+"-"+ui.Itoa(t.id)+t.anchor("part"), "Noted as read off the car", err)
}

// linkNumbers notes that the part's number is another one too.
func (p pages) linkNumbers(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in := fitment.Link{Number: t.form.Str("number", fitment.NumberMax), Other: t.form.Str("other", fitment.NumberMax), Kind: ui.OneOf(t.form, "kind", fitment.LinkKinds...)}
	apart := t.form.Bool("apart")
	if err = t.form.Err(); err == nil {
		if apart {
			_, err = p.fits.UnlinkNumbers(r.Context(), t.who, in)
		} else {
			_, err = p.fits.LinkNumbers(r.Context(), t.who, in)
		}
	}
	if apperr.Is(err, apperr.NotFound) {
		t.form.Fail("other", "%s", err.Error())
		err = t.form.Err()
	}
	return p.reply(w, r, t.card, doing{verdict, t.id}, t.form, "?do="+verdict+"-"+ui.Itoa(t.id)+t.anchor("part"), "Numbers noted", err)
}

// putConditions puts conditions on a part, in words or in fields, or says what
// it is itself; what the form does not show stays as it is.
func (p pages) putConditions(w http.ResponseWriter, r *http.Request) error {
	t, err := p.readTarget(r, "part")
	if err != nil {
		return err
	}
	in, d, err := p.readConditions(r.Context(), t)
	if err != nil {
		return err
	}
	if err = t.form.Err(); err == nil {
		_, err = p.fits.Put(r.Context(), t.who, in)
	}
	if now, ok := ui.IsStale[fitment.Put](err); ok {
		return p.staleConditions(w, r, t, now)
	}
	return p.reply(w, r, t.card, d, t.form, t.anchor("part"), "", err)
}

func (p pages) readConditions(ctx context.Context, t target) (fitment.PutInput, doing, error) {
	f := t.form
	in := fitment.PutInput{PartID: jobcard.PartID(t.id), Version: int(f.Version()), Props: map[string]string{}}
	card, err := p.fits.Card(ctx, t.who, t.card)
	if err != nil {
		return in, doing{}, err
	}
	part, _ := card.Part(in.PartID)
	if put := part.Put; put != nil {
		in.Rule, in.Kind, in.BoxWords = put.Rule, put.Kind, put.BoxWords
		maps.Copy(in.Props, put.Props)
	}
	switch f.OneOf("by", "words", "fields", "kind") {
	case "fields":
		in.Rule, in.Tree = "", fit.Rule{}
		rule, err := fitment.FromRows(readRows(f))
		if err != nil {
			f.Take(err)
		}
		in.Tree = rule
		return in, doing{inFields, t.id}, nil
	case "kind":
		in.Kind = f.Str("kind", 40)
		in.Props = map[string]string{}
		for _, k := range assembly.Properties(assembly.Kind(in.Kind)) {
			if v := f.Str("props."+k.Key, fact.ValueMax); v != "" {
				in.Props[k.Key] = v
			}
		}
		return in, doing{whatItIs, t.id}, nil
	}
	in.Rule = strings.TrimSpace(f.Text("rule", fit.MaxText))
	in.BoxWords = f.Text("box_words", fitment.WordsMax)
	return in, doing{inWords, t.id}, nil
}

func readRows(f *ui.Form) []fitment.Row {
	var out []fitment.Row
	for _, row := range f.Rows("cond", fitment.MaxRows) {
		out = append(out, fitment.Row{
			Letter: row.OneOf("letter", fitment.Letters...), Key: row.Str("key", 60), Way: fitment.Way(row.Str("way", 40)),
			Value: row.Str("value", 400), To: row.Str("to", 80),
		})
	}
	return out
}

func (p pages) staleConditions(w http.ResponseWriter, r *http.Request, t target, now fitment.Put) error {
	f := t.form
	s := ui.Stale{
		Thing: "part's conditions", Action: cardPath(t.card) + "/parts/" + ui.Itoa(t.id) + "/conditions", Back: cardPath(t.card) + t.anchor("part"),
		Version: int64(now.Version),
		Keep:    []ui.Carried{{Name: "by", Value: "words"}},
	}
	yours, words := f.Get("rule"), f.Get("box_words")
	switch f.Get("by") {
	case "fields":
		if rule, err := fitment.FromRows(readRows(f)); err == nil {
			yours = rule.String()
		}
		words = now.BoxWords
	case "kind":
		s.Keep = []ui.Carried{{Name: "by", Value: "kind"}, {Name: "kind", Value: f.Get("kind")}}
		for _, k := range assembly.Properties(assembly.Kind(f.Get("kind"))) {
			name := "props." + k.Key
			s.Rows = append(s.Rows, ui.StaleRow{Name: name, Label: k.Titled(), Theirs: now.Props[k.Key], Yours: f.Get(name)})
		}
		return p.kit.Stale(w, r, s)
	}
	s.Rows = []ui.StaleRow{
		{Name: "rule", Label: "Conditions", Theirs: now.Rule, Yours: yours, Long: true},
		{Name: "box_words", Label: "In the box's words", Theirs: now.BoxWords, Yours: words, Long: true},
	}
	return p.kit.Stale(w, r, s)
}
