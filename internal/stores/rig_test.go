package stores_test

import (
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/stores"
)

// rig is a garage with its stores.
type rig struct {
	*cardtest.Garage
	stores *stores.Service
	clocks *clocking.Service
	t      *testing.T
}

func newRig(t *testing.T) *rig {
	t.Helper()
	g := cardtest.Open(t)
	return &rig{Garage: g, stores: stores.New(g.DB), clocks: clocking.New(g.DB), t: t}
}

// part puts a part on a line of a card.
func (r *rig) part(s *jobcard.Sheet, line int, terms jobcard.PartTerms) jobcard.PartID {
	r.t.Helper()
	if line >= 0 {
		terms.LineID = s.Lines[line].ID
	}
	if terms.Qty == 0 {
		terms.Qty = 1000
	}
	done, err := r.Cards.AddPart(r.t.Context(), r.Desk, jobcard.AddPartInput{CardID: s.ID, PartTerms: terms})
	r.OK(err)
	return done.PartID
}

func (r *rig) partOf(s *jobcard.Sheet, id jobcard.PartID) jobcard.Part {
	r.t.Helper()
	p, ok := r.Sheet(s.ID).Part(id)
	if !ok {
		r.t.Fatalf("part %d is not on card %d", id, s.ID)
	}
	return p
}

// order orders parts from the usual supplier.
func (r *rig) order(due time.Time, lines ...stores.OrderedLine) stores.Order {
	r.t.Helper()
	done, err := r.stores.Order(r.t.Context(), r.Desk, stores.OrderInput{SupplierID: r.Supplier, DueAt: due, Lines: lines})
	r.OK(err)
	return r.read(done.OrderID)
}

func (r *rig) read(id stores.OrderID) stores.Order {
	r.t.Helper()
	o, _, err := r.stores.OrderBy(r.t.Context(), r.Owner, id)
	r.OK(err)
	return o
}

// came books lines in, whole.
func (r *rig) came(who actor.Actor, lines ...stores.Line) stores.Booked {
	r.t.Helper()
	var in stores.ArriveInput
	for _, l := range lines {
		in.Lines = append(in.Lines, stores.CameLine{LineID: l.ID, Version: l.Version, Qty: l.Qty - l.Came})
	}
	got, err := r.stores.Arrive(r.t.Context(), who, in)
	r.OK(err)
	return got
}

func (r *rig) item(in stores.ItemInput) stores.ItemID {
	r.t.Helper()
	in.Active = true
	done, err := r.stores.SaveItem(r.t.Context(), r.Desk, in)
	r.OK(err)
	return done.ItemID
}

func (r *rig) put(id stores.ItemID, qty int64, cost money.Minor) {
	r.t.Helper()
	_, err := r.stores.Put(r.t.Context(), r.Desk, stores.LotInput{ItemID: id, Qty: qty, Cost: cost, Note: "what was there"})
	r.OK(err)
}

func (r *rig) shelf(id stores.ItemID) stores.Sheet {
	r.t.Helper()
	i, err := r.stores.Item(r.t.Context(), r.Owner, id)
	r.OK(err)
	return i
}

func (r *rig) needs(h stores.Horizon) stores.Needs {
	r.t.Helper()
	n, err := r.stores.Needs(r.t.Context(), r.Desk, h)
	r.OK(err)
	return n
}

func (r *rig) returns() stores.Returns {
	r.t.Helper()
	x, err := r.stores.Returns(r.t.Context(), r.Owner)
	r.OK(err)
	return x
}

func (r *rig) account(id garage.SupplierID) stores.Account {
	r.t.Helper()
	all, err := r.stores.Accounts(r.t.Context(), r.Owner)
	r.OK(err)
	for _, a := range all.All {
		if a.Supplier.ID == id {
			return a
		}
	}
	r.t.Fatalf("no account of supplier %d", id)
	return stores.Account{}
}

func (r *rig) count(sql string, args ...any) (n int) {
	r.t.Helper()
	r.OK(r.DB.Pool.QueryRow(r.t.Context(), sql, args...).Scan(&n))
	return n
}

// wrong wants an error of a kind, and a message at each field.
func (r *rig) wrong(err error, kind apperr.Kind, fields ...string) {
	r.t.Helper()
	if !apperr.Is(err, kind) {
		r.t.Errorf("%v, want an error of kind %d", err, kind)
		return
	}
	e := apperr.Fields{}
	e.Merge("", err)
	for _, f := range fields {
		if e[f] == "" {
			r.t.Errorf("no message at %s: %v", f, err)
		}
	}
}

func partLine(id jobcard.PartID) stores.OrderedLine { return stores.OrderedLine{PartID: id} }
