package api

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/length"
)

// MM is a length in millimetres, exact to the micrometre.
type MM length.Micron

// MarshalJSON writes the length with the places it needs.
func (l MM) MarshalJSON() ([]byte, error) { return []byte(length.Micron(l).Text()), nil }

// UnmarshalJSON reads what MarshalJSON wrote.
func (l *MM) UnmarshalJSON(b []byte) error {
	var f float64
	err := json.Unmarshal(b, &f)
	*l = MM(length.Float(f))
	return err
}

// Schema is that of a figure.
func (MM) Schema(huma.Registry) *huma.Schema { return &huma.Schema{Type: huma.TypeNumber} }

// Inches is a length in inches.
type Inches length.Micron

// MarshalJSON writes the length in inches.
func (l Inches) MarshalJSON() ([]byte, error) { return json.Marshal(length.Micron(l).Inches()) }

// UnmarshalJSON reads what MarshalJSON wrote.
func (l *Inches) UnmarshalJSON(b []byte) error {
	var f float64
	err := json.Unmarshal(b, &f)
	*l = Inches(length.Float(f * 25.4))
	return err
}

// Schema is that of a figure.
func (Inches) Schema(huma.Registry) *huma.Schema { return &huma.Schema{Type: huma.TypeNumber} }

// Basis is what an answer stands on.
type Basis struct {
	Formula string `json:"formula"`
	Source  string `json:"source"`
	Limits  string `json:"limits" doc:"What it does not know. The maker's figures come first, and trained people decide."`
}

// asSent holds the parameters as they were sent, so that a nought is told from
// what was left out.
type asSent struct{ q url.Values }

// Resolve notes them.
func (g *asSent) Resolve(ctx huma.Context) []error {
	u := ctx.URL()
	g.q = u.Query()
	return nil
}

func (g asSent) has(name string) bool { return g.q.Get(name) != "" }

// need is the problem of parameters that were left out.
func (g asSent) need(names ...string) error {
	for _, n := range names {
		if !g.has(n) {
			return parameterError(n, missing)
		}
	}
	return nil
}

// figure gives a number between two others; what is no number is refused.
func figure(name string, v, low, high float64) (float64, error) {
	if math.IsNaN(v) || v < low || v > high {
		return 0, parameterError(name, fmt.Sprintf("between %v and %v, please", low, high))
	}
	return v, nil
}

// lengths reads figures in millimetres, or inches, one after the other, until
// one of them is wrong.
type lengths struct {
	asSent
	err error
}

func (l *lengths) mm(name string, v, low, high float64) length.Micron {
	if l.err != nil || !l.has(name) {
		return 0
	}
	v, l.err = figure(name, v, low, high)
	return length.Float(v)
}

func (l *lengths) in(name string, v, low, high float64) length.Micron {
	if l.err != nil || !l.has(name) {
		return 0
	}
	v, l.err = figure(name, v, low, high)
	return length.Float(v * 25.4)
}

// calculator adds one calculation. Whoever may read cards may use them.
func calculator[I, O any](a *API, path, id, short, long string, fn func(in *I) (O, error)) {
	register(a, operation{
		method: http.MethodGet, path: "/calculators/" + path, id: id, need: actor.ReadCards, tag: "Calculators", short: short, long: long,
	}, func(_ context.Context, _ actor.Actor, in *I) (O, error) { return fn(in) })
}

// calculatorOperations are the reckoner for programs.
func (a *API) calculatorOperations() {
	a.tyreCalculators()
	a.wheelCalculators()
	a.brakeCalculators()
	a.paperCalculators()
	a.moneyCalculators()
}
