package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/assembly"
	"rampside/internal/fact"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// ConditionsBody are conditions in one of their two forms.
type ConditionsBody struct {
	Text string `json:"text,omitempty" maxLength:"8000" doc:"In the notation, such as: engine code is one of K7A, K7B and built from 2015-03 to 2019-08."`
	Tree any    `json:"tree,omitempty" doc:"As a tree of all, any, not, and facts with is, begins, from and to, over or under; instead of text."`
}

// rule reads the conditions, with the message at the form that was used.
func (b ConditionsBody) rule() (fit.Rule, error) {
	if b.Text != "" && b.Tree != nil {
		return fit.Rule{}, apperr.Field("tree", "give the conditions as text or as a tree, not both")
	}
	if b.Tree != nil {
		var r fit.Rule
		text, err := json.Marshal(b.Tree)
		if err == nil {
			err = json.NewDecoder(bytes.NewReader(text)).Decode(&r)
		}
		if err != nil {
			return fit.Rule{}, apperr.Field("tree", "%s", err)
		}
		return r, nil
	}
	r, err := fit.Parse(b.Text)
	var wrong *fit.SyntaxError
	if errors.As(err, &wrong) {
		return fit.Rule{}, apperr.Field("text", "%s (at byte %d, %d long)", wrong.Message, wrong.At, wrong.Len)
	}
	return r, err
}

// Conditions are conditions in both forms.
type Conditions struct {
	Text  string   `json:"text" doc:"In the canonical notation."`
	Tree  any      `json:"tree" doc:"The same as a tree."`
	Facts []string `json:"facts" doc:"The keys of the facts that they ask about."`
}

func conditionsOf(r fit.Rule) Conditions {
	out := Conditions{Text: r.String(), Tree: r, Facts: []string{}}
	for _, k := range r.Facts() {
		out.Facts = append(out.Facts, k.Key)
	}
	return out
}

// JudgeBody are conditions and what is known of a car.
type JudgeBody struct {
	ConditionsBody
	Facts []FactBody `json:"facts" maxItems:"200" doc:"Several sources may say different things of one fact: the most trusted counts, contradictions are named."`
	VIN   string     `json:"vin,omitempty" maxLength:"40"`
}

// known is what the facts come to, weighed as those of a car on file are.
func (b JudgeBody) known() (fit.Known, error) {
	if err := cleanFacts(b.Facts); err != nil {
		return nil, err
	}
	var facts []vehicle.Fact
	for _, f := range b.Facts {
		in, err := f.input().Clean()
		if err != nil {
			return nil, err
		}
		facts = append(facts, vehicle.Fact{Key: in.Key, Value: in.Value, Source: in.Source})
	}
	return fitment.KnownOf(vehicle.Weigh(facts), b.VIN), nil
}

// SetBody is a set of parts, and what stays on the car.
type SetBody struct {
	Items []SetItem         `json:"items" maxItems:"60"`
	Car   map[string]string `json:"car,omitempty" doc:"What is known of the car, by the keys of facts."`
}

// SetItem is one part of a set.
type SetItem struct {
	ID    string            `json:"id" maxLength:"60"`
	Name  string            `json:"name" maxLength:"200"`
	Kind  PartKind          `json:"kind"`
	Props map[string]string `json:"properties" doc:"By the keys of the kind's properties; see part-kinds."`
	OnCar bool              `json:"on_car,omitempty" doc:"It is on the car and stays."`
}

// SetChecks is what a set comes to.
type SetChecks struct {
	Truth  Truth      `json:"truth" doc:"False when one of the checks is, true when all are."`
	Checks []SetCheck `json:"checks"`
}

// PartKinds are the kinds of parts with their properties.
type PartKinds struct {
	Kinds []PartKindProps `json:"kinds"`
}

// PartKindProps is a kind of part with its properties.
type PartKindProps struct {
	Kind  PartKind   `json:"kind"`
	Props []PartProp `json:"properties"`
}

// PartProp is one property of a kind of part.
type PartProp struct {
	Key     string   `json:"key"`
	Label   string   `json:"label"`
	Unit    string   `json:"unit,omitempty"`
	Options []string `json:"options"`
	How     string   `json:"how"`
}

// PutBody is what a part asks of a car and what it is itself.
type PutBody struct {
	ConditionsBody
	Kind     PartKind          `json:"kind,omitempty" doc:"Other when left out."`
	Props    map[string]string `json:"properties,omitempty"`
	BoxWords string            `json:"box_words,omitempty" maxLength:"8000"`
	Version  int               `json:"version" minimum:"0" maximum:"2147483647" doc:"Of what was put on it before; 0 for nothing."`
}

// BoxBody is a number read off a box.
type BoxBody struct {
	Number string `json:"number" maxLength:"400"`
	Take   bool   `json:"take,omitempty" doc:"Put it on the card where the card has another one."`
}

// BoxRead is what came of it.
type BoxRead struct {
	Changed
	Other bool `json:"other" doc:"The box is another part's: the verdict is that it cannot be told until that is put right."`
	Taken bool `json:"taken" doc:"The card has this number now."`
}

