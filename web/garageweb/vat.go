package garageweb

import (
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/garage"
	"rampside/internal/live"
	"rampside/internal/money"
	"rampside/internal/workday"
	"rampside/web/ui"
)

const vatPath = home + "/vat"

// vatRow is one rate in the table.
type vatRow struct {
	Code, Category, From, Day, Rate, State string
	// Removable says that it has not begun.
	Removable bool
}

func (p pages) vat(w http.ResponseWriter, r *http.Request) error {
	return p.showVAT(w, r, nil, http.StatusOK)
}

func (p pages) showVAT(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	who := ui.Who(r.Context())
	rates, err := p.garage.VATRates(r.Context(), who)
	if err != nil {
		return err
	}
	set, err := p.garage.Overview(r.Context(), who)
	if err != nil {
		return err
	}
	page := p.kit.Page(r, "VAT", home).Follow(r, live.All)
	return p.kit.Render(w, r, status, vatPage(page, f, vatRows(rates, set.Today(p.db.Now()))))
}

// vatRows tells the rates in force from those before and after them; they come
// by category, the newest first.
func vatRows(rates []garage.VATRate, today workday.Day) []vatRow {
	rows := make([]vatRow, len(rates))
	inForce := map[money.VATCode]bool{}
	for i, r := range rates {
		row := vatRow{Code: string(r.Code), Category: r.Code.Label(), From: r.From.Long(), Day: r.From.String(), Rate: money.FormatRate(r.Rate)}
		if r.Code == money.Outside {
			row.Rate = "none"
		}
		switch {
		case !r.Settled(today):
			row.State, row.Removable = "to come", true
		case !inForce[r.Code]:
			row.State = "in force"
			inForce[r.Code] = true
		default:
			row.State = "over"
		}
		rows[i] = row
	}
	return rows
}

func changingRates() []ui.Option {
	return []ui.Option{
		{Value: string(money.Standard), Label: money.Standard.Label()},
		{Value: string(money.Reduced), Label: money.Reduced.Label()},
	}
}

func (p pages) setVAT(w http.ResponseWriter, r *http.Request) error {
	var in garage.VATRateInput
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			f.Required("code", "from", "rate")
			in = garage.VATRateInput{
				Code: ui.OneOf(f, "code", money.Standard, money.Reduced), From: ui.Read(f, "from", workday.Parse), Rate: f.Rate("rate"),
			}
		},
		write: func(who actor.Actor) (string, string, error) {
			_, err := p.garage.SetVATRate(r.Context(), who, in)
			return vatPath, "Rate noted", err
		},
		again: func(f *ui.Form, status int) error { return p.showVAT(w, r, f, status) },
	})
}

func (p pages) removeVAT(w http.ResponseWriter, r *http.Request) error {
	var code money.VATCode
	var from workday.Day
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			f.Required("code", "from")
			code, from = ui.OneOf(f, "code", money.VATCodes()...), ui.Read(f, "from", workday.Parse)
		},
		write: func(who actor.Actor) (string, string, error) {
			return vatPath, "Rate taken back", p.garage.RemoveVATRate(r.Context(), who, code, from)
		},
		again: func(f *ui.Form, status int) error { return p.showVAT(w, r, f, status) },
	})
}
