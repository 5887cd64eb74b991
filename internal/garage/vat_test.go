package garage_test

import (
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// The United Kingdom's standard rate was 17.5 % until 3 January 2011 and has
// been 20 % since; the reduced rate has been 5 % since 1 September 1997
// (gov.uk, VAT rates).
func TestARateHoldsFromItsDayUntilTheNext(t *testing.T) {
	s, db := service(t)
	must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	must[garage.VATRate](t)(s.SetVATRate(t.Context(), owner, garage.VATRateInput{Code: money.Standard, From: workday.Must(2027, time.January, 4), Rate: 1750}))
	for _, c := range []struct {
		day               workday.Day
		standard, reduced money.Rate
	}{
		{workday.Must(2011, time.January, 4), 2000, 500},
		{workday.Must(2026, time.October, 5), 2000, 500},
		{workday.Must(2027, time.January, 3), 2000, 500},
		{workday.Must(2027, time.January, 4), 1750, 500},
		{workday.Must(2050, time.January, 1), 1750, 500},
	} {
		got := must[map[money.VATCode]money.Rate](t)(garage.VATRates(t.Context(), db.Pool, c.day))
		if got[money.Standard] != c.standard || got[money.Reduced] != c.reduced || got[money.Zero] != 0 || len(got) != 4 {
			t.Errorf("on %s: %v", c.day, got)
		}
	}
	before := must[map[money.VATCode]money.Rate](t)(garage.VATRates(t.Context(), db.Pool, workday.Must(2011, time.January, 3)))
	if _, ok := before[money.Standard]; ok {
		t.Errorf("a rate before the first one: %v", before)
	}
}

func TestARateThatHasBeenInForceCannotBeChanged(t *testing.T) {
	s, db := service(t)
	must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	today := workday.Must(2026, time.October, 5)
	set := func(day workday.Day, rate money.Rate) error {
		_, err := s.SetVATRate(t.Context(), owner, garage.VATRateInput{Code: money.Standard, From: day, Rate: rate})
		return err
	}
	wants(t, set(today.AddDays(-1), 1500), "from")
	wants(t, set(workday.Must(2011, time.January, 4), 1500), "from")
	wants(t, set(workday.Day{}, 1500), "from")
	wants(t, set(today.AddDays(6*366), 1500), "from")
	wants(t, set(today.AddDays(1), -1), "rate")
	wants(t, set(today.AddDays(1), 10_001), "rate")
	// Today's may be added once, since the news may come late, and stays.
	if err := set(today, 1900); err != nil {
		t.Fatal(err)
	}
	wants(t, set(today, 1800), "from")
	if err := s.RemoveVATRate(t.Context(), owner, money.Standard, today); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("took today's back: %v", err)
	}
	// What has not begun may be replaced and taken back.
	for _, rate := range []money.Rate{2100, 2200} {
		if err := set(today.AddDays(1), rate); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.RemoveVATRate(t.Context(), owner, money.Standard, today.AddDays(1)); err != nil {
		t.Fatal(err)
	}
	if err := s.RemoveVATRate(t.Context(), owner, money.Standard, today.AddDays(1)); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("took it back twice: %v", err)
	}
	if err := s.RemoveVATRate(t.Context(), owner, "x\x00", today); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("%v", err)
	}
	got := must[[]garage.VATRate](t)(garage.VATHistory(t.Context(), db.Pool))
	if len(got) != 5 || got[0] != (garage.VATRate{Code: money.Standard, From: today, Rate: 1900}) || got[1].Rate != 2000 {
		t.Errorf("%v", got)
	}
	if !got[0].Settled(today) || got[0].Settled(today.AddDays(-1)) {
		t.Error("a rate is settled from its first day")
	}
}

func TestTheRatesThatAreNoneCannotBeGivenOne(t *testing.T) {
	s, _ := service(t)
	must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	for _, code := range []money.VATCode{money.Zero, money.Outside, "", "extra"} {
		_, err := s.SetVATRate(t.Context(), owner, garage.VATRateInput{Code: code, From: workday.Must(2027, 1, 1), Rate: 100})
		wants(t, err, "code")
	}
}

// At 23:30 UTC on 5 October the garage's day, an hour ahead, is the 6th.
func TestTheFirstDayOfARateIsADayOfTheGarage(t *testing.T) {
	s, db := service(t)
	must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	db.Now = func() time.Time { return time.Date(2026, 10, 5, 23, 30, 0, 0, time.UTC) }
	_, err := s.SetVATRate(t.Context(), owner, garage.VATRateInput{Code: money.Standard, From: workday.Must(2026, 10, 5), Rate: 100})
	wants(t, err, "from")
}
