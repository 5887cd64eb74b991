package garage

import (
	"net/mail"
	"slices"
	"strings"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/money"
	"rampside/internal/vatno"
)

// The most that each field takes: characters, and for a rate or a fixed price
// the £1,000,000 that the tables take too.
const (
	nameMax    = 120
	addressMax = 400
	phoneMax   = 80
	emailMax   = 254
	rateMax    = money.Minor(100_000_000)
)

// Clean checks what was given and tidies it. An Invalid error has its messages
// at name, address, phone, email, vat_number, zone, currency, opens, closes,
// work_days, cost_rate, markup, vat_rounding, tax_name, and sundries_name,
// sundries_percent, sundries_on and sundries_cap.
func (s Settings) Clean() (Settings, error) {
	f := apperr.Fields{}
	s.Name = f.Line("name", s.Name, nameMax)
	f.Must("name", s.Name, "the garage's name")
	s.Address = f.Prose("address", s.Address, addressMax)
	s.Phone, s.Email = reach(f, s.Phone, s.Email)
	s.Currency = strings.ToUpper(f.Line("currency", s.Currency, 3))
	if _, err := money.CurrencyOf(s.Currency); err != nil {
		f.Add("currency", "%s", err)
	}
	s.VATNumber = vatNumber(f, s.VATNumber, s.Currency)
	s.ZoneName = f.Line("zone", s.ZoneName, 60)
	if _, err := zone(s.ZoneName); err != nil {
		f.Add("zone", "%s", err)
	}
	switch {
	case !s.Opens.Valid():
		f.Add("opens", "a time of day lies between 00:00 and 23:59")
	case !s.Closes.Valid():
		f.Add("closes", "a time of day lies between 00:00 and 23:59")
	case s.Closes <= s.Opens:
		f.Add("closes", "the garage must close after it opens, on the same day")
	}
	s.WorkDays = week(f, s.WorkDays)
	within(f, "cost_rate", s.StandardCostRate)
	if s.DefaultMarkupBP < 0 || s.DefaultMarkupBP > money.MaxRate {
		f.Add("markup", "a percentage lies between 0 and 1000")
	}
	if !s.VATRounding.Valid() {
		f.Add("vat_rounding", "please choose one from the list")
	}
	if s.TaxName = f.Line("tax_name", s.TaxName, 20); s.TaxName == "" {
		s.TaxName = "VAT"
	}
	s.Sundries = s.Sundries.clean(f)
	return s, f.Err()
}

// vatNumber checks a number by its rule where the garage is in the United
// Kingdom; elsewhere only that it looks like one.
func vatNumber(f apperr.Fields, s, currency string) string {
	s = f.Line("vat_number", s, 40)
	if s == "" {
		return ""
	}
	if currency == "GBP" {
		n, err := vatno.Parse(s)
		if err != nil {
			f.Add("vat_number", "%s", err)
		}
		return n
	}
	s = strings.ToUpper(strings.NewReplacer(" ", "", ".", "", "-", "").Replace(s))
	for i := range len(s) {
		if (s[i] < '0' || s[i] > '9') && (s[i] < 'A' || s[i] > 'Z') {
			f.Add("vat_number", "a VAT number is made of letters and digits")
			return ""
		}
	}
	return s
}

// week puts the days in order, Monday first, each once.
func week(f apperr.Fields, days []time.Weekday) []time.Weekday {
	var out []time.Weekday
	for _, d := range days {
		if d < time.Sunday || d > time.Saturday {
			f.Add("work_days", "please choose days of the week")
			return nil
		}
		if !slices.Contains(out, d) {
			out = append(out, d)
		}
	}
	if len(out) == 0 {
		f.Add("work_days", "please choose at least one day on which the garage works")
	}
	slices.SortFunc(out, func(a, b time.Weekday) int { return int(isoWeekday(a)) - int(isoWeekday(b)) })
	return out
}

