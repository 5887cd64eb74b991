package backtest

import (
	"rampside/internal/forecast"
	"rampside/internal/forecast/learn"
)

// finds is what a garage has counted: of each operation that looks for things
// how often it found any, and of all that was found how often the customer
// agreed.
type finds map[string]learn.Counts

// agreed is where the answers are counted; no operation has that name.
const agreed = ""

func (f finds) count(key string, yes bool) {
	c := f[key]
	c.Of++
	if yes {
		c.Yes++
	}
	f[key] = c
}

// add counts a day that is over.
func (f finds) add(d Day, t truth) {
	for _, car := range d.Known.Cars {
		for _, l := range car.Lines {
			if l.Finds == nil {
				continue
			}
			a := t.lines[l.ID]
			f.count(l.Operation, a.Asked > 0)
			if a.Asked > 0 {
				f.count(agreed, a.Found > 0)
			}
		}
	}
}

func (f finds) join(other finds) {
	for key, c := range other {
		f[key] = learn.Counts{Yes: f[key].Yes + c.Yes, Of: f[key].Of + c.Of}
	}
}

// tell gives the day with what was counted put in.
func (f finds) tell(d forecast.Day) forecast.Day {
	d = d.Clone()
	yes := learn.AgreedChance(f[agreed])
	for _, car := range d.Cars {
		for k := range car.Lines {
			l := &car.Lines[k]
			if l.Finds != nil {
				x := *l.Finds
				x.Chance, x.Agreed = learn.FoundChance(f[l.Operation]), yes
				l.Finds = &x
			}
			if l.Asked != nil {
				x := *l.Asked
				x.Agreed = yes
				l.Asked = &x
			}
		}
	}
	return d
}
