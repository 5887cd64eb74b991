package handover

import (
	"context"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/signature"
	"rampside/internal/workday"
)

// Input hands a car over.
type Input struct {
	CardID jobcard.CardID
	// Seen is the Plan's: what was looked at.
	Seen string
	// GivenTo is who fetched the car, Keys what was given back with it.
	GivenTo, Keys string
	// MileageOut is what the car's clock shows; nil when nobody looked.
	MileageOut *int
	Note       string
	// Right names findings in doubt that were put right.
	Right []int64
	// Returned are old parts that go home with the car.
	Returned []string
	Due      []DueInput
	// Photos of the card that go with it.
	Photos []int64
	// Anyway is why the car goes though something is unsettled.
	Anyway string
	// Name, How and Signature are the customer's acknowledgement; the
	// signature may be empty.
	Name, How, Signature string
}

// DueInput is something that is due again. One with no time is left out.
type DueInput struct {
	What string
	On   workday.Day
	At   int
}

func (in *Input) clean() error {
	f := apperr.Fields{}
	in.GivenTo, in.Keys = f.Line("given_to", in.GivenTo, MaxShort), f.Line("keys", in.Keys, MaxShort)
	in.Note, in.Anyway = f.Prose("note", in.Note, MaxNote), f.Prose("anyway", in.Anyway, MaxNote)
	in.Name = f.Line("name", in.Name, MaxShort)
	f.Must("given_to", in.GivenTo, "who fetches the car")
	f.Must("keys", in.Keys, "what was given back with the keys")
	if in.MileageOut != nil && (*in.MileageOut < 0 || *in.MileageOut > jobcard.MaxMiles) {
		f.Add("mileage_out", "a mileage lies between 0 and %d", jobcard.MaxMiles)
	}
	var returned []string
	for _, r := range in.Returned {
		if r = f.Line("returned", r, MaxShort); r != "" {
			returned = append(returned, r)
		}
	}
	if in.Returned = returned; len(returned) > MaxReturned {
		f.Add("returned", "at most %d old parts, please", MaxReturned)
	}
	var due []DueInput
	for _, d := range in.Due {
		if d.What = f.Line("due", d.What, MaxShort); d.On.IsZero() && d.At == 0 {
			continue
		}
		f.Must("due", d.What, "what is due then")
		if d.At < 0 || d.At > 4_000_000 {
			f.Add("due", "a mileage lies between 1 and 4000000")
		}
		due = append(due, d)
	}
	if in.Due = due; len(due) > MaxDue {
		f.Add("due", "at most %d things that are due, please", MaxDue)
	}
	if len(in.Photos) > MaxPhotos {
		f.Add("photos", "at most %d photos go with a handover", MaxPhotos)
	}
	return f.Err()
}

// Made is the result of handing over.
type Made struct {
	ID     ID
	CardID jobcard.CardID
}

// Make hands the car over: it freezes what is said of it and sets the card
// collected. Errors: Invalid at given_to, keys, mileage_out, note, returned,
// due, photos, anyway, name, how, signature; Conflict while something must be
// settled first, or when the card has changed since it was looked at.
func (s *Service) Make(ctx context.Context, who actor.Actor, in Input) (Made, error) {
	if err := who.Need(actor.HandOver); err != nil {
		return Made{}, err
	}
	if err := in.clean(); err != nil {
		return Made{}, err
	}
	drawn, err := signature.Parse(in.Signature)
	if err != nil {
		return Made{}, apperr.Field("signature", "%s", err.Error())
	}
	return change.Do(ctx, s.db, who, "hand over", in, func(ctx context.Context, tx *change.Tx) (Made, error) {
		c, err := jobcard.Lock(ctx, tx, in.CardID)
		if err != nil {
			return Made{}, err
		}
		p, err := planIn(ctx, tx, in.CardID)
		if err != nil {
			return Made{}, err
		}
		h, err := p.handover(in, drawn)
		if err != nil {
			return Made{}, err
		}
		h.At, h.By, h.ByName = tx.At, who.StaffID, who.Name
		if h.Acknowledged != nil {
			h.Acknowledged.At = tx.At
		}
		if h.ID, err = insert(ctx, tx, h); err != nil {
			return Made{}, err
		}
		if err := jobcard.Collect(ctx, tx, c); err != nil {
			return Made{}, err
		}
		detail := map[string]any{"handover": h.ID, "to": h.GivenTo, "unsafe": len(h.Of(Unsafe))}
		if len(h.Unsettled) > 0 {
			detail["unsettled"], detail["reason"] = h.Unsettled, h.Anyway
		}
		tx.Record("car handed over", int64(c.ID), h.Mark, detail)
		return Made{h.ID, c.ID}, nil
	})
}

