package floor

import (
	"cmp"
	"slices"
	"time"

	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
)

// Plan is the floor as it is shown to one technician.
type Plan struct {
	Snapshot
	// Mine is what the technician is on now; nil when that is nothing.
	Mine *Item
	// Forgotten says that it was begun before the garage closed last.
	Forgotten bool
	// Next are the lines to be worked on that are agreed or go ahead without, the next one first.
	Next []Item
	// InHand are the lines that others are on.
	InHand []Item
	// Waiting are the lines that wait for parts.
	Waiting []Item
	// ToCheck are the lines that are done and need a second person's check.
	ToCheck []Item
	// NotAgreed are the lines that the customer has not answered for yet, but
	// for those that the desk lets go ahead.
	NotAgreed []Item
	// Deferred are the lines put off at this visit.
	Deferred []Item
}

// Item is a line in one of the lists.
type Item struct {
	Line
	Car Car
	// Why says in words what put the line where it stands.
	Why []string
	// Hindrances say what keeps it from being worked on; none when nothing
	// does.
	Hindrances []string
	// Looks say what to look at before starting.
	Looks []string
	// OutOfTurn says that a line before it is not finished, so that it cannot
	// be clocked on to.
	OutOfTurn bool
	// Holds are the parts that keep the gate closed: the line is worked on up
	// to strip-down and no further, or not at all when it is stripped already.
	Holds []jobcard.Hold
	// Unread are the cautions that this technician has still to read.
	Unread []caution.Key
	// OwnWork says that the technician had a hand in it, and so cannot be the
	// one who checks it.
	OwnWork bool
}

// Stopped tells whether the line cannot be clocked on to at all: its turn has
// not come, the customer has not said yes, or it is stripped down with a part that nobody found to fit.
func (it Item) Stopped() bool {
	return it.OutOfTurn || it.Unagreed() || it.Stripped && len(it.Holds) > 0
}

// Make works the plan out. The same snapshot gives the same plan.
func Make(s Snapshot) Plan {
	p := Plan{Snapshot: s}
	x := newIndex(s)
	for _, l := range s.Lines {
		it := x.item(l)
		_, mine := l.hand(s.Me)
		on := l.On()
		switch {
		case l.needsCheck():
			it.OwnWork = mine || l.DoneBy == s.Me
			p.ToCheck = append(p.ToCheck, it)
		case l.WorkState == jobcard.Deferred:
			p.Deferred = append(p.Deferred, it)
		case l.settled():
		case slices.ContainsFunc(on, func(h Hand) bool { return h.StaffID == s.Me }):
			p.Mine = &it
		case len(on) > 0:
			p.InHand = append(p.InHand, it)
		case l.WorkState == jobcard.Waiting:
			p.Waiting = append(p.Waiting, it)
		case l.Unagreed():
			p.NotAgreed = append(p.NotAgreed, it)
		default:
			p.Next = append(p.Next, it)
		}
	}
	if p.Mine != nil {
		h, _ := p.Mine.hand(s.Me)
		p.Forgotten = clocking.Forgot(s.Garage, h.Since, s.Now)
	}
	for _, list := range [][]Item{p.Next, p.NotAgreed} {
		slices.SortFunc(list, s.turn)
	}
	for _, list := range [][]Item{p.InHand, p.Waiting, p.ToCheck, p.Deferred} {
		slices.SortFunc(list, byPromise)
	}
	return p
}

// turn orders what may be worked on next, as the package says.
func (s Snapshot) turn(a, b Item) int {
	_, aBegun := a.hand(s.Me)
	_, bBegun := b.hand(s.Me)
	return cmp.Or(
		first(len(a.Hindrances) == 0, len(b.Hindrances) == 0),
		first(a.MustDo, b.MustDo),
		first(aBegun, bBegun),
		first(a.AssignedTo == 0 || a.AssignedTo == s.Me, b.AssignedTo == 0 || b.AssignedTo == s.Me),
		placed(a.Car.Place, b.Car.Place),
		sooner(a.Car.PromisedAt, b.Car.PromisedAt),
		first(a.AssignedTo == s.Me, b.AssignedTo == s.Me),
		byCard(a, b),
	)
}

func byPromise(a, b Item) int {
	return cmp.Or(sooner(a.Car.PromisedAt, b.Car.PromisedAt), byCard(a, b))
}

func byCard(a, b Item) int {
	return cmp.Or(cmp.Compare(a.CardID, b.CardID), cmp.Compare(a.Position, b.Position), cmp.Compare(a.ID, b.ID))
}

// first puts what is true before what is not.
func first(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// placed puts the lower place first, and cars that have none last.
func placed(a, b int) int {
	return cmp.Or(first(a != 0, b != 0), cmp.Compare(a, b))
}

// sooner puts the earlier promise first, and none at all last.
func sooner(a, b time.Time) int {
	if a.IsZero() || b.IsZero() {
		return first(!a.IsZero(), !b.IsZero())
	}
	return a.Compare(b)
}
