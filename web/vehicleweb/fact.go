package vehicleweb

import (
	"errors"
	"maps"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/fact"
	"rampside/internal/vehicle"
	"rampside/web/ui"
)

// readFact reads a fact and what it is changed from.
func readFact(r *http.Request) (who actor.Actor, f *ui.Form, in vehicle.FactEdit, err error) {
	id, err := ui.PathID[vehicle.ID](r, "vehicle")
	if err != nil {
		return who, nil, in, err
	}
	if who, err = ui.Writer(r); err != nil {
		return who, nil, in, err
	}
	f = ui.ReadForm(r)
	in = vehicle.FactEdit{VehicleID: id, FactInput: vehicle.FactInput{
		Key: f.Str("fact", 60), Value: f.Str("value", 200), Source: ui.OneOf(f, "source", vehicle.Sources()...),
	}, Was: f.Str("was", 200)}
	return who, f, in, nil
}

func (p pages) setFact(w http.ResponseWriter, r *http.Request) error {
	who, f, in, err := readFact(r)
	if err != nil {
		return err
	}
	if err = f.Err(); err == nil {
		_, err = p.cars.SetFact(r.Context(), who, in)
	}
	if now, ok := ui.IsStale[vehicle.Fact](err); ok {
		return p.staleFact(w, r, in, now)
	}
	return p.reply(w, r, in.VehicleID, doFact, f, nil, "Fact noted", "#facts", atFact(err))
}

// atFact moves the message at a fact's key to the field that it is in here: a
// form's own key is another thing.
func atFact(err error) error {
	var e *apperr.Error
	if !errors.As(err, &e) || e.Fields["key"] == "" {
		return err
	}
	moved := *e
	moved.Fields = maps.Clone(e.Fields)
	moved.Fields["fact"] = moved.Fields["key"]
	delete(moved.Fields, "key")
	return &moved
}

func (p pages) staleFact(w http.ResponseWriter, r *http.Request, in vehicle.FactEdit, now vehicle.Fact) error {
	label, theirs := in.Key, "nothing any more"
	if k, ok := fact.KeyOf(in.Key); ok {
		label = k.Label
		if now.Value != "" {
			theirs = k.Shown(now.Value)
		}
	}
	return p.kit.Stale(w, r, ui.Stale{
		Thing: "fact", Action: carPath(in.VehicleID) + "/facts", Back: carPath(in.VehicleID),
		Rows: []ui.StaleRow{{Name: "value", Label: label + ", " + in.Source.Words(), Theirs: theirs, Yours: in.Value}},
		Keep: []ui.Carried{{Name: "fact", Value: in.Key}, {Name: "source", Value: string(in.Source)}, {Name: "was", Value: now.Value}},
	})
}

func (p pages) removeFact(w http.ResponseWriter, r *http.Request) error {
	who, f, in, err := readFact(r)
	if err != nil {
		return err
	}
	if err = f.Err(); err == nil {
		_, err = p.cars.RemoveFact(r.Context(), who, in)
	}
	return p.reply(w, r, in.VehicleID, "", f, nil, "Fact removed; the record keeps it", "#facts", err)
}
