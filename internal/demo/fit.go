package demo

import (
	"context"

	"rampside/internal/fitment"
	"rampside/internal/jobcard"
)

// putFit puts on a part what its supplier says of it, if anything.
func (m *maker) putFit(ctx context.Context, id jobcard.PartID, in fitment.PutInput) error {
	if in.Rule == "" && in.Kind == "" {
		return nil
	}
	in.PartID = id
	_, err := m.fits.Put(ctx, m.ida, in)
	return err
}

// atTheBench has Posy look at the estate's housing before the old one comes
// off: the number off the box, and the one thing to read off the car. It is
// for the other engine.
func (m *maker) atTheBench(ctx context.Context, id jobcard.CardID) error {
	s, err := m.cards.Sheet(ctx, m.posy, id)
	if err != nil {
		return err
	}
	p := s.Parts[0]
	if _, err := m.fits.ReadBox(ctx, m.posy, fitment.BoxInput{PartID: p.ID, Number: p.Number}); err != nil {
		return err
	}
	_, err = m.fits.Measure(ctx, m.posy, fitment.MeasureInput{PartID: p.ID, Key: "engine_layout", Value: "V"})
	return err
}
