package diary

import (
	"fmt"
	"strings"
	"time"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// WaitFor is whom or what a card waits for.
type WaitFor string

// What a card may wait for. Nothing is said where it can go on.
const (
	ForCar      WaitFor = "car"
	ForAnswer   WaitFor = "answer"
	ForParts    WaitFor = "parts"
	ForCheck    WaitFor = "check"
	ForWord     WaitFor = "word" // somebody to say that it is ready
	ForCustomer WaitFor = "customer"
	ForNothing  WaitFor = "nothing"
)

// Wait is one thing that a card waits for, in words.
type Wait struct {
	For   WaitFor
	Words string
	// Late says that it should have been there by now, or comes after the
	// promise.
	Late bool
}

// waits says what a card waits for; nothing for one that is over.
func (l *loaded) waits(b Booking, set garage.Settings, now time.Time) []Wait {
	if !b.Stage.Live() {
		return nil
	}
	if b.Stage == jobcard.Ready {
		return []Wait{{For: ForCustomer, Words: "the customer, to collect it"}}
	}
	var out []Wait
	if b.Stage == jobcard.Booked {
		if w, ok := waitForCar(b, set, now); ok {
			out = append(out, w)
		}
	}
	out = append(out, l.answers(b)...)
	for _, p := range l.parts[b.Card] {
		out = append(out, waitForPart(p, b, set, now))
	}
	out = append(out, l.checks(b)...)
	if len(out) > 0 {
		return out
	}
	return []Wait{l.nothing(b)}
}

func waitForCar(b Booking, set garage.Settings, now time.Time) (Wait, bool) {
	today := set.Today(now)
	switch {
	case b.BookedFor.Before(today):
		return Wait{ForCar, "the car: it did not come on " + b.BookedFor.Short(), true}, true
	case b.BookedFor.After(today):
		return Wait{}, false
	case !b.ArrivesAt.IsZero() && b.ArrivesAt.Before(now):
		return Wait{ForCar, "the car: not here yet, it was to come " + at(b.ArrivesAt, today, set), true}, true
	}
	return Wait{ForCar, "the car: not here yet", false}, true
}

func (l *loaded) answers(b Booking) []Wait {
	n := 0
	for _, x := range l.lines[b.Card] {
		if x.consent == jobcard.Asked && x.state != jobcard.Deferred {
			n++
		}
	}
	if n == 0 {
		return nil
	}
	return []Wait{{For: ForAnswer, Words: "the customer's answer to " + count(n, "line")}}
}

func waitForPart(p part, b Booking, set garage.Settings, now time.Time) Wait {
	today := set.Today(now)
	w := Wait{For: ForParts, Words: p.name}
	if p.own {
		w.Words = "the customer's own " + p.name
	}
	switch {
	case p.dueAt.IsZero() && p.supply == jobcard.Ordered:
		w.Words += ", ordered, no day given"
	case p.dueAt.IsZero() && p.own:
		w.Words += ", to be brought"
	case p.dueAt.IsZero():
		w.Words += ", not ordered yet"
	case p.dueAt.Before(now):
		w.Words += ", was due " + at(p.dueAt, today, set) + ": late"
		w.Late = true
	case !b.PromisedAt.IsZero() && p.dueAt.After(b.PromisedAt):
		w.Words += ", due " + at(p.dueAt, today, set) + ": after the promise"
		w.Late = true
	default:
		w.Words += ", due " + at(p.dueAt, today, set)
	}
	if p.supply == jobcard.Needed && !p.dueAt.IsZero() && !p.own {
		w.Words += ", not ordered yet"
	}
	return w
}

func (l *loaded) checks(b Booking) []Wait {
	var titles []string
	for _, x := range l.lines[b.Card] {
		if x.counts() && x.state == jobcard.Done && x.unchecked {
			titles = append(titles, x.title)
		}
	}
	switch len(titles) {
	case 0:
		return nil
	case 1:
		return []Wait{{For: ForCheck, Words: "a second person's check of “" + titles[0] + "”"}}
	}
	return []Wait{{For: ForCheck, Words: "a second person's check of " + count(len(titles), "line")}}
}

// nothing says what happens to a card that waits for nothing.
func (l *loaded) nothing(b Booking) Wait {
	var on []string
	worked, left := false, 0
	for _, x := range l.lines[b.Card] {
		if !x.counts() {
			continue
		}
		if x.state != jobcard.Done {
			left++
		}
		for _, s := range l.stints[x.id] {
			worked = true
			if s.to.IsZero() {
				on = append(on, s.name+" is on “"+x.title+"”")
			}
		}
	}
	switch {
	case len(on) > 0:
		return Wait{For: ForNothing, Words: "nothing: " + strings.Join(on, ", ")}
	case b.Stage == jobcard.Booked:
		return Wait{For: ForNothing, Words: "nothing before its day"}
	case left == 0:
		return Wait{For: ForWord, Words: "somebody to say that it is ready"}
	case worked || b.Done > 0:
		return Wait{For: ForNothing, Words: "nothing: ready to go on"}
	}
	return Wait{For: ForNothing, Words: "nothing: ready to start"}
}

// at writes a time by the garage's clock, with its day when that is not today.
func at(t time.Time, today workday.Day, set garage.Settings) string {
	clock := workday.FormatClock(workday.ClockOf(t, set.Location()))
	if d := workday.Of(t, set.Location()); d != today {
		return d.Short() + " " + clock
	}
	return clock
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
