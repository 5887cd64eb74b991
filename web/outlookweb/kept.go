package outlookweb

import (
	"fmt"
	"net/http"
	"strconv"

	"rampside/internal/forecast/score"
	"rampside/internal/outlook"
	"rampside/internal/workday"
	"rampside/web/ui"
)

type keptView struct {
	Head, Early, Basis string
	Bins               []binRow
	Plot               *plotView
	Cover              []coverRow
	Scores             []scoreRow
	Verdict            []string
	Level              string
	Last               []lastRow
}

type binRow struct{ Said, Was, Of, Between string }

type coverRow struct{ Said, Was, Of, Between, Raw string }

type scoreRow struct{ What, Score, Words string }

type lastRow struct{ Path, Mark, Said, Promised, Was string }

// plotView is the picture of said against was: a square, and a mark for each
// bin with its doubt.
type plotView struct {
	Label string
	Marks []plotMark
}

type plotMark struct{ X, Y, R, Low, High string }

func (p pages) kept(w http.ResponseWriter, r *http.Request) error {
	k, err := p.looks.Kept(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	page := p.kit.Page(r, "How good earlier forecasts were", Path)
	page.Wide = true
	return p.kit.Render(w, r, http.StatusOK, keptPage(page, newKeptView(k)))
}

func percent(x float64) string { return strconv.FormatFloat(x*100, 'f', 0, 64) + " in 100" }

func newKeptView(k outlook.Kept) *keptView {
	v := &keptView{Level: fmt.Sprintf("Promises that are offered as safe are made at %s, moved by what became of the earlier ones so that in the long run nine in ten are kept.", percent(k.Level))}
	if k.N == 0 {
		v.Head = "No forecast has an outcome yet: the first ones have when their cars are collected."
		if k.Open > 0 {
			v.Basis = fmt.Sprintf("%d cars have been forecast and are not collected yet.", k.Open)
		}
		return v
	}
	v.Head = fmt.Sprintf("What was said of %d cars first on their day, against what became of them: %s of the promises were kept.", k.N, percent(k.Rate))
	v.Basis = fmt.Sprintf("From %s to %s. A promise counts as it stood when the forecast was made; kept is that the car was ready by then.", k.First.Long(), k.Last.Long())
	if k.Early {
		v.Early = fmt.Sprintf("It is too early to trust these figures: %d cars are too few to tell a good forecast from a lucky one. From thirty on they begin to say something.", k.N)
	}
	v.Plot = &plotView{Label: "What was said against how often it came about"}
	for _, b := range k.Bins {
		if b.N == 0 {
			continue
		}
		low, high := b.Interval()
		v.Bins = append(v.Bins, binRow{percent(b.Said), percent(b.Share()), ui.Itoa(int64(b.N)), percent(low) + " to " + percent(high)})
		v.Plot.Marks = append(v.Plot.Marks, plotMark{at(b.Said), at(1 - b.Share()), strconv.FormatFloat(min(2+float64(b.N)/float64(k.N)*12, 7), 'f', 1, 64), at(1 - low), at(1 - high)})
	}
	for _, c := range k.Cover {
		low, high := c.Interval()
		v.Cover = append(v.Cover, coverRow{percent(c.Level), percent(c.Share()), ui.Itoa(int64(c.N)), percent(low) + " to " + percent(high), percent(c.Uncorrected.Share())})
	}
	v.Scores = []scoreRow{
		{"What was shown", four(k.Brier), ""},
		{"The same before it was corrected", four(k.Raw), ""},
		{"The hours added up, shared among those at work", four(k.Added), "says yes or no, never perhaps"},
		{"The plan with a bell curve around it", four(k.Normal), "the planning method with three estimates"},
		{"Always saying how often promises are kept", four(k.Always), "knows nothing of the day"},
	}
	v.Verdict = []string{better("adding up the hours", k.BetterAdded), better("the bell curve", k.BetterNormal)}
	loc := k.Garage.Location()
	for _, c := range k.Last20 {
		row := lastRow{Path: "/cards/" + ui.Itoa(c.Card), Mark: c.Mark, Said: outlook.InTwenty(outlook.Twentieths(c.Chance)) + ", said on " + workday.Of(c.Made, loc).Short(),
			Promised: workday.FormatClock(workday.ClockOf(c.Promised, loc)), Was: "kept"}
		if !c.Kept {
			row.Was = "late: " + workday.Of(c.Finished, loc).Short() + " " + workday.FormatClock(workday.ClockOf(c.Finished, loc))
		}
		v.Last = append(v.Last, row)
	}
	return v
}

func four(x float64) string { return strconv.FormatFloat(x, 'f', 4, 64) }

// at is a place in the square of 100 with a border of 10.
func at(share float64) string { return strconv.FormatFloat(10+share*100, 'f', 1, 64) }

// better says whether the forecast beats another way, and claims nothing below
// the doubt there is.
func better(than string, d score.Difference) string {
	switch {
	case d.Sure(2) && d.Mean > 0:
		return "It did better than " + than + ", by more than chance would explain."
	case d.Sure(2):
		return "It did worse than " + than + ", by more than chance would explain: do not go by it."
	}
	return "It cannot be told from " + than + " yet."
}
