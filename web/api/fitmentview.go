package api

import (
	"rampside/internal/actor"
	"rampside/internal/assembly"
	"rampside/internal/caution"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
)

// Truth is what can be said of a condition.
type Truth string

// PartKind is what a part is, as far as the checks of a set go.
type PartKind string

func truthOf(t fit.Truth) Truth { return Truth(t.String()) }

// RuleVerdict is what can be said of conditions and a car.
type RuleVerdict struct {
	Truth    Truth         `json:"truth" doc:"In Kleene's strong three-valued logic."`
	Why      string        `json:"why" doc:"In one sentence."`
	Rule     string        `json:"rule" doc:"What was judged, in the canonical notation."`
	Proof    ProofStep     `json:"proof"`
	Settle   []FactReading `json:"settle" doc:"Of what is unknown, the smallest set of facts that could settle it, the easiest to read first."`
	Refute   []FactReading `json:"refute" doc:"The smallest set that could show that it does not fit."`
	Disputed []FactDispute `json:"disputed" doc:"Facts in it on which sources contradict one another."`
}

// ProofStep is one part of a proof.
type ProofStep struct {
	Text     string      `json:"text"`
	Truth    Truth       `json:"truth"`
	Join     string      `json:"join,omitempty" doc:"all, any or not, for a step with parts."`
	Carries  bool        `json:"carries" doc:"The verdict rests on this step."`
	Key      string      `json:"key,omitempty"`
	Label    string      `json:"label,omitempty"`
	Value    string      `json:"value,omitempty" doc:"What is known of this car; absent when nothing is."`
	Source   string      `json:"source,omitempty"`
	By       string      `json:"by,omitempty" doc:"By what it fails, or why it cannot be told."`
	Disputed bool        `json:"disputed,omitempty"`
	Parts    []ProofStep `json:"parts"`
}

func stepOf(s fit.Step) ProofStep {
	return ProofStep{
		Text: s.Text, Truth: truthOf(s.Truth), Join: s.Join, Carries: s.Carries, Key: s.Key, Label: s.Label, Value: s.Value, Source: s.Source,
		By: s.By, Disputed: s.Disputed, Parts: list(s.Parts, stepOf),
	}
}

// FactReading is a fact to go and read off the car.
type FactReading struct {
	Key      string        `json:"key"`
	Label    string        `json:"label"`
	Unit     string        `json:"unit,omitempty"`
	Where    string        `json:"where,omitempty"`
	How      string        `json:"how,omitempty"`
	Cautions []caution.Key `json:"cautions"`
	Sofar    string        `json:"so_far,omitempty" doc:"What is known already and is not exact enough."`
	Alone    bool          `json:"alone,omitempty" doc:"This one could by itself show that the part does not fit."`
}

func readingOf(r fit.Reading) FactReading {
	return FactReading{
		Key: r.Key, Label: r.Label, Unit: r.Unit, Where: string(r.Where), How: r.How, Cautions: list(r.Cautions, same), Sofar: r.Sofar, Alone: r.Alone,
	}
}

// FactDispute is a fact on which sources contradict one another.
type FactDispute struct {
	Key   string     `json:"key"`
	Label string     `json:"label"`
	Said  []FactSaid `json:"said" doc:"The most trusted first: the verdict goes by that."`
	Turns bool       `json:"turns" doc:"The verdict would be another if a source that is trusted less were right."`
}

// FactSaid is what one source says.
type FactSaid struct {
	Value  string `json:"value"`
	Source string `json:"source"`
}

func ruleVerdictOf(v fit.Verdict) RuleVerdict {
	return RuleVerdict{
		Truth: truthOf(v.Truth), Why: v.Why, Rule: v.Rule, Proof: stepOf(v.Proof), Settle: list(v.Settle, readingOf), Refute: list(v.Refute, readingOf),
		Disputed: list(v.Disputed, func(d fit.Dispute) FactDispute {
			return FactDispute{d.Key, d.Label, list(d.Said, func(s fit.Said) FactSaid { return FactSaid{s.Text, s.Source} }), d.Turns}
		}),
	}
}

