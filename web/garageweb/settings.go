package garageweb

import (
	"net/http"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/vatno"
	"rampside/internal/workday"
	"rampside/web/ui"
)

const settingsPath = home + "/settings"

func (p pages) settings(w http.ResponseWriter, r *http.Request) error {
	s, err := p.garage.Settings(r.Context(), ui.Who(r.Context()))
	if apperr.Is(err, apperr.NotFound) {
		s, err = garage.Usual(""), nil
	}
	if err != nil {
		return err
	}
	f := settingsForm(s)
	f.Values.Set("version", ui.Itoa(int64(s.Version)))
	return p.showSettings(w, r, f, http.StatusOK)
}

func (p pages) showSettings(w http.ResponseWriter, r *http.Request, f *ui.Form, status int) error {
	return p.kit.Render(w, r, status, settingsPage(p.kit.Page(r, "Settings", home), f))
}

func settingsForm(s garage.Settings) *ui.Form {
	f := formOf("name", s.Name, "address", s.Address, "phone", s.Phone, "email", s.Email, "vat_number", vatno.Format(s.VATNumber),
		"currency", s.Currency, "zone", s.ZoneName, "opens", s.Opens.String(), "closes", s.Closes.String(),
		"cost_rate", money.FormatPlain(s.StandardCostRate), "markup", plainRate(s.DefaultMarkupBP), "vat_rounding", string(s.VATRounding),
		"tax_name", s.TaxName, "sundries_name", s.Sundries.Name, "sundries_on", string(s.Sundries.On))
	if s.Sundries.Percent != 0 {
		f.Values.Set("sundries_percent", plainRate(s.Sundries.Percent))
	}
	if s.Sundries.Cap != nil {
		f.Values.Set("sundries_cap", money.FormatPlain(*s.Sundries.Cap))
	}
	for _, d := range s.WorkDays {
		f.Values.Add("work_days", dayValue(d))
	}
	return f
}

func plainRate(r money.Rate) string { return strings.TrimSuffix(money.FormatRate(r), "%") }

func dayValue(d time.Weekday) string { return strings.ToLower(d.String()) }

var week = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

func dayOptions() []ui.Option {
	out := make([]ui.Option, len(week))
	for i, d := range week {
		out[i] = ui.Option{Value: dayValue(d), Label: d.String()}
	}
	return out
}

func readDays(f *ui.Form) (out []time.Weekday) {
	for _, v := range several(f, "work_days", 14) {
		found := false
		for _, d := range week {
			if strings.EqualFold(v, d.String()) {
				out, found = append(out, d), true
			}
		}
		if !found {
			f.Fail("work_days", "please choose days of the week")
		}
	}
	return out
}

func roundingOptions() []ui.Option {
	why := map[money.Rounding]string{
		money.PerDocument:   "The net of each rate is added up and its VAT worked out once. Electronic invoices ask for this (EN 16931, BR-CO-17).",
		money.PerLine:       "Each line has its VAT to the penny, and the document adds them up (VAT manual VATREC12010).",
		money.DocumentDown:  "The VAT of the whole document loses any part of a penny. Only where prices are set without VAT (VATREC12010; not for retailers, VATREC12020).",
		money.LineTenthDown: "86.76p on a line counts as 86.7p; the total loses any part of a penny. Only where prices are set without VAT (VATREC12010; VATREC12020).",
		money.LineHalf:      "Each line counts to the nearest half penny; the total loses a half penny. Only where prices are set without VAT (VATREC12010; VATREC12020).",
	}
	var out []ui.Option
	for _, r := range money.Roundings() {
		out = append(out, ui.Option{Value: string(r), Label: r.Label(), Hint: why[r]})
	}
	return out
}

func sundriesOptions() []ui.Option { return ui.OptionsOf(garage.SundriesOns()...) }

