// Package fitweb shows how a verdict on a part came about, and asks for what
// would settle it, on every page that has parts: the card and the bench.
package fitweb

import (
	"strings"

	"rampside/internal/caution"
	"rampside/internal/fact"
	"rampside/internal/fit"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// Proof is how the verdict on one part came about, in words.
type Proof struct {
	Name    string // of the part
	Verdict string
	Why     string
	// Empty says that there is nothing to open.
	Empty    bool
	Steps    []Step
	Clashes  []Clash
	Disputed []string
	Settle   []Reading
	Measure  []string
	// Words are the box's or the supplier's own.
	Words string
	// TakenFrom is the card whose words these are, TakenPath its page.
	TakenFrom, TakenPath string
	// Stale says why what was put on the part is not used, or that it fell
	// back.
	Stale string
	// Box is what was read off the box.
	Box string
}

// Step is one part of the proof of conditions.
type Step struct {
	Mark, Text string
	Value      string // with its source
	By         string
	Parts      []Step
}

// Clash is one thing to agree on.
type Clash struct {
	Mark, Label, Says, Margin string
	Steps                     []ui.Step
	Formula, Source           string
}

// Reading is a fact to go and read.
type Reading struct {
	Key, Label, Unit, Where, How, Sofar string
	// Was is what was read off the car before.
	Was      string
	Options  []ui.Option
	Figure   bool
	Cautions []caution.Caution
}

var truths = map[fit.Truth]string{fit.True: "holds", fit.False: "fails", fit.Unknown: "not known"}

var together = map[fit.Truth]string{
	fit.True: string(jobcard.Fits), fit.False: string(jobcard.DoesNotFit), fit.Unknown: string(jobcard.CannotTell),
}

// Of makes the proof of a part of a card.
func Of(c *fitment.CardFit, p fitment.PartFit) Proof {
	v := Proof{Name: p.Name, Verdict: string(p.Verdict), Why: p.Last.Why, Box: p.Box, Measure: p.Last.Measure}
	if p.VerdictHow == jobcard.ByHand {
		v.Why = ""
	}
	if r := p.Last.Rule; r != nil {
		v.Steps = []Step{stepOf(r.Proof)}
		for _, d := range r.Disputed {
			var said []string
			for _, s := range d.Said {
				said = append(said, s.Text+" ("+s.Source+")")
			}
			words := d.Label + ": sources differ, " + strings.Join(said, " and ") + ". The most trusted counts."
			if d.Said[0].Source != vehicle.FromCar.Words() {
				words += " Go and look."
			}
			v.Disputed = append(v.Disputed, words)
		}
	}
	for _, x := range p.Last.Clashes {
		v.Clashes = append(v.Clashes, clashOf(x))
	}
	for _, r := range p.Last.Settle {
		v.Settle = append(v.Settle, readingOf(c, r))
	}
	if put := p.Put; put != nil {
		v.Words = put.BoxWords
		if put.TakenCard != 0 {
			v.TakenFrom, v.TakenPath = ui.Itoa(put.TakenCard), "/cards/"+ui.Itoa(put.TakenCard)
		}
		if !put.Holds && !put.Empty() {
			v.Stale = "Its conditions were given for number " + put.ForNumber + "; save them again if they hold for this one too."
		}
	}
	if p.FellBack {
		v.Stale = "What the verdict rested on has changed: it is to be judged anew."
	}
	v.Empty = len(v.Steps) == 0 && len(v.Clashes) == 0 && v.Words == "" && v.Stale == "" && len(v.Settle) == 0 && v.Box == ""
	return v
}

func stepOf(s fit.Step) Step {
	x := Step{Mark: truths[s.Truth], Text: s.Text, By: s.By, Value: s.Value}
	switch s.Join {
	case "all":
		x.Text = "all of these"
	case "any":
		x.Text = "one of these"
	case "not":
		x.Text = "not this"
	}
	if s.Value != "" && s.Source != "" {
		x.Value = s.Value + ", " + s.Source
	}
	for _, p := range s.Parts {
		x.Parts = append(x.Parts, stepOf(p))
	}
	return x
}

func clashOf(c fitment.Clash) Clash {
	x := Clash{Mark: together[c.Truth], Label: c.Label, Says: c.Says, Margin: c.Margin, Formula: c.Formula, Source: c.Source}
	for _, s := range c.Steps {
		x.Steps = append(x.Steps, ui.Step{Label: s.Label, Value: s.Value})
	}
	return x
}

func readingOf(c *fitment.CardFit, r fit.Reading) Reading {
	x := Reading{
		Key: r.Key, Label: r.Label, Unit: r.Unit, Where: string(r.Where), How: r.How, Sofar: r.Sofar, Was: c.OffCar(r.Key),
		Cautions: caution.Of(r.Cautions),
	}
	if k, ok := fact.KeyOf(r.Key); ok {
		x.Figure = k.Kind == fact.Number
		if k.Kind == fact.Choice {
			for _, o := range k.Options {
				x.Options = append(x.Options, ui.Option{Value: o, Label: o})
			}
		}
	}
	return x
}

func (r Reading) titled() string {
	if r.Unit == "" {
		return r.Label
	}
	return r.Label + ", " + r.Unit
}

func (p Proof) summary() string {
	if p.Why == "" {
		return "What its fit rests on"
	}
	return ui.Sentence(p.Why)
}
