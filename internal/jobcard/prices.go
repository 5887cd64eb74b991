package jobcard

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg"
	"rampside/internal/pricing"
	"rampside/internal/workday"
)

// PriceSettings is how the garage prices: where VAT is rounded, what the tax
// is called, in which currency, and what small material costs.
type PriceSettings struct {
	Rounding money.Rounding
	TaxName  string
	Money    money.Currency
	Sundries garage.Sundries
	// WithoutVAT is set while the garage is not registered for VAT.
	WithoutVAT bool
}

// PriceSettingsOf picks them from the garage's settings.
func PriceSettingsOf(g garage.Settings) PriceSettings {
	if !g.VATRounding.Valid() { // settings that nobody has saved
		g.VATRounding = money.PerDocument
	}
	return PriceSettings{Rounding: g.VATRounding, TaxName: g.TaxName, Money: g.Money(), Sundries: g.Sundries, WithoutVAT: g.VATNumber == ""}
}

// OwnSundries takes the place of the garage's sundries on one card. At 0 %
// none are charged.
type OwnSundries struct {
	Percent money.Rate
	Cap     *money.Minor
}

// sundries are those of a card, nil for none.
func sundries(c Card, set PriceSettings, rates Rates) *pricing.Sundries {
	s := set.Sundries
	if c.Sundries != nil {
		s.Percent, s.Cap = c.Sundries.Percent, c.Sundries.Cap
	}
	if s.Percent == 0 {
		return nil
	}
	out := &pricing.Sundries{Text: s.Name, Percent: s.Percent, Cap: s.Cap, VAT: pricing.VAT{Code: money.Standard, Rate: rates[money.Standard]}}
	if s.On != garage.OnParts {
		out.On = append(out.On, pricing.Labour)
	}
	if s.On != garage.OnLabour {
		out.On = append(out.On, pricing.Part)
	}
	return out
}

// ratesLater queues the reading of the VAT rates that hold on the day a card
// is booked for.
func ratesLater(b *pgx.Batch, id CardID, into Rates) {
	b.Queue(`select distinct on (r.code) r.code, coalesce(r.rate_bp, 0) from vat_rate r join card c on r.from_day <= c.booked_for
		where c.id = $1 order by r.code, r.from_day desc`, id).Query(each(func(r pgx.Rows) error {
		var code money.VATCode
		var bp int64
		err := r.Scan(&code, &bp)
		into[code] = money.Rate(bp)
		return err
	}))
}

// LoadPriced reads a card's price sheet in one round trip. Error: NotFound.
func LoadPriced(ctx context.Context, q pg.Querier, id CardID) (Priced, error) {
	var c Card
	var lines []Line
	var parts []Part
	var x Extras
	var g garage.Settings
	rates := Rates{}
	var b pgx.Batch
	b.Queue(`select `+cardColumns+` from card c where c.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		c, err = pgx.CollectExactlyOneRow(rows, scanCard)
		return pg.Explain(err, "card", nil)
	})
	b.Queue(`select `+lineColumns+lineFrom+`where l.card_id = $1 order by l.position, l.id limit 500`, id).Query(collect(&lines, scanLine))
	PartsLater(&b, id, &parts)
	ExtrasLater(&b, ofOneCard, []any{id}, func(CardID) *Extras { return &x })
	ratesLater(&b, id, rates)
	garage.LoadLater(&b, &g)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		if apperr.KindOf(err) == apperr.Internal {
			return Priced{}, fmt.Errorf("price card %d: %w", id, err)
		}
		return Priced{}, err
	}
	return PriceCard(c, lines, parts, x, rates, PriceSettingsOf(g)), nil
}

// RatesOn picks the rates of one day from a table of them.
func RatesOn(table []garage.VATRate, day workday.Day) Rates {
	out := Rates{}
	begun := map[money.VATCode]workday.Day{}
	for _, r := range table {
		if at, ok := begun[r.Code]; !r.From.After(day) && (!ok || r.From.After(at)) {
			out[r.Code], begun[r.Code] = r.Rate, r.From
		}
	}
	return out
}
