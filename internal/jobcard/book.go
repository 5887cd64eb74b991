package jobcard

import (
	"context"
	"fmt"
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/customer"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// Booking is a car being taken in: who, which car, when, and the list.
type Booking struct {
	// A car and a customer on file, or else new ones. A known car without a
	// customer keeps its keeper.
	VehicleID   vehicle.ID
	NewVehicle  *vehicle.Input
	Facts       []vehicle.FactInput
	CustomerID  customer.ID
	NewCustomer *customer.Input
	Visit
	// Here is true when the car is on site as it is booked; then that is when
	// it came in, where nothing else is said.
	Here  bool
	Lines []NewLine
	// TakeBack are lines left over from earlier visits of this car.
	TakeBack []LineID
	// Yes is how the customer said yes to the whole list and its prices as they
	// booked, one of Ways; empty when they have not been asked yet.
	Yes string
}

// Visit is what is said about a visit itself.
type Visit struct {
	BookedFor     workday.Day
	ArrivesAt     time.Time
	PromisedAt    time.Time
	Mileage       *int
	MileageUnit   string
	CustomerWords string
	KeysNote      string
	ContactName   string
	ContactPhone  string
}

func (v *Visit) clean(f apperr.Fields) {
	if v.BookedFor.IsZero() {
		f.Add("booked_for", "say which day the car comes in")
	}
	if v.MileageUnit == "" {
		v.MileageUnit = "miles"
	}
	if v.MileageUnit != "miles" && v.MileageUnit != "km" {
		f.Add("mileage_unit", "mileage is in miles or km")
	}
	if v.Mileage != nil && (*v.Mileage < 0 || *v.Mileage > MaxMiles) {
		f.Add("mileage", "a mileage lies between 0 and %d", MaxMiles)
	}
	if !v.PromisedAt.IsZero() && !v.ArrivesAt.IsZero() && v.PromisedAt.Before(v.ArrivesAt) {
		f.Add("promised_at", "the promise is before the car comes in")
	}
	v.CustomerWords = f.Prose("customer_words", v.CustomerWords, MaxNote)
	v.KeysNote = f.Line("keys_note", v.KeysNote, MaxShort)
	v.ContactName = f.Line("contact_name", v.ContactName, MaxShort)
	v.ContactPhone = f.Line("contact_phone", v.ContactPhone, customer.PhoneMax)
}

// Book takes a car in: the car, the customer and the card with its lines, all
// or nothing. Field names of errors: those of Visit, `vehicle.` and
// `customer.` before those of a new car or customer, `line.N.` before those
// of the N-th line from 0, `fact.N.` before those of a fact.
func (s *Service) Book(ctx context.Context, who actor.Actor, in Booking) (Changed, error) {
	if err := who.Need(actor.BookIn); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.clean(f)
	switch {
	case in.VehicleID == 0 && in.NewVehicle == nil:
		f.Add("vehicle", "choose a car, or enter a new one")
	case in.VehicleID == 0 && in.CustomerID == 0 && in.NewCustomer == nil:
		f.Add("customer.name", "say whose car this is")
	}
	if len(in.Lines)+len(in.TakeBack) == 0 {
		f.Add("line.0.title", "a card needs at least one line")
	}
	if len(in.Lines)+len(in.TakeBack) > MaxLines {
		f.Add("line.0.title", "a card has at most %d lines", MaxLines)
	}
	if in.Yes != "" {
		if err := who.Need(actor.RecordConsent); err != nil {
			return Changed{}, err
		}
		if !slices.Contains(Ways, in.Yes) {
			f.Add("yes", "say how they said yes: in person, by phone or in writing")
		}
	}
	for i := range in.Lines {
		g := apperr.Fields{}
		in.Lines[i].clean(g)
		f.Merge(fmt.Sprintf("line.%d.", i), g.Err())
	}
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "book in", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		vid, cid, err := bookParties(ctx, tx, in)
		if err != nil {
			return Changed{}, err
		}
		id, err := insertCard(ctx, tx, vid, cid, in)
		if err != nil {
			return Changed{}, err
		}
		tx.Record("card booked", int64(id), "", map[string]any{
			"vehicle": vid, "customer": cid, "day": in.BookedFor.String(), "lines": len(in.Lines), "taken back": len(in.TakeBack),
		})
		if err := bookLines(ctx, tx, id, vid, in); err != nil {
			return Changed{}, err
		}
		if err := payable(ctx, tx, id, "line.0.title"); err != nil {
			return Changed{}, err
		}
		if in.Yes != "" {
			if err := sayYes(ctx, tx, id, in.Yes); err != nil {
				return Changed{}, err
			}
		}
		return Changed{CardID: id, Version: 1}, nil
	})
}

// sayYes records that the customer, or whom they named as the contact, said
// yes to every line of a new card.
func sayYes(ctx context.Context, tx *change.Tx, id CardID, how string) error {
	c, err := Lock(ctx, tx, id)
	if err != nil {
		return err
	}
	d := AnswerDetails{SaidBy: c.ContactName, How: how}
	if d.SaidBy == "" {
		if err := tx.QueryRow(ctx, `select left(name, $2) from customer where id = $1`, c.CustomerID, MaxShort).Scan(&d.SaidBy); err != nil {
			return fmt.Errorf("who said yes: %w", err)
		}
	}
	ids, err := stillAsked(ctx, tx, id)
	if err != nil {
		return err
	}
	answers := make([]LineAnswer, len(ids))
	for i, line := range ids {
		answers[i] = LineAnswer{LineID: line, Answer: Agreed}
	}
	return recordAnswer(ctx, tx, c, answers, d)
}

