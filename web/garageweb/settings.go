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
		"cost_rate", money.FormatPlain(s.StandardCostRate), "markup", plainRate(s.DefaultMarkupBP), "vat_rounding", string(s.VATRounding))
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
	return []ui.Option{
		{Value: string(money.PerDocument), Label: "once for the document", Hint: "as electronic invoices ask"},
		{Value: string(money.PerLine), Label: "line by line"},
	}
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
				VATRounding: ui.OneOf(f, "vat_rounding", money.PerDocument, money.PerLine), Version: int(f.Version()),
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
