package api

import (
	"context"
	"net/http"
	"reflect"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

	"rampside/internal/actor"
)

// operation is one thing that a program can ask for.
type operation struct {
	method, path string
	// id names it in the document and in clients made from the document.
	id   string
	need actor.Right
	tag  string
	// short says what it does in a few words, long whatever else there is to
	// know, in plain words.
	short, long string
	// status is that of success; 200 when it is 0.
	status int
}

func (o operation) writes() bool { return o.method != http.MethodGet }

// describe is the operation as the document has it.
func (o operation) describe() huma.Operation {
	long := strings.TrimSpace(o.long + " Needs the right to " + string(o.need) + ".")
	d := huma.Operation{
		OperationID: o.id, Method: o.method, Path: o.path, DefaultStatus: o.status, Tags: []string{o.tag},
		Summary: o.short, Description: long, Security: []map[string][]string{{bearer: {}}},
		Responses: map[string]*huma.Response{}, Extensions: map[string]any{"x-right": string(o.need)},
		// The guard has read the body by the time that huma looks for it.
		BodyReadTimeout: -1,
	}
	for _, r := range refusals {
		if o.writes() || !r.ofWrites {
			d.Responses[strconv.Itoa(r.status)] = &huma.Response{Ref: "#/components/responses/" + r.name}
		}
	}
	if o.writes() {
		d.Parameters = append(d.Parameters, &huma.Param{
			Name: keyHeader, In: "header", Description: "Makes the write happen once however often it is sent. 1 to 120 visible characters, such as a UUID.",
			Schema: &huma.Schema{Type: huma.TypeString, MinLength: ptr(1), MaxLength: ptr(keyMax), Pattern: `^[!-~]+$`},
		})
	}
	return d
}

// answer is what a handler gives, as huma wants it.
type answer[O any] struct{ Body O }

// register adds an operation that answers with a document. fn is called once
// the token, the right, the key and the shape of the request are in order.
func register[I, O any](a *API, o operation, fn func(context.Context, actor.Actor, *I) (O, error)) {
	d := a.declare(o)
	huma.Register(a.huma, d, func(ctx context.Context, in *I) (*answer[O], error) {
		out, err := fn(ctx, whoAsks(ctx), in)
		if err != nil {
			return nil, a.refuse(ctx, err, bodyType[I]())
		}
		return &answer[O]{out}, nil
	})
}

// registerEmpty adds a write that has nothing to tell but that it was done.
func registerEmpty[I any](a *API, o operation, fn func(context.Context, actor.Actor, *I) error) {
	d := a.declare(o)
	huma.Register(a.huma, d, func(ctx context.Context, in *I) (*struct{}, error) {
		if err := fn(ctx, whoAsks(ctx), in); err != nil {
			return nil, a.refuse(ctx, err, bodyType[I]())
		}
		return nil, nil
	})
}

// declare notes who may, and puts the guard before the operation.
func (a *API) declare(o operation) huma.Operation {
	if o.need == "" || o.id == "" || o.short == "" || o.tag == "" {
		panic("api: an operation says who may, and what it does: " + o.path)
	}
	a.declared = append(a.declared, Declared{Method: o.method, Pattern: Prefix + o.path, Need: o.need})
	d := o.describe()
	d.Middlewares = huma.Middlewares{func(ctx huma.Context, next func(huma.Context)) {
		r, w := humachi.Unwrap(ctx)
		who, err := a.enter(r, o)
		if err == nil {
			body := ctx.Operation().RequestBody
			err = takeBody(r, body != nil, body != nil && body.Required)
		}
		if err != nil {
			a.Fail(w, asked(r, who), err)
			return
		}
		noStore(w)
		next(huma.WithValue(ctx, whoKey{}, who))
	}}
	return d
}

// noStore keeps what is the garage's out of caches on the way.
func noStore(w http.ResponseWriter) { w.Header().Set("Cache-Control", "no-store") }

// bodyType is the type of what an operation takes, for naming its fields; nil
// when it takes nothing.
func bodyType[I any]() reflect.Type {
	f, ok := reflect.TypeFor[I]().FieldByName("Body")
	if !ok {
		return nil
	}
	return f.Type
}

func ptr[T any](v T) *T { return &v }
