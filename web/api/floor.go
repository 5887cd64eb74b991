package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/floor"
	"rampside/internal/jobcard"
)

// Floor is what there is to do now, as planned for whoever asks.
type Floor struct {
	Now       Time        `json:"now"`
	In        bool        `json:"in" doc:"Whether you are signed in to work."`
	Mine      *FloorItem  `json:"mine,omitempty" doc:"What you are on now."`
	Forgotten bool        `json:"forgotten" doc:"It was begun before the garage closed last."`
	Next      []FloorItem `json:"next" doc:"Agreed lines to be worked on, the next one first."`
	InHand    []FloorItem `json:"in_hand" doc:"Lines that others are on."`
	Waiting   []FloorItem `json:"waiting" doc:"Lines that wait for parts."`
	ToCheck   []FloorItem `json:"to_check" doc:"Lines that need a second person's check."`
	NotAgreed []FloorItem `json:"not_agreed" doc:"Lines that the customer has not answered for yet."`
	Deferred  []FloorItem `json:"deferred" doc:"Lines put off at this visit."`
	Staff     []Person    `json:"staff" doc:"The names behind the numbers of people."`
}

// FloorItem is a line in one of the lists. There is no money on it.
type FloorItem struct {
	LineID        jobcard.LineID    `json:"line_id"`
	CardID        jobcard.CardID    `json:"card_id"`
	Mark          string            `json:"mark"`
	Car           string            `json:"car"`
	PromisedAt    Time              `json:"promised_at,omitzero"`
	Title         string            `json:"title"`
	MustDo        bool              `json:"must_do"`
	WorkState     jobcard.WorkState `json:"work_state"`
	StateReason   string            `json:"state_reason,omitempty"`
	DecidedBy     string            `json:"decided_by,omitempty"`
	Consent       jobcard.Consent   `json:"consent"`
	LowMinutes    int64             `json:"low_minutes"`
	LikelyMinutes int64             `json:"likely_minutes"`
	HighMinutes   int64             `json:"high_minutes"`
	Safety        bool              `json:"safety"`
	WheelsOff     bool              `json:"wheels_off"`
	AssignedTo    actor.StaffID     `json:"assigned_to_id,omitempty"`
	DoneBy        actor.StaffID     `json:"done_by_id,omitempty"`
	Checked       bool              `json:"checked"`
	Parts         []FloorPart       `json:"parts"`
	Hands         []FloorHand       `json:"hands" doc:"Who has worked on it."`
	Blocked       string            `json:"blocked,omitempty" doc:"What stood in the way last."`
	Why           []string          `json:"why" doc:"What put it where it stands, in words."`
	Hindrances    []string          `json:"hindrances" doc:"What keeps it from being worked on, in words."`
	Looks         []string          `json:"looks" doc:"What to look at before starting, in words."`
	OutOfTurn     bool              `json:"out_of_turn" doc:"A line before it is not finished: nobody can clock on to it."`
	Cautions      []caution.Key     `json:"cautions"`
	Unread        []caution.Key     `json:"unread_cautions" doc:"Those you have still to read."`
	OwnWork       bool              `json:"own_work" doc:"You had a hand in it, and cannot be the one who checks it."`
}

// FloorPart is a part of a line.
type FloorPart struct {
	ID      jobcard.PartID  `json:"id"`
	Name    string          `json:"name"`
	Supply  jobcard.Supply  `json:"supply"`
	Verdict jobcard.Verdict `json:"verdict"`
	DueAt   Time            `json:"due_at,omitzero"`
}

// FloorHand is somebody who has worked on a line.
type FloorHand struct {
	StaffID actor.StaffID `json:"staff_id"`
	Worked  int64         `json:"worked_seconds"`
	Since   Time          `json:"since,omitzero" doc:"When they began, if they are on it now."`
}

func itemOf(i floor.Item) FloorItem {
	return FloorItem{
		LineID: i.ID, CardID: i.CardID, Mark: i.Car.Mark, Car: i.Car.Name, PromisedAt: at(i.Car.PromisedAt), Title: i.Title, MustDo: i.MustDo,
		WorkState: i.WorkState, StateReason: i.StateReason, DecidedBy: i.DecidedBy, Consent: i.Consent, LowMinutes: minutes(i.Estimate.Low),
		LikelyMinutes: minutes(i.Estimate.Likely), HighMinutes: minutes(i.Estimate.High), Safety: i.Safety, WheelsOff: i.WheelsOff,
		AssignedTo: i.AssignedTo, DoneBy: i.DoneBy, Checked: i.Checked, Blocked: i.Blocked, Why: list(i.Why, same),
		Hindrances: list(i.Hindrances, same), Looks: list(i.Looks, same), OutOfTurn: i.OutOfTurn, Cautions: list(i.Cautions, same),
		Unread: list(i.Unread, same), OwnWork: i.OwnWork,
		Parts: list(i.Parts, func(p floor.Part) FloorPart { return FloorPart{p.ID, p.Name, p.Supply, p.Verdict, at(p.DueAt)} }),
		Hands: list(i.Hands, func(h floor.Hand) FloorHand { return FloorHand{h.StaffID, seconds(h.Worked), at(h.Since)} }),
	}
}

func (a *API) floorOperation() {
	register(a, operation{
		method: http.MethodGet, path: "/floor", id: "get-floor", need: actor.ReadCards, tag: "Work",
		short: "What there is to do now, what is next, and why",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Floor, error) {
		p, err := a.Floor.Plan(ctx, who)
		if err != nil {
			return Floor{}, err
		}
		out := Floor{
			Now: at(p.Now), In: p.In, Forgotten: p.Forgotten, Next: list(p.Next, itemOf), InHand: list(p.InHand, itemOf),
			Waiting: list(p.Waiting, itemOf), ToCheck: list(p.ToCheck, itemOf), NotAgreed: list(p.NotAgreed, itemOf),
			Deferred: list(p.Deferred, itemOf), Staff: peopleOf(p.Staff),
		}
		if p.Mine != nil {
			out.Mine = ptr(itemOf(*p.Mine))
		}
		return out, nil
	})
}
