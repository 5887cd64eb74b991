// Package lateness keeps the record of how late somebody's deliveries are: as
// a distribution, since an average hides the part that never came.
package lateness

import (
	"cmp"
	"slices"
	"time"
)

// Delivery is one thing that was promised for a time.
type Delivery struct {
	// Late is how long after its time it came; below zero, how long before.
	Late time.Duration
	// Never says that it did not come at all; Late then means nothing.
	Never bool
}

// Fewest is how many deliveries tell something: below it a record has counts,
// and no quantiles. Five is a judgement: with fewer, one bad day is the record.
const Fewest = 5

// Record is what is known of somebody's deliveries.
type Record struct {
	// N is how many deliveries the record holds, those that never came too.
	N int
	// Came are how late those that came were, the earliest first.
	Came []time.Duration
	// Never is how many did not come.
	Never int
	// Day is how long a day is by the clock that Late is told by.
	Day time.Duration
}

// Make makes the record of some deliveries. day is how long a day is by the
// clock that their lateness is told by: 24 hours, or a garage's open hours.
func Make(day time.Duration, deliveries []Delivery) Record {
	r := Record{N: len(deliveries), Day: day}
	for _, d := range deliveries {
		if d.Never {
			r.Never++
		} else {
			r.Came = append(r.Came, d.Late)
		}
	}
	slices.Sort(r.Came)
	return r
}

// Count is how many deliveries were so late.
type Count struct {
	// Label is the class in words: on time, up to 1 h late …
	Label string
	N     int
}

// onTime is how much after its time still counts as on time: boxes are booked
// in to the minute.
const onTime = time.Minute

// Counts sorts the deliveries into classes, every class in its place also when
// it is empty; together they are N.
func (r Record) Counts() []Count {
	out := []Count{
		{Label: "on time"}, {Label: "up to 1 h late"}, {Label: "up to half a day late"}, {Label: "up to a day late"}, {Label: "later than that"},
		{Label: "never came", N: r.Never},
	}
	limits := []time.Duration{onTime - 1, time.Hour, r.Day / 2, r.Day}
	for _, late := range r.Came {
		i := slices.IndexFunc(limits, func(limit time.Duration) bool { return late <= limit })
		if i < 0 {
			i = len(limits)
		}
		out[i].N++
	}
	return out
}

// Quantile is how late a delivery is that so many in a hundred are not later than.
type Quantile struct {
	Percent int
	Late    time.Duration
	// Never says that so many did not come at all.
	Never bool
}

// Quantile gives the quantile at percent, between 1 and 99, and whether there
// are enough deliveries to tell it.
//
// It is definition 6 of R. J. Hyndman and Y. Fan, Sample Quantiles in
// Statistical Packages, The American Statistician 50 (1996) 361-365: between
// the kth and the next value, where k is percent of n + 1. By it the next
// delivery is as likely as said to be no later, whatever the distribution,
// which is what somebody who plans on it asks. Beyond the last value it is not
// known: nine in ten needs nine deliveries at least. What never came is later
// than all that came.
func (r Record) Quantile(percent int) (Quantile, bool) {
	q := Quantile{Percent: percent}
	if percent < 1 || percent > 99 || r.N < Fewest {
		return q, false
	}
	k, rest := (r.N+1)*percent/100, (r.N+1)*percent%100
	switch {
	case k < 1:
		k, rest = 1, 0
	case k > r.N || k == r.N && rest > 0:
		return q, false
	}
	if k > len(r.Came) || k == len(r.Came) && rest > 0 {
		q.Never = true
		return q, true
	}
	q.Late = r.Came[k-1]
	if rest > 0 {
		q.Late += (r.Came[k] - r.Came[k-1]) * time.Duration(rest) / 100
	}
	return q, true
}

// Usual are the quantiles that are shown: half, eight in ten, nine in ten.
var Usual = []int{50, 80, 90}

// Compare orders quantiles by how late they are.
func (q Quantile) Compare(o Quantile) int {
	switch {
	case q.Never && o.Never:
		return 0
	case q.Never:
		return 1
	case o.Never:
		return -1
	}
	return cmp.Compare(q.Late, o.Late)
}
