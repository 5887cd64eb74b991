package app

import (
	"bytes"
	"strings"
	"testing"
)

func TestTheForecastIsTriedFromTheCommandLineTheSameEachTime(t *testing.T) {
	in := ForecastTrial{Garages: 1, Days: 2, Seed: 7, Draws: 20}
	var first, second, progress bytes.Buffer
	for _, out := range []*bytes.Buffer{&first, &second} {
		if err := VerifyForecast(in, out, &progress); err != nil {
			t.Fatal(err)
		}
	}
	if first.String() != second.String() {
		t.Errorf("the same seed says\n%s\nand then\n%s", first.String(), second.String())
	}
	for _, want := range []string{
		"Garages: 1, from seed 7; days of each: 2;", "0 days  opening", "250 days   hourly", "of the oracle's", "hours added up", "normal", "plan, made a chance by 250 days",
		// So few cars cannot tell, and it does not say that they do.
		"from 2500 on it can be told whether the trial counts",
	} {
		if !strings.Contains(first.String(), want) {
			t.Errorf("it does not say %q:\n%s", want, first.String())
		}
	}
	if !strings.Contains(progress.String(), "2 of 2 days") {
		t.Errorf("of its progress it says %q", progress.String())
	}
	for _, bad := range []ForecastTrial{{0, 2, 1, 0, 20}, {1, 0, 1, 0, 20}, {1, 2, 1, 0, 5}, {1000, 2, 1, 0, 20}, {1, 2, 1, 50, 20}} {
		if err := VerifyForecast(bad, &first, &progress); err == nil {
			t.Errorf("%+v passes", bad)
		}
	}
}