// SetCheck is one thing that two parts, or a part and the car, have to agree
// on, whether or not they do.
type SetCheck struct {
	Parts   []jobcard.PartID `json:"part_ids" doc:"Those of the card that it is between; one where the other side is the car."`
	Between []string         `json:"between" doc:"What both sides are called."`
	IDs     []string         `json:"ids" doc:"The ids that came with the items of a set, where it was sent by itself."`
	Label   string           `json:"label" doc:"What they have to agree on."`
	Truth   Truth            `json:"truth"`
	Says    string           `json:"says"`
	Margin  string           `json:"margin,omitempty"`
	Steps   []FigureStep     `json:"steps"`
	Formula string           `json:"formula,omitempty"`
	Source  string           `json:"source,omitempty"`
	Read    []string         `json:"read" doc:"The keys of facts of the car that would settle it."`
	Measure []string         `json:"measure" doc:"What else to look up or measure, in words."`
}

// FigureStep is one figure of a calculation.
type FigureStep struct {
	Label string `json:"label"`
	Value string `json:"value"`
}

func clashOf(c fitment.Clash) SetCheck {
	return SetCheck{
		Parts: list(c.Parts, same), Between: list(c.Names, same), IDs: []string{}, Label: c.Label, Truth: truthOf(c.Truth), Says: c.Says, Margin: c.Margin,
		Steps: list(c.Steps, func(s fitment.Step) FigureStep { return FigureStep(s) }), Formula: c.Formula, Source: c.Source,
		Read: list(c.Read, same), Measure: list(c.Measure, same),
	}
}

func collisionOf(c assembly.Collision) SetCheck {
	a, b := c.Names()
	out := SetCheck{
		Parts: []jobcard.PartID{}, Between: []string{a, b}, IDs: []string{}, Label: c.Fact, Truth: truthOf(c.Truth), Says: c.Says,
		Steps:   list(c.Steps, func(s assembly.Step) FigureStep { return FigureStep(s) }),
		Formula: c.Formula, Source: c.Source, Read: list(c.Read, same), Measure: list(c.Measure, same),
	}
	for _, side := range []assembly.Side{c.A, c.B} {
		if side.ID != "" {
			out.IDs = append(out.IDs, side.ID)
		}
	}
	if c.Margin != nil {
		out.Margin = c.Margin.String()
	}
	return out
}

// PartFit is what is said of the fit of one part of a card.
type PartFit struct {
	PartID    jobcard.PartID    `json:"part_id"`
	LineID    jobcard.LineID    `json:"line_id,omitempty"`
	Name      string            `json:"name"`
	Number    string            `json:"number,omitempty"`
	Verdict   jobcard.Verdict   `json:"verdict"`
	How       jobcard.How       `json:"how" doc:"By hand, or reasoned from conditions, properties and facts."`
	By        actor.StaffID     `json:"by_id,omitempty"`
	At        Time              `json:"at,omitzero"`
	Why       string            `json:"why,omitempty" doc:"Of a reasoned verdict; of one by hand, what was noted."`
	Held      bool              `json:"held" doc:"It keeps the gate of its line closed."`
	WaiverID  jobcard.WaiverID  `json:"waiver_id,omitempty" doc:"The waiver that covers it as it stands."`
	Rule      *RuleVerdict      `json:"conditions,omitempty"`
	Checks    []SetCheck        `json:"checks"`
	Settle    []FactReading     `json:"settle"`
	Measure   []string          `json:"measure"`
	Notation  string            `json:"notation,omitempty" doc:"The conditions that were put on it."`
	Kind      PartKind          `json:"kind,omitempty"`
	Props     map[string]string `json:"properties"`
	BoxWords  string            `json:"box_words,omitempty"`
	Applies   bool              `json:"applies" doc:"The conditions were given for the number that it has."`
	TakenFrom jobcard.CardID    `json:"taken_from_card_id,omitempty"`
	Version   int               `json:"version" doc:"Of what was put on it, to change it from; 0 for nothing."`
	Box       string            `json:"box,omitempty" doc:"The number last read off its box."`
	BoxOther  bool              `json:"box_other,omitempty" doc:"That is another part's."`
	FellBack  bool              `json:"fell_back,omitempty" doc:"What it rested on has changed and it has not been judged anew."`
}

