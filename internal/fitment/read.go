package fitment

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/fit"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/vehicle"
)

// CardFit is what is said of the fit of a card's parts.
type CardFit struct {
	CardID    jobcard.CardID
	VehicleID vehicle.ID
	Parts     []PartFit
	// Facts are what is known of the car.
	Facts []vehicle.Known
	VIN   string
}

// Part finds a part.
func (c *CardFit) Part(id jobcard.PartID) (PartFit, bool) {
	i := slices.IndexFunc(c.Parts, func(p PartFit) bool { return p.ID == id })
	if i < 0 {
		return PartFit{}, false
	}
	return c.Parts[i], true
}

// OffCar is what was read off the car of one fact, empty for nothing.
func (c *CardFit) OffCar(key string) string {
	for _, k := range c.Facts {
		for _, f := range k.All {
			if k.Key.Key == key && f.Source == vehicle.FromCar {
				return f.Value
			}
		}
	}
	return ""
}

// PartFit is one part with all that is said of its fit.
type PartFit struct {
	jobcard.Part
	// Put is what was put on it, nil for nothing.
	Put *Put
	// Last is the proof of the verdict that stands, when it is a reasoned one.
	Last Proof
	// FellBack is set when what the verdict rested on has changed and nobody
	// has judged it anew.
	FellBack bool
	// Box is the number last read off its box, empty when none was; BoxOther is
	// set when that is another part's.
	Box      string
	BoxOther bool
}

// PutVersion is the version to change what was put on the part from.
func (p PartFit) PutVersion() int { return versionOf(p.Put) }

// Rule is the rule that was put on the part; zero for none.
func (p PartFit) Rule() fit.Rule {
	if p.Put == nil || p.Put.Rule == "" {
		return fit.Rule{}
	}
	r, err := fit.Parse(p.Put.Rule)
	if err != nil {
		return fit.Rule{}
	}
	return r
}

// Reading is what the fit of a card's parts takes from the database. It can go
// in one round trip with the card.
type Reading struct {
	puts   map[jobcard.PartID]*Put
	proofs map[jobcard.PartID]Proof
	boxes  map[jobcard.PartID]string
}

// Queue adds the reading of a card's parts to a batch.
func (r *Reading) Queue(b *pgx.Batch, id jobcard.CardID) {
	r.puts, r.proofs, r.boxes = map[jobcard.PartID]*Put{}, map[jobcard.PartID]Proof{}, map[jobcard.PartID]string{}
	b.Queue(`select `+putColumns+` from part_fit f join part p on p.id = f.part_id where p.card_id = $1 limit 500`, id).Query(func(rows pgx.Rows) error {
		all, err := pgx.CollectRows(rows, scanPut)
		for _, p := range all {
			r.puts[p.PartID] = p
		}
		return err
	})
	b.Queue(`select distinct on (k.part_id) k.part_id, k.proof from fit_check k join part p on p.id = k.part_id
		where p.card_id = $1 and p.verdict_how = 'reasoned' and p.verdict <> 'unchecked' and k.how = 'reasoned'
		order by k.part_id, k.id desc limit 500`, id).Query(func(rows pgx.Rows) error {
		var part jobcard.PartID
		var proof Proof
		_, err := pgx.ForEachRow(rows, []any{&part, &proof}, func() error {
			r.proofs[part] = proof
			proof = Proof{}
			return nil
		})
		return err
	})
	b.Queue(`select distinct on (b.part_id) b.part_id, b.number from box_reading b join part p on p.id = b.part_id
		where p.card_id = $1 order by b.part_id, b.id desc limit 500`, id).Query(func(rows pgx.Rows) error {
		var part jobcard.PartID
		var number string
		_, err := pgx.ForEachRow(rows, []any{&part, &number}, func() error {
			r.boxes[part] = number
			return nil
		})
		return err
	})
}

// Of puts together what was read, for the parts of the card; q is asked once
// more only where a box bears another number than its part.
func (r *Reading) Of(ctx context.Context, q pg.Querier, s *jobcard.Sheet) (*CardFit, error) {
	out := &CardFit{CardID: s.ID, VehicleID: s.VehicleID, VIN: s.Vehicle.VIN, Facts: s.Vehicle.Facts}
	return out, out.add(ctx, q, s.Parts, r)
}

func (c *CardFit) add(ctx context.Context, q pg.Querier, parts []jobcard.Part, r *Reading) error {
	read := make([]boxRead, 0, len(r.boxes))
	for _, p := range parts {
		x := PartFit{Part: p, Put: r.puts[p.ID], Last: r.proofs[p.ID], Box: r.boxes[p.ID]}
		x.FellBack = p.VerdictHow == jobcard.Reasoned && p.Verdict == jobcard.Unchecked && !x.Put.Empty() && x.Put.Holds
		if x.Box != "" {
			read = append(read, boxRead{p.ID, p.Number, x.Box})
		}
		c.Parts = append(c.Parts, x)
	}
	other, err := otherBoxes(ctx, q, read)
	for i := range c.Parts {
		c.Parts[i].BoxOther = other[c.Parts[i].ID]
	}
	return err
}

// Sheet reads a card with what is said of the fit of its parts. Errors:
// NotFound, Forbidden.
func (s *Service) Sheet(ctx context.Context, who actor.Actor, id jobcard.CardID) (*jobcard.Sheet, *CardFit, error) {
	var r Reading
	sheet, err := s.cards.Sheet(ctx, who, id, func(b *pgx.Batch) { r.Queue(b, id) })
	if err != nil {
		return nil, nil, err
	}
	c, err := r.Of(ctx, s.db.Pool, sheet)
	return sheet, c, err
}

// Card reads what is said of the fit of a card's parts. Errors: NotFound,
// Forbidden.
func (s *Service) Card(ctx context.Context, who actor.Actor, id jobcard.CardID) (*CardFit, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return nil, err
	}
	out := &CardFit{CardID: id}
	var r Reading
	var facts []vehicle.Fact
	var parts []jobcard.Part
	var b pgx.Batch
	b.Queue(`select c.vehicle_id, coalesce(v.vin, '') from card c join vehicle v on v.id = c.vehicle_id where c.id = $1`, id).QueryRow(func(r pgx.Row) error {
		return r.Scan(&out.VehicleID, &out.VIN)
	})
	b.Queue(`select f.key, f.value, f.source, f.noted_at, coalesce(t.name, '')
		from vehicle_fact f join card c on c.vehicle_id = f.vehicle_id left join staff t on t.id = f.noted_by
		where c.id = $1 order by f.id limit 500`, id).Query(func(rows pgx.Rows) (err error) {
		facts, err = pgx.CollectRows(rows, pgx.RowToStructByPos[vehicle.Fact])
		return err
	})
	r.Queue(&b, id)
	jobcard.PartsLater(&b, id, &parts)
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return nil, explainCard(err)
	}
	out.Facts = vehicle.Weigh(facts)
	return out, out.add(ctx, s.db.Pool, parts, &r)
}

func explainCard(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return apperr.NoSuch("card")
	}
	return fmt.Errorf("read the fit of a card's parts: %w", err)
}
