package outlook

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/forecast/score"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// Kept is how good the forecasts were: what was said of each car first on its
// day, against what became of it.
type Kept struct {
	Garage garage.Settings
	Now    time.Time
	// N is how many cars have an outcome, from the first day to the last.
	N           int
	First, Last workday.Day
	// Early: too few to tell anything by.
	Early bool
	// Said of each bin against how often it came about.
	Bins []score.Bin
	// Cover is how many were finished by the times that were said to hold 50,
	// 80 and 90 times in a hundred.
	Cover []LevelKept
	// Brier scores: what was shown, before it was corrected, the hours added
	// up, the normal approximation, and always saying how often it comes about.
	Brier, Raw, Added, Normal, Always float64
	// Better is by how much what was shown beats the two plain ways.
	BetterAdded, BetterNormal score.Difference
	Rate                      float64
	// Level is what promises are made at now; Open how many forecasts of cars
	// wait for their outcome.
	Level  float64
	Open   int
	Last20 []CarKept
}

// LevelKept is what was said to hold with a chance, and how often it did.
type LevelKept struct {
	Level float64
	score.Coverage
	// Uncorrected is how often it would have held without the correction.
	Uncorrected score.Coverage
}

// CarKept is one car with what was said and what was.
type CarKept struct {
	Card     jobcard.CardID
	Mark     string
	Made     time.Time
	Promised time.Time
	Finished time.Time
	Chance   float64
	Kept     bool
}

const (
	// fewestKept is how many outcomes tell something: with fewer, a share has
	// an error of ten in a hundred or more. A judgement.
	fewestKept = 30
	keptMax    = 5000
	bins       = 10
	lastKept   = 20
)

// Kept reads the forecasts of up to 500 days with what became of them.
func (s *Service) Kept(ctx context.Context, who actor.Actor) (Kept, error) {
	if err := who.Need(actor.SeeMargins); err != nil {
		return Kept{}, err
	}
	out := Kept{Now: s.db.Now().UTC()}
	var shown, raw, added, normal []score.Outcome
	var places []float64
	var held [3]int
	var b pgx.Batch
	garage.LoadLater(&b, &out.Garage)
	b.Queue(`
		select x.day, x.card_id, coalesce(nullif(v.mark_shown, ''), v.vin, ''), x.made_at, x.promised_at, x.finished_at, x.chance, x.raw, x.added, x.normal, x.place, x.levels, x.kept
		from (select distinct on (day, card_id) * from forecast_made where kept is not null order by day desc, card_id, made_at limit $1) x
		join card c on c.id = x.card_id join vehicle v on v.id = c.vehicle_id order by x.day desc, x.finished_at desc`, keptMax).Query(func(rows pgx.Rows) error {
		var c CarKept
		var day time.Time
		var r, a, n, place float64
		var levels []float64
		_, err := pgx.ForEachRow(rows, []any{&day, &c.Card, &c.Mark, &c.Made, &c.Promised, &c.Finished, &c.Chance, &r, &a, &n, &place, &levels, &c.Kept}, func() error {
			d := workday.FromDate(day)
			if out.Last.IsZero() {
				out.Last = d
			}
			out.First = d
			shown, raw = append(shown, score.Outcome{Said: c.Chance, Was: c.Kept}), append(raw, score.Outcome{Said: r, Was: c.Kept})
			added, normal = append(added, score.Outcome{Said: a, Was: c.Kept}), append(normal, score.Outcome{Said: n, Was: c.Kept})
			places = append(places, place)
			for i, l := range levels[:len(held)] {
				if place <= l {
					held[i]++
				}
			}
			if len(out.Last20) < lastKept {
				out.Last20 = append(out.Last20, c)
			}
			return nil
		})
		return err
	})
	b.Queue(`select count(distinct card_id) from forecast_made where settled_at is null`).QueryRow(func(r pgx.Row) error { return r.Scan(&out.Open) })
	b.Queue(`select coalesce((select level from outlook_setting where id = 1), $1)`, usualLevel).QueryRow(func(r pgx.Row) error { return r.Scan(&out.Level) })
	if err := s.db.Pool.SendBatch(ctx, &b).Close(); err != nil {
		return out, fmt.Errorf("how good forecasts were: %w", err)
	}
	out.N = len(shown)
	out.Early = out.N < fewestKept
	if out.N == 0 {
		return out, nil
	}
	out.Bins = score.Reliability(shown, bins)
	out.Brier, out.Raw, out.Added, out.Normal, out.Rate = score.Brier(shown), score.Brier(raw), score.Brier(added), score.Brier(normal), score.Rate(shown)
	out.Always = out.Rate * (1 - out.Rate)
	out.BetterAdded, out.BetterNormal = score.Better(shown, added), score.Better(shown, normal)
	for i, l := range shownLevels {
		out.Cover = append(out.Cover, LevelKept{l, score.Coverage{Within: held[i], N: out.N}, score.Cover(places, l)})
	}
	return out, nil
}