func partFitOf(p fitment.PartFit) PartFit {
	out := PartFit{
		PartID: p.ID, LineID: p.LineID, Name: p.Name, Number: p.Number, Verdict: p.Verdict, How: p.VerdictHow, By: p.VerdictBy, At: at(p.VerdictAt),
		Why: p.VerdictNote, Held: p.Held, WaiverID: p.Waiver, Checks: list(p.Last.Clashes, clashOf), Settle: list(p.Last.Settle, readingOf),
		Measure: list(p.Last.Measure, same), Props: map[string]string{}, Box: p.Box, BoxOther: p.BoxOther, FellBack: p.FellBack, Version: p.PutVersion(),
	}
	if p.Last.Rule != nil {
		out.Rule = ptr(ruleVerdictOf(*p.Last.Rule))
	}
	if put := p.Put; put != nil {
		out.Notation, out.Kind, out.BoxWords, out.Applies, out.TakenFrom = put.Rule, PartKind(put.Kind), put.BoxWords, put.Holds, put.TakenCard
		if put.Props != nil {
			out.Props = put.Props
		}
	}
	return out
}

// CardFit is what is said of the fit of a card's parts.
type CardFit struct {
	CardID    jobcard.CardID `json:"card_id"`
	VehicleID vehicle.ID     `json:"vehicle_id"`
	Parts     []PartFit      `json:"parts"`
}

// Put is what was put on a part, as a stale change of it finds it.
type Put struct {
	PartID   jobcard.PartID    `json:"part_id"`
	Rule     string            `json:"conditions"`
	Kind     PartKind          `json:"kind"`
	Props    map[string]string `json:"properties"`
	BoxWords string            `json:"box_words"`
	Version  int               `json:"version"`
}

func putOf(p fitment.Put) Put {
	return Put{p.PartID, p.Rule, PartKind(p.Kind), p.Props, p.BoxWords, p.Version}
}

// Hint is what is remembered of one number, and no verdict.
type Hint struct {
	Number   string           `json:"number"`
	Name     string           `json:"name"`
	Relation string           `json:"relation,omitempty" doc:"How it belongs with the number asked about; absent for that itself."`
	Words    string           `json:"words"`
	Alike    FitTally         `json:"alike" doc:"On cars of the same model of which nothing that is known of both differs."`
	Other    FitTally         `json:"other"`
	On       []FactSaid       `json:"on" doc:"The telling facts that this car and all those alike share; source is the fact's key."`
	Cards    []jobcard.CardID `json:"card_ids"`
}

// FitTally counts what became of a number.
type FitTally struct {
	Fitted  int `json:"fitted"`
	Refused int `json:"refused"`
}

// PartMemory is what is remembered of a number and those it belongs with.
type PartMemory struct {
	Hints []Hint       `json:"hints"`
	Links []NumberLink `json:"links"`
}

// NumberLink says how two part numbers belong together.
type NumberLink struct {
	Number string           `json:"number" maxLength:"400"`
	Other  string           `json:"other" maxLength:"400"`
	Kind   fitment.LinkKind `json:"kind" doc:"The first number is the same as the other, or was replaced by it."`
}

func memoryOf(m fitment.Memory) PartMemory {
	return PartMemory{
		Links: list(m.Kin.Links, func(l fitment.Link) NumberLink { return NumberLink(l) }),
		Hints: list(m.Hints, func(h fitment.Hint) Hint {
			return Hint{
				Number: h.Number, Name: h.Name, Relation: h.Relation, Words: h.Words(), Alike: FitTally(h.Alike), Other: FitTally(h.Other),
				On:    list(h.On, func(s fitment.Shared) FactSaid { return FactSaid{s.Value, s.Key.Key} }),
				Cards: list(h.Cards, same),
			}
		}),
	}
}