// reach checks a telephone number and an e-mail address; either may be empty.
func reach(f apperr.Fields, phone, email string) (string, string) {
	phone, email = f.Line("phone", phone, phoneMax), f.Line("email", email, emailMax)
	n := 0
	for _, c := range phone {
		if c >= '0' && c <= '9' {
			n++
		}
	}
	if phone != "" && n < 5 {
		f.Add("phone", "this does not look like a telephone number; write it as it is dialled, such as 01632 960123")
	}
	if a, err := mail.ParseAddress(email); email != "" && (err != nil || a.Name != "" || a.Address != email) {
		f.Add("email", "this does not look like an e-mail address, such as name@example.com")
	}
	return phone, email
}

func within(f apperr.Fields, name string, m money.Minor) {
	if m < 0 || m > rateMax {
		f.Add(name, "an amount between £0.00 and %s, please", rateMax)
	}
}

// LabourTypeInput adds a type of labour when ID is 0, else changes it from
// Version. Active false retires it.
type LabourTypeInput struct {
	ID      LabourTypeID
	Version int
	Name    string
	Rate    money.Minor
	Active  bool
}

func (in LabourTypeInput) clean() (LabourTypeInput, error) {
	f := apperr.Fields{}
	in.Name = f.Line("name", in.Name, nameMax)
	f.Must("name", in.Name, "a name for this labour")
	within(f, "rate", in.Rate)
	return in, f.Err()
}

// OperationInput adds an operation when ID is 0, else changes it from Version.
// Active false retires it. Safety is set by itself where the cautions or a
// wheel that comes off call for a second person's check.
type OperationInput struct {
	ID                OperationID
	Version           int
	Name              string
	LabourTypeID      LabourTypeID
	Low, Likely, High time.Duration
	FixedPrice        *money.Minor
	VATCode           money.VATCode
	Cautions          []caution.Key
	Safety            bool
	WheelsOff         bool
	Inspects          bool
	Active            bool
}

func (in OperationInput) clean() (OperationInput, error) {
	f := apperr.Fields{}
	in.Name = f.Line("name", in.Name, nameMax)
	f.Must("name", in.Name, "the operation's name")
	if in.LabourTypeID < 1 {
		f.Add("labour_type", "please choose the labour it takes")
	}
	in.Low, in.Likely, in.High = in.Low.Round(time.Minute), in.Likely.Round(time.Minute), in.High.Round(time.Minute)
	switch est := (hours.Estimate{Low: in.Low, Likely: in.Likely, High: in.High}); {
	case in.Low < 0 || in.Low > hours.Max:
		f.Add("low", "%s", hours.ErrRange)
	case in.High < 0 || in.High > hours.Max:
		f.Add("high", "%s", hours.ErrRange)
	case est.Check() != nil:
		f.Add("likely", "%s", est.Check())
	}
	if in.FixedPrice != nil {
		within(f, "fixed_price", *in.FixedPrice)
	}
	if !in.VATCode.Valid() {
		f.Add("vat_code", "please choose one from the list")
	}
	if err := caution.Valid(in.Cautions); err != nil {
		f.Add("cautions", "%s", err)
	}
	in.Cautions = caution.Merge(in.Cautions)
	in.Safety = in.Safety || in.WheelsOff || caution.NeedsSecondCheck(in.Cautions)
	return in, f.Err()
}

// SupplierInput adds a supplier when ID is 0, else changes it from Version.
// Active false retires it.
type SupplierInput struct {
	ID      SupplierID
	Version int
	Name    string
	Phone   string
	Email   string
	Active  bool
}

func (in SupplierInput) clean() (SupplierInput, error) {
	f := apperr.Fields{}
	in.Name = f.Line("name", in.Name, nameMax)
	f.Must("name", in.Name, "the supplier's name")
	in.Phone, in.Email = reach(f, in.Phone, in.Email)
	return in, f.Err()
}