// bookParties gives the car and its keeper, making what is new.
func bookParties(ctx context.Context, tx *change.Tx, in Booking) (vid vehicle.ID, cid customer.ID, err error) {
	f := apperr.Fields{}
	vid, cid = in.VehicleID, in.CustomerID
	if in.NewCustomer != nil {
		if cid, err = customer.Insert(ctx, tx, *in.NewCustomer); err != nil && !f.Merge("customer.", err) {
			return 0, 0, err
		}
	}
	if in.NewVehicle != nil && vid == 0 {
		if vid, err = vehicle.Insert(ctx, tx, *in.NewVehicle); err != nil && !f.Merge("vehicle.", err) {
			return 0, 0, err
		}
	}
	if err := f.Err(); err != nil {
		return 0, 0, err
	}
	keeper, err := vehicle.KeeperOn(ctx, tx, vid, in.BookedFor)
	switch {
	case err != nil && !apperr.Is(err, apperr.NotFound):
		return 0, 0, err
	case cid == 0 && keeper == 0:
		return 0, 0, apperr.Field("customer.name", "say whose car this is")
	case cid == 0:
		cid = keeper
	case cid != keeper:
		if err := vehicle.SetKeeper(ctx, tx, vid, cid, in.BookedFor); err != nil {
			return 0, 0, err
		}
	}
	for i, fact := range in.Facts {
		if err := vehicle.PutFact(ctx, tx, vid, fact); err != nil {
			if f.Merge(fmt.Sprintf("fact.%d.", i), err) {
				continue
			}
			return 0, 0, err
		}
	}
	return vid, cid, f.Err()
}

func insertCard(ctx context.Context, tx *change.Tx, vid vehicle.ID, cid customer.ID, in Booking) (CardID, error) {
	stage, onSite := Booked, time.Time{}
	if in.Here {
		stage, onSite = OnSite, tx.At
		if in.ArrivesAt.IsZero() {
			in.ArrivesAt = tx.At
		}
	}
	var id CardID
	err := tx.QueryRow(ctx, `
		insert into card (vehicle_id, customer_id, stage, booked_for, arrives_at, promised_at, mileage, mileage_unit,
			customer_words, keys_note, contact_name, contact_phone, created_at, created_by, on_site_at)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, nullif($14::bigint, 0), $15) returning id`,
		vid, cid, stage, in.BookedFor.UTC(), orNull(in.ArrivesAt), orNull(in.PromisedAt), in.Mileage, in.MileageUnit,
		in.CustomerWords, in.KeysNote, in.ContactName, in.ContactPhone, tx.At, tx.Who.StaffID, orNull(onSite)).Scan(&id)
	return id, pg.Explain(err, "card", map[string]*apperr.Error{
		"card_vehicle_fk":  apperr.Field("vehicle", "this car is not on file any more"),
		"card_customer_fk": apperr.Field("customer.name", "this customer is not on file any more"),
	})
}

func bookLines(ctx context.Context, tx *change.Tx, id CardID, vid vehicle.ID, in Booking) error {
	position := 0
	for _, old := range in.TakeBack {
		position++
		if _, err := takeBack(ctx, tx, id, vid, old, position); err != nil {
			return err
		}
	}
	for i, l := range in.Lines {
		position++
		if _, err := insertLine(ctx, tx, id, position, l); err != nil {
			f := apperr.Fields{}
			if f.Merge(fmt.Sprintf("line.%d.", i), err) {
				return f.Err()
			}
			return err
		}
	}
	return nil
}

// EditVisitInput changes what is said about a visit.
type EditVisitInput struct {
	CardID  CardID
	Version int
	Visit
}

// EditVisit changes the head of a card. A stale version gives a Conflict with
// the Card as it stands.
func (s *Service) EditVisit(ctx context.Context, who actor.Actor, in EditVisitInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return change.Do(ctx, s.db, who, "edit card", in, func(ctx context.Context, tx *change.Tx) (Changed, error) {
		c, err := Lock(ctx, tx, in.CardID)
		if err != nil {
			return Changed{}, err
		}
		if err := c.editable(); err != nil {
			return Changed{}, err
		}
		if c.Version != in.Version {
			return Changed{}, apperr.Stale("card", c)
		}
		_, err = tx.Exec(ctx, `
			update card set booked_for = $2, arrives_at = $3, promised_at = $4, mileage = $5, mileage_unit = $6, customer_words = $7,
				keys_note = $8, contact_name = $9, contact_phone = $10, version = version + 1 where id = $1`,
			c.ID, in.BookedFor.UTC(), orNull(in.ArrivesAt), orNull(in.PromisedAt), in.Mileage, in.MileageUnit, in.CustomerWords,
			in.KeysNote, in.ContactName, in.ContactPhone)
		if err != nil {
			return Changed{}, fmt.Errorf("edit card: %w", err)
		}
		detail := map[string]any{"day": in.BookedFor.String()}
		if !c.PromisedAt.Equal(in.PromisedAt) {
			detail["promise was"], detail["promise"] = orNull(c.PromisedAt), orNull(in.PromisedAt)
		}
		tx.Record("card changed", int64(c.ID), "", detail)
		return Changed{CardID: c.ID, Version: c.Version + 1}, nil
	})
}
