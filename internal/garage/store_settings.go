package garage

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/pg"
)

const settingsColumns = `name, address, phone, email, vat_number, zone, currency,
	(extract(epoch from opens) / 60)::int, (extract(epoch from closes) / 60)::int, work_days,
	standard_cost_rate_minor, default_markup_bp, vat_rounding, tax_name, sundries_name, sundries_bp, sundries_on, sundries_cap_minor,
	version`

// Load reads the settings; NotFound while the garage is not set up.
func Load(ctx context.Context, q pg.Querier) (Settings, error) {
	return scanSettings(q.QueryRow(ctx, `select `+settingsColumns+` from garage where id = 1`))
}

// LoadLater puts reading the settings into a batch; into is filled when the
// batch has run, which gives Load's errors.
func LoadLater(b *pgx.Batch, into *Settings) {
	b.Queue(`select ` + settingsColumns + ` from garage where id = 1`).QueryRow(func(row pgx.Row) (err error) {
		*into, err = scanSettings(row)
		return err
	})
}

func scanSettings(row pgx.Row) (Settings, error) {
	var s Settings
	var days []int16
	err := row.Scan(&s.Name, &s.Address, &s.Phone, &s.Email, &s.VATNumber, &s.ZoneName, &s.Currency,
		&s.Opens, &s.Closes, &days, &s.StandardCostRate, &s.DefaultMarkupBP, &s.VATRounding,
		&s.TaxName, &s.Sundries.Name, &s.Sundries.Percent, &s.Sundries.On, &s.Sundries.Cap, &s.Version)
	if errors.Is(err, pgx.ErrNoRows) {
		return s, apperr.New(apperr.NotFound, "the garage is not set up yet")
	}
	if err != nil {
		return s, fmt.Errorf("garage: %w", err)
	}
	for _, d := range days {
		s.WorkDays = append(s.WorkDays, fromISO(d))
	}
	if _, err := zone(s.ZoneName); err != nil {
		return s, fmt.Errorf("garage: zone %q: %w", s.ZoneName, err)
	}
	return s, nil
}

func writeSettings(ctx context.Context, tx *change.Tx, in Settings) (Settings, error) {
	days := make([]int16, len(in.WorkDays))
	for i, d := range in.WorkDays {
		days[i] = isoWeekday(d)
	}
	args := []any{in.Name, in.Address, in.Phone, in.Email, in.VATNumber, in.ZoneName, in.Currency,
		int(in.Opens), int(in.Closes), days, in.StandardCostRate, in.DefaultMarkupBP, in.VATRounding,
		in.TaxName, in.Sundries.Name, in.Sundries.Percent, in.Sundries.On, in.Sundries.Cap}
	was := Settings{}
	sql := `
		insert into garage (name, address, phone, email, vat_number, zone, currency, opens, closes, work_days,
			standard_cost_rate_minor, default_markup_bp, vat_rounding, tax_name, sundries_name, sundries_bp, sundries_on, sundries_cap_minor)
		values ($1, $2, $3, $4, $5, $6, $7, time '00:00' + make_interval(mins => $8), time '00:00' + make_interval(mins => $9),
			$10, $11, $12, $13, $14, $15, $16, $17, $18)
		on conflict on constraint garage_pk do nothing
		returning version`
	if in.Version != 0 {
		var err error
		if was, err = loadLocked(ctx, tx); err != nil {
			return Settings{}, err
		}
		if was.Version != in.Version {
			return Settings{}, apperr.Stale("page of settings", was)
		}
		sql = `
		update garage set name = $1, address = $2, phone = $3, email = $4, vat_number = $5, zone = $6, currency = $7,
			opens = time '00:00' + make_interval(mins => $8), closes = time '00:00' + make_interval(mins => $9),
			work_days = $10, standard_cost_rate_minor = $11, default_markup_bp = $12, vat_rounding = $13,
			tax_name = $14, sundries_name = $15, sundries_bp = $16, sundries_on = $17, sundries_cap_minor = $18, version = version + 1
		where id = 1 returning version`
	}
	err := tx.QueryRow(ctx, sql, args...).Scan(&in.Version)
	if errors.Is(err, pgx.ErrNoRows) { // somebody else set it up
		now, err := Load(ctx, tx)
		if err != nil {
			return Settings{}, err
		}
		return Settings{}, apperr.Stale("page of settings", now)
	}
	if err != nil {
		return Settings{}, fmt.Errorf("garage settings: %w", err)
	}
	kind := "garage settings changed"
	if was.Version == 0 {
		kind = "garage set up"
	}
	tx.Record(kind, 0, "garage", settingsChanged(was, in))
	return in, nil
}

// loadLocked is Load holding the row to the end of the transaction.
func loadLocked(ctx context.Context, tx *change.Tx) (Settings, error) {
	return scanSettings(tx.QueryRow(ctx, `select `+settingsColumns+` from garage where id = 1 for update`))
}

func settingsChanged(was, is Settings) map[string]any {
	d := newDiff(was.Version == 0)
	d.add("name", was.Name, is.Name)
	d.add("address", was.Address, is.Address)
	d.add("phone", was.Phone, is.Phone)
	d.add("email", was.Email, is.Email)
	d.add("VAT number", was.VATNumber, is.VATNumber)
	d.add("zone", was.ZoneName, is.ZoneName)
	d.add("currency", was.Currency, is.Currency)
	d.add("opens", was.Opens, is.Opens)
	d.add("closes", was.Closes, is.Closes)
	d.add("work days", dayWords(was.WorkDays), dayWords(is.WorkDays))
	d.add("standard cost rate", was.StandardCostRate.String(), is.StandardCostRate.String())
	d.add("default mark-up", was.DefaultMarkupBP.String(), is.DefaultMarkupBP.String())
	d.add("VAT rounding", was.VATRounding, is.VATRounding)
	d.add("tax", was.TaxName, is.TaxName)
	d.add("sundries", was.Sundries.words(), is.Sundries.words())
	return d.fields
}

func dayWords(days []time.Weekday) string {
	words := make([]string, len(days))
	for i, d := range days {
		words[i] = d.String()
	}
	return strings.Join(words, ", ")
}