// handover is the plan with what was said when the car was fetched.
func (p Plan) handover(in Input, drawn signature.Drawn) (Handover, error) {
	if hard := p.Hard(); len(hard) > 0 {
		return Handover{}, apperr.New(apperr.Conflict, "this must be settled before the car goes: %s", hard[0].Words)
	}
	if in.Seen != p.Seen {
		return Handover{}, apperr.New(apperr.Conflict, "the card has changed since this page was opened: look through it once more before the car goes")
	}
	f := apperr.Fields{}
	s := p.Sheet
	h := Handover{
		CardID: s.ID, Turn: len(p.Past) + 1, CustomerID: s.CustomerID, VehicleID: s.VehicleID,
		GarageName: p.Garage.Name, GarageAddress: p.Garage.Address, GaragePhone: p.Garage.Phone, GarageEmail: p.Garage.Email, ZoneName: p.Garage.ZoneName,
		Customer: s.Customer.Name, Mark: s.Vehicle.Mark, VIN: s.Vehicle.VIN, Car: s.Vehicle.Name(), Words: s.CustomerWords,
		MileageIn: s.Mileage, MileageOut: in.MileageOut, MileageUnit: s.MileageUnit, GivenTo: in.GivenTo, Keys: in.Keys, Note: in.Note,
	}
	if in.MileageOut != nil && s.Mileage != nil && *in.MileageOut < *s.Mileage {
		f.Add("mileage_out", "the car came in with %s: it cannot leave with less", h.Miles(s.Mileage))
	}
	for _, stop := range p.Soft() {
		h.Unsettled = append(h.Unsettled, stop.Words)
	}
	switch {
	case len(h.Unsettled) == 0:
	case in.Anyway == "":
		f.Add("anyway", "say why the car goes though something is unsettled")
	default:
		h.Anyway = in.Anyway
	}
	unsafe := p.gather(&h, in)
	if len(unsafe) > 0 {
		f.Must("name", in.Name, "the name of who was told of what is not safe")
		if !slices.Contains(jobcard.Ways, in.How) {
			f.Add("how", "say how they were told: in person, by phone or in writing")
		}
		h.Acknowledged = &Acknowledgement{Words: Told(carWords(s), unsafe), Name: in.Name, How: in.How, Signature: drawn}
	}
	for _, id := range in.Photos {
		i := slices.IndexFunc(s.Photos, func(x jobcard.SheetPhoto) bool { return x.ID == id })
		if i < 0 {
			f.Add("photos", "one of these photos is not on the card any more")
			continue
		}
		x := s.Photos[i]
		h.Items = append(h.Items, Item{Kind: Photo, LineID: x.LineID, PhotoID: x.ID, What: x.Caption})
	}
	return h, f.Err()
}

// gather puts the items together and gives those that are unsafe.
func (p Plan) gather(h *Handover, in Input) (unsafe []Item) {
	right := func(i Item) bool {
		return slices.ContainsFunc(p.Doubt, func(d Item) bool { return d.FindingID == i.FindingID }) && slices.Contains(in.Right, i.FindingID)
	}
	unsafe = slices.Clone(p.Unsafe)
	for _, i := range p.Doubt {
		if !right(i) {
			unsafe = append(unsafe, i)
		}
	}
	h.Items = slices.Concat(unsafe, p.Done, p.NotDone)
	for _, i := range p.Found {
		if right(i) {
			i.Why = "Put right during this visit"
		}
		h.Items = append(h.Items, i)
	}
	for _, r := range in.Returned {
		h.Items = append(h.Items, Item{Kind: Returned, What: r})
	}
	for _, d := range in.Due {
		h.Items = append(h.Items, Item{Kind: Due, What: d.What, DueOn: d.On, DueAt: d.At})
	}
	return unsafe
}