// MeasureBody is a fact read off the car for a part.
type MeasureBody struct {
	Key   FactName `json:"key"`
	Value string   `json:"value" maxLength:"400"`
	Was   string   `json:"was,omitempty" maxLength:"400" doc:"What had been read off the car before; left out for nothing."`
}

// WaiveBody lets a part through the gate.
type WaiveBody struct {
	Verdict jobcard.Verdict `json:"verdict" doc:"The one that is let through, as you saw it: another one meanwhile is a 409."`
	Reason  string          `json:"reason" maxLength:"400" doc:"It stays on the card."`
}

// Waived is the result of a waiver.
type Waived struct {
	Changed
	WaiverID jobcard.WaiverID `json:"waiver_id"`
}

// StripBody says that old parts come off, or are on again.
type StripBody struct {
	Back bool `json:"back_on,omitempty"`
}

func (a *API) fitmentOperations() {
	a.conditionOperations()
	register(a, operation{
		method: http.MethodGet, path: "/cards/{card}/fit", id: "get-card-fit", need: actor.ReadCards, tag: "Fitment",
		short: "What is said of the fit of a card's parts",
		long:  "Verdicts with their proof, what each part has to agree on with the others and the car, what to go and read, and what keeps the gate closed.",
	}, func(ctx context.Context, who actor.Actor, in *CardAt) (CardFit, error) {
		c, err := a.Fitment.Card(ctx, who, in.Card)
		if err != nil {
			return CardFit{}, err
		}
		return CardFit{c.CardID, c.VehicleID, list(c.Parts, partFitOf)}, nil
	})
	register(a, operation{
		method: http.MethodPut, path: "/parts/{part}/fit", id: "put-part-fit", need: actor.Work, tag: "Fitment",
		short: "Put conditions and properties on a part",
		long:  "The whole of what was put on it is replaced. All parts of the card are judged anew.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body PutBody
	}) (Changed, error) {
		put := fitment.PutInput{PartID: in.Part, Version: in.Body.Version, Kind: string(in.Body.Kind), Props: in.Body.Props, BoxWords: in.Body.BoxWords}
		if in.Body.Text != "" || in.Body.Tree != nil {
			rule, err := in.Body.rule()
			if err != nil {
				return Changed{}, err
			}
			put.Tree = rule
		}
		c, err := a.Fitment.Put(ctx, who, put)
		return changedOf(c, atProperties(err))
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/box", id: "read-box", need: actor.Work, tag: "Fitment",
		short: "Note the number that is on the box",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body BoxBody
	}) (BoxRead, error) {
		r, err := a.Fitment.ReadBox(ctx, who, fitment.BoxInput{PartID: in.Part, Number: in.Body.Number, Take: in.Body.Take})
		c, err := changedOf(r.Changed, err)
		return BoxRead{c, r.Other, r.Taken}, err
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/measure", id: "measure-for-part", need: actor.Work, tag: "Fitment",
		short: "Note a fact as read off the car, for a part", long: "What rests on it is judged anew.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body MeasureBody
	}) (Changed, error) {
		return changedOf(a.Fitment.Measure(ctx, who, fitment.MeasureInput{PartID: in.Part, Key: string(in.Body.Key), Value: in.Body.Value, Was: in.Body.Was}))
	})
	register(a, operation{
		method: http.MethodPost, path: "/parts/{part}/waivers", id: "waive-part", need: actor.WaiveFit, tag: "Fitment",
		short: "Let a part through that nobody found to fit", status: http.StatusCreated,
		long: "It covers the part under the number it has, and as long as nothing worse comes out.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		PartAt
		Body WaiveBody
	}) (Waived, error) {
		w, err := a.Fitment.Waive(ctx, who, fitment.WaiveInput{PartID: in.Part, Verdict: in.Body.Verdict, Reason: in.Body.Reason})
		c, err := changedOf(w.Changed, err)
		return Waived{c, w.WaiverID}, err
	})
	lineAct(a, "strip", "strip-line", "Say that the old parts of a line come off, or are on again",
		"A 409 while a part of the line was not found to fit and nobody let it through.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *lineWith[StripBody]) (Changed, error) {
			return changedOf(a.Cards.Strip(ctx, who, jobcard.StripInput{LineID: line, Back: in.Body.Back}))
		})
	a.numberOperations()
}

