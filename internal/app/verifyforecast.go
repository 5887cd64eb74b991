package app

import (
	"errors"
	"fmt"
	"io"
	"math"
	"text/tabwriter"
	"time"

	"rampside/internal/forecast/backtest"
	"rampside/internal/forecast/law"
)

// ForecastTrial is what `rampside verify forecast` is told.
type ForecastTrial struct {
	Garages, Days int
	Seed          uint64
	// Men are the technicians of each garage; 0 is for three to five.
	Men int
	// Draws by which the oracle says how well it could be said at all.
	Draws int
}

// learned are how many working days each garage has worked before: none, one
// month, three and twelve.
var learned = []int{0, 21, 63, 250}

// opensFor is how many hours after opening forecasts are made again.
const opensFor = 8

// void is how far the oracle's 90 in 100 may be out, in hundredths, before the
// trial says nothing; and enoughCars from how many cars on that can be told.
const (
	void       = 0.01
	enoughCars = 2500
)

// played is how many days each forecast of the trial plays: fewer than the
// outlook does, to end within minutes. Twice as many moved the skill by .002 and
// what was covered by up to .006 on 734 cars.
var played = law.Points{N: 509, Factor: 35}

// VerifyForecast tries the forecast on garages that are made up, and prints how
// good it was. It needs no database. Progress goes to errOut.
func VerifyForecast(in ForecastTrial, out, errOut io.Writer) error {
	if in.Garages < 1 || in.Garages > 200 || in.Days < 1 || in.Days > 1000 || in.Draws < 20 || in.Draws > 10000 || in.Men < 0 || in.Men > 20 {
		return errors.New("garages are 1 to 200, days 1 to 1000, men 1 to 20 and draws 20 to 10000")
	}
	t := backtest.Trial{Men: in.Men, Learn: learned, Score: in.Days, Points: played, Oracle: in.Draws}
	for k := range in.Garages {
		t.Seeds = append(t.Seeds, in.Seed+uint64(k))
	}
	for h := range opensFor {
		t.Hours = append(t.Hours, float64(h+1))
	}
	start := time.Now()
	t.Progress = func(done, of int) {
		if step := max(of/10, 1); done%step == 0 {
			fmt.Fprintf(errOut, "%d of %d days, %s\n", done, of, time.Since(start).Round(time.Second))
		}
	}
	results, err := backtest.Run(t)
	if err != nil {
		return err
	}
	return printTrial(in, results, out)
}

func printTrial(in ForecastTrial, results []backtest.Result, out io.Writer) error {
	opening := &results[0].Opening
	fmt.Fprintf(out, "Garages: %d, from seed %d; days of each: %d; cars at opening: %d; forecasts of cars at the %d hours after: %d.\n", in.Garages, in.Seed, in.Days, opening.Cars, opensFor, results[0].Hourly.Cars)
	fmt.Fprintf(out, "All of them are made up, and go by other laws than the forecast's. The oracle knows those laws.\n")
	fmt.Fprintf(out, "Scored are cars that are not done; the skill is of those whose promise is still to come.\n\n")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "learned\t\tBrier\tskill\tof the oracle's\t95 in 100 within\t50\t80\t90\traw 50\t80\t90\t\n")
	for i := range results {
		r := &results[i]
		for when, s := range []*backtest.Scored{&r.Opening, &r.Hourly} {
			share, low, high := s.Share(&s.Corrected)
			fmt.Fprintf(w, "%d days\t%s\t%.4f\t%.3f\t%.3f\t%.3f to %.3f\t%s\t%s\t\n", r.Learned, []string{"opening", "hourly"}[when], s.Corrected.Brier(), s.Corrected.Skill(), share, low, high, covers(&s.Corrected), covers(&s.Raw))
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nBeside it:\n")
	w = tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "\t\tBrier\tskill\t50\t80\t90\t\n")
	for when, s := range []*backtest.Scored{opening, &results[0].Hourly} {
		name := []string{"opening", "hourly"}[when]
		fmt.Fprintf(w, "oracle\t%s\t%.4f\t%.3f\t%s\t\n", name, s.Oracle.Brier(), s.Oracle.Skill(), covers(&s.Oracle))
		fmt.Fprintf(w, "hours added up\t%s\t%.4f\t%.3f\t\t\t\t\n", name, s.Added.Brier(), s.Added.Skill())
		fmt.Fprintf(w, "normal\t%s\t%.4f\t%.3f\t\t\t\t\n", name, s.Normal.Brier(), s.Normal.Skill())
	}
	for i := range results {
		if r := &results[i]; r.Learned > 0 {
			fmt.Fprintf(w, "plan, made a chance by %d days\topening\t%.4f\t%.3f\t\t\t\t\n", r.Learned, r.Opening.Plan.Brier(), r.Opening.Plan.Skill())
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return judge(opening, out)
}

// covers is how often it was done by what was said to hold 50, 80 and 90 times
// in 100.
func covers(s *backtest.Scores) string {
	return fmt.Sprintf("%.3f\t%.3f\t%.3f", s.Covers(0.5).Share(), s.Covers(0.8).Share(), s.Covers(0.9).Share())
}

// judge says whether the trial counts: an oracle that does not keep what it
// says shows that the trial is wrong, or too small.
func judge(s *backtest.Scored, out io.Writer) error {
	got, doubt := s.Oracle.Covers(0.9).Share(), s.Error(&s.Oracle, 0.9)
	switch off := math.Abs(got - 0.9); {
	case s.Cars < enoughCars:
		fmt.Fprintf(out, "\nOnly %d cars: from %d on it can be told whether the trial counts.\n", s.Cars, enoughCars)
	case off > void && off > 2*doubt:
		return fmt.Errorf("the trial is void: the oracle's 90 in 100 held %.1f in 100 (give or take %.1f)", 100*got, 100*doubt)
	default:
		fmt.Fprintf(out, "\nThe trial counts: the oracle's 90 in 100 held %.1f in 100 (give or take %.1f).\n", 100*got, 100*doubt)
	}
	return nil
}
