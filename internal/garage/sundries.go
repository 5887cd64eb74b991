package garage

import (
	"rampside/internal/apperr"
	"rampside/internal/money"
)

// SundriesOn says what sundries are a percentage of.
type SundriesOn string

// What sundries may be charged on.
const (
	OnLabour SundriesOn = "labour"
	OnParts  SundriesOn = "parts"
	OnBoth   SundriesOn = "labour and parts"
)

// SundriesOns lists them.
func SundriesOns() []SundriesOn { return []SundriesOn{OnLabour, OnParts, OnBoth} }

// Sundries is the charge for small material: a percentage of what it is
// charged on, with the most it may be on one card. Nothing is charged at 0 %.
type Sundries struct {
	Name    string
	Percent money.Rate
	On      SundriesOn
	Cap     *money.Minor // net; nil for no limit
}

// sundriesMax is the most that sundries may be: all of what they are charged on.
const sundriesMax money.Rate = 10_000

func (s Sundries) clean(f apperr.Fields) Sundries {
	if s.Name = f.Line("sundries_name", s.Name, nameMax); s.Name == "" {
		s.Name = "Sundries"
	}
	if s.On == "" {
		s.On = OnLabour
	}
	if s.On != OnLabour && s.On != OnParts && s.On != OnBoth {
		f.Add("sundries_on", "please choose one from the list")
	}
	if s.Percent < 0 || s.Percent > sundriesMax {
		f.Add("sundries_percent", "sundries lie between 0 and 100 %%")
	}
	if s.Cap != nil {
		within(f, "sundries_cap", *s.Cap)
	}
	return s
}

func (s Sundries) words() string {
	if s.Percent == 0 {
		return "none"
	}
	w := s.Name + ", " + s.Percent.String() + " of " + string(s.On)
	if s.Cap != nil {
		w += ", at most " + money.FormatPlain(*s.Cap)
	}
	return w
}
