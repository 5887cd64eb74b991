package dayendweb

import (
	"strings"

	"rampside/internal/dayend"
	"rampside/internal/jobcard"
)

// carView is what became of one car.
type carView struct {
	Mark, Path, Plate, Car, Customer, Words string
	Lists                                   []outcomeList
}

type outcomeList struct {
	Head  string
	Lines []string
}

func (p pen) car(c dayend.CardResult) carView {
	v := carView{Mark: string(c.Stage), Path: cardPath(c.ID), Plate: c.Mark, Car: c.Car, Customer: c.Customer}
	switch c.Standing {
	case dayend.Collected:
		v.Mark, v.Words = string(jobcard.Collected), "went home "+p.clock(c.Since)
	case dayend.Ready:
		v.Mark, v.Words = string(jobcard.Ready), "ready since "+p.clock(c.Since)
	case dayend.StillHere:
		v.Words = "carried over: here since " + p.clock(c.Since)
		if c.Stage == jobcard.Ready || c.Stage == jobcard.Collected {
			v.Mark = string(jobcard.InWork) // as it was then
		}
	case dayend.DidNotCome:
		v.Words = "booked, and did not come"
	default:
		v.Words = "had gone home before"
	}
	add := func(head string, list []dayend.Outcome, words func(dayend.Outcome) string) {
		l := outcomeList{Head: head}
		for _, o := range list {
			l.Lines = append(l.Lines, words(o))
		}
		if len(l.Lines) > 0 {
			v.Lists = append(v.Lists, l)
		}
	}
	add("Done", c.Done, func(o dayend.Outcome) string { return o.Title + ", " + p.clock(o.At) })
	add("Deferred", c.Deferred, func(o dayend.Outcome) string { return o.Title + ": " + o.Why + ". Decided by " + o.By + "." })
	add("Declined", c.Declined, func(o dayend.Outcome) string { return o.Title + ": declined by " + orSomebody(o.By) })
	add("Waiting on parts", c.Waiting, func(o dayend.Outcome) string { return o.Title + ": " + o.Why + p.due(o.Parts) })
	add("Left to do", c.Left, func(o dayend.Outcome) string {
		if !o.At.IsZero() {
			return o.Title + ", done " + p.clock(o.At)
		}
		return o.Title + p.due(o.Parts)
	})
	return v
}

func orSomebody(name string) string {
	if name == "" {
		return "the customer"
	}
	return name
}

// due writes the parts that a line waits for.
func (p pen) due(parts []dayend.Due) string {
	var out []string
	for _, d := range parts {
		words := d.Name
		if d.Own {
			words = "the customer's own " + d.Name
		} else if d.Supplier != "" {
			words += " from " + d.Supplier
		}
		switch {
		case d.Late:
			words += ", was due " + p.clock(d.DueAt) + ": late"
		case !d.DueAt.IsZero():
			words += ", due " + p.clock(d.DueAt)
		case d.Supply == jobcard.Needed && !d.Own:
			words += ", not ordered yet"
		default:
			words += ", no day given"
		}
		out = append(out, words)
	}
	if len(out) == 0 {
		return ""
	}
	return " (" + strings.Join(out, "; ") + ")"
}