// conditionOperations need no card and no car: they work on what is sent.
func (a *API) conditionOperations() {
	register(a, operation{
		method: http.MethodPost, path: "/fit/conditions", id: "read-conditions", need: actor.ReadCards, tag: "Fitment",
		short: "Read conditions, and write them in both forms",
	}, func(_ context.Context, _ actor.Actor, in *struct{ Body ConditionsBody }) (Conditions, error) {
		r, err := in.Body.rule()
		return conditionsOf(r), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/fit/judge", id: "judge-conditions", need: actor.ReadCards, tag: "Fitment",
		short: "Judge conditions against what is known of a car",
	}, func(_ context.Context, _ actor.Actor, in *struct{ Body JudgeBody }) (RuleVerdict, error) {
		r, err := in.Body.rule()
		if err != nil {
			return RuleVerdict{}, err
		}
		known, err := in.Body.known()
		if err != nil {
			return RuleVerdict{}, err
		}
		return ruleVerdictOf(fit.Judge(r, known)), nil
	})
	register(a, operation{
		method: http.MethodPost, path: "/fit/set", id: "check-set", need: actor.ReadCards, tag: "Fitment",
		short: "Check parts as a set, with what stays on the car",
	}, func(_ context.Context, _ actor.Actor, in *struct{ Body SetBody }) (SetChecks, error) {
		items, err := in.Body.items()
		if err != nil {
			return SetChecks{}, err
		}
		car, err := in.Body.car()
		if err != nil {
			return SetChecks{}, err
		}
		found := assembly.Check(items, car)
		truth := fit.True
		for _, c := range found {
			truth = truth.And(c.Truth)
		}
		return SetChecks{truthOf(truth), list(found, collisionOf)}, nil
	})
	register(a, operation{
		method: http.MethodGet, path: "/fit/part-kinds", id: "list-part-kinds", need: actor.ReadCards, tag: "Fitment",
		short: "The kinds of parts that a set is checked for, and their properties",
	}, func(context.Context, actor.Actor, *Nothing) (PartKinds, error) {
		out := PartKinds{}
		for _, k := range assembly.Kinds() {
			kind := PartKindProps{Kind: PartKind(k), Props: []PartProp{}}
			for _, p := range assembly.Properties(k) {
				kind.Props = append(kind.Props, PartProp{p.Key, p.Label, p.Unit, list(p.Options, same), p.How})
			}
			out.Kinds = append(out.Kinds, kind)
		}
		return out, nil
	})
}

// items checks the parts of a set, with messages at items.N.
func (b SetBody) items() ([]assembly.Item, error) {
	f := apperr.Fields{}
	var out []assembly.Item
	for i, it := range b.Items {
		if it.ID == "" || slices.ContainsFunc(out, func(o assembly.Item) bool { return o.ID == it.ID }) {
			f.Add(fmt.Sprintf("items.%d.id", i), "an id that no other part of the set has, please")
		}
		props, err := fitment.CleanProps(string(it.Kind), it.Props)
		if err != nil {
			f.Merge(fmt.Sprintf("items.%d.", i), atProperties(err))
		}
		out = append(out, assembly.Item{ID: it.ID, Name: it.Name, Kind: assembly.Kind(it.Kind), Props: props, OnCar: it.OnCar})
	}
	return out, f.Err()
}

// atProperties gives an error with the messages of props at properties, as
// programs call them.
func atProperties(err error) error {
	return moved(err, func(name string) string {
		if rest, ok := strings.CutPrefix(name, "props."); ok {
			return "properties." + rest
		}
		return name
	})
}

// car checks what is known of the car, with messages at car.KEY, and gives it
// as facts are kept.
func (b SetBody) car() (map[string]string, error) {
	f := apperr.Fields{}
	out := map[string]string{}
	for key, value := range b.Car {
		k, ok := fact.KeyOf(key)
		if !ok {
			f.Add("car."+key, "there is no such fact; see choices")
			continue
		}
		if value = strings.TrimSpace(value); value == "" {
			continue
		}
		clean, err := k.Clean(value)
		if err != nil {
			f.Add("car."+key, "%s", err)
		}
		out[key] = clean
	}
	return out, f.Err()
}

// numberOperations are about part numbers and what is remembered of them.
func (a *API) numberOperations() {
	register(a, operation{
		method: http.MethodGet, path: "/part-numbers/memory", id: "get-part-memory", need: actor.ReadCards, tag: "Fitment",
		short: "What became of a part number before, set against one car", long: "A hint with counts, never a verdict.",
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Number  string         `query:"number" required:"true" maxLength:"400"`
		Vehicle vehicle.ID     `query:"vehicle" required:"true" minimum:"1"`
		But     jobcard.CardID `query:"but" doc:"A card that is left out."`
	}) (PartMemory, error) {
		m, err := a.Fitment.Memory(ctx, who, fitment.MemoryQuery{Number: in.Number, VehicleID: in.Vehicle, But: in.But})
		return memoryOf(m), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/part-numbers/links", id: "link-part-numbers", need: actor.EditCard, tag: "Fitment",
		short: "Note that a number is the same part as another, or was replaced by it",
	}, func(ctx context.Context, who actor.Actor, in *struct{ Body NumberLink }) (NumberLink, error) {
		l, err := a.Fitment.LinkNumbers(ctx, who, fitment.Link(in.Body))
		return NumberLink(l), err
	})
	registerEmpty(a, operation{
		method: http.MethodDelete, path: "/part-numbers/links", id: "unlink-part-numbers", need: actor.EditCard, tag: "Fitment",
		short: "Take back that two numbers belong together", status: http.StatusNoContent,
	}, func(ctx context.Context, who actor.Actor, in *struct {
		Number string `query:"number" required:"true" maxLength:"400"`
		Other  string `query:"other" required:"true" maxLength:"400"`
	}) error {
		_, err := a.Fitment.UnlinkNumbers(ctx, who, fitment.Link{Number: in.Number, Other: in.Other})
		return err
	})
}