// readSundries reads the charge for small material; nothing typed is none.
func readSundries(f *ui.Form) garage.Sundries {
	s := garage.Sundries{Name: f.Str("sundries_name", 120), On: ui.OneOf(f, "sundries_on", garage.SundriesOns()...)}
	if f.Get("sundries_percent") != "" {
		s.Percent = f.Rate("sundries_percent")
	}
	if f.Get("sundries_cap") != "" {
		most := f.Money("sundries_cap")
		s.Cap = &most
	}
	return s
}

// zones are offered; any other of the IANA database may be typed.
func zones() []string {
	return []string{"Europe/London", "Europe/Dublin", "Europe/Jersey", "Europe/Guernsey", "Europe/Isle_of_Man", "Europe/Gibraltar",
		"Europe/Malta", "Asia/Nicosia", "Australia/Sydney", "Pacific/Auckland"}
}

func (p pages) saveSettings(w http.ResponseWriter, r *http.Request) error {
	var in garage.Settings
	return p.save(w, r, save{
		read: func(f *ui.Form) {
			f.Required("name", "opens", "closes")
			in = garage.Settings{
				Name: f.Str("name", 120), Address: f.Text("address", 400), Phone: f.Str("phone", 80), Email: f.Str("email", 254),
				VATNumber: f.Str("vat_number", 40), Currency: f.Str("currency", 3), ZoneName: f.Str("zone", 60),
				Opens: ui.Read(f, "opens", workday.ParseClock), Closes: ui.Read(f, "closes", workday.ParseClock),
				WorkDays: readDays(f), StandardCostRate: f.Money("cost_rate"), DefaultMarkupBP: f.Rate("markup"),
				VATRounding: ui.OneOf(f, "vat_rounding", money.Roundings()...), TaxName: f.Str("tax_name", 20), Sundries: readSundries(f), Version: int(f.Version()),
			}
		},
		write: func(who actor.Actor) (string, string, error) {
			_, err := p.garage.SaveSettings(r.Context(), who, in)
			return home, "Settings saved", err
		},
		again: func(f *ui.Form, status int) error { return p.showSettings(w, r, f, status) },
		stale: func(f *ui.Form, err error) (ui.Stale, bool) {
			now, ok := ui.IsStale[garage.Settings](err)
			return staleSettings(f, now), ok
		},
	})
}

func staleSettings(f *ui.Form, now garage.Settings) ui.Stale {
	theirs := settingsForm(now)
	s := ui.Stale{Thing: "page of settings", Action: settingsPath, Back: settingsPath, Version: int64(now.Version)}
	for _, row := range []ui.StaleRow{
		{Name: "name", Label: "Name"},
		{Name: "address", Label: "Address", Long: true},
		{Name: "phone", Label: "Telephone"},
		{Name: "email", Label: "E-mail"},
		{Name: "vat_number", Label: "VAT number"},
		{Name: "currency", Label: "Currency"},
		{Name: "zone", Label: "Time zone"},
		{Name: "opens", Label: "Opens"},
		{Name: "closes", Label: "Closes"},
		{Name: "work_days", Label: "Open on"},
		{Name: "cost_rate", Label: "Planned cost of an hour"},
		{Name: "markup", Label: "Mark-up on parts, %"},
		{Name: "vat_rounding", Label: "VAT is rounded", Options: roundingOptions()},
		{Name: "tax_name", Label: "The tax is called"},
		{Name: "sundries_name", Label: "Small material is called"},
		{Name: "sundries_percent", Label: "Small material, %"},
		{Name: "sundries_on", Label: "Small material is charged on", Options: sundriesOptions()},
		{Name: "sundries_cap", Label: "At most on one card, net"},
	} {
		row.Theirs, row.Yours = joined(theirs, row.Name), joined(f, row.Name)
		s.Rows = append(s.Rows, row)
	}
	return s
}

// joined is a field's values as one text.
func joined(f *ui.Form, name string) string {
	if vs := f.Values[name]; len(vs) > 1 {
		return strings.ToValidUTF8(strings.Join(vs, ", "), "\uFFFD")
	}
	return f.Get(name)
}
