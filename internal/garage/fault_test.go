package garage_test

import (
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg/pgfault"
	"rampside/internal/pg/pgtest"
	"rampside/internal/workday"
)

func TestTheLineBreakingAnywhereLeavesNothingHalfSetUp(t *testing.T) {
	url := pgtest.URL(t)
	look, err := pgxpool.New(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(look.Close)
	on := func(p *pgxpool.Pool) *garage.Service { return garage.New(&change.DB{Pool: p, Now: nowIs}) }
	whole := on(look)
	must[garage.Settings](t)(whole.SaveSettings(t.Context(), owner, saltmarsh()))
	labour := must[garage.LabourType](t)(whole.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	count := func(table, sum string) func() []int {
		return func() []int {
			out := make([]int, 3)
			err := look.QueryRow(t.Context(), `select (select `+sum+` from `+table+`), (select count(*) from event), (select count(*) from write_key)`).
				Scan(&out[0], &out[1], &out[2])
			if err != nil {
				t.Fatal(err)
			}
			return out
		}
	}
	for name, a := range map[string]pgfault.Act{
		"settings": {
			Do: func(p *pgxpool.Pool, n int) error {
				in := saltmarsh()
				in.Version, in.Name = n, fmt.Sprint("Garage ", n)
				_, err := on(p).SaveSettings(t.Context(), owner.WithKey(fmt.Sprint("settings-", n)), in)
				return err
			},
			Count: count("garage", "sum(version)"), Want: []int{1, 1, 1},
		},
		"an operation": {
			Do: func(p *pgxpool.Pool, n int) error {
				in := clutch(labour.ID)
				in.Name = fmt.Sprint("Clutch ", n)
				_, err := on(p).SaveOperation(t.Context(), owner.WithKey(fmt.Sprint("operation-", n)), in)
				return err
			},
			Count: count("operation", "count(*)"), Want: []int{1, 1, 1},
		},
		"a supplier": {
			Do: func(p *pgxpool.Pool, n int) error {
				_, err := on(p).SaveSupplier(t.Context(), owner.WithKey(fmt.Sprint("supplier-", n)), garage.SupplierInput{Name: fmt.Sprint("Supplier ", n)})
				return err
			},
			Count: count("supplier", "count(*)"), Want: []int{1, 1, 1},
		},
		"a VAT rate": {
			Do: func(p *pgxpool.Pool, n int) error {
				_, err := on(p).SetVATRate(t.Context(), owner.WithKey(fmt.Sprint("vat-", n)),
					garage.VATRateInput{Code: money.Standard, From: workday.Must(2027, 1, 1).AddDays(n), Rate: 2000})
				return err
			},
			Count: count("vat_rate", "count(*)"), Want: []int{1, 1, 1},
		},
	} {
		t.Run(name, func(t *testing.T) { pgfault.Every(t, url, a) })
	}
}
