package api

import (
	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// Line is one labour operation on a card.
type Line struct {
	ID            jobcard.LineID      `json:"id"`
	CardID        jobcard.CardID      `json:"card_id"`
	Position      int                 `json:"position"`
	OperationID   garage.OperationID  `json:"operation_id,omitempty"`
	Title         string              `json:"title"`
	MustDo        bool                `json:"must_do" doc:"Else it is done if there is time."`
	WorkState     jobcard.WorkState   `json:"work_state"`
	StateReason   string              `json:"state_reason,omitempty" doc:"Why it is deferred or waiting."`
	DecidedBy     string              `json:"decided_by,omitempty" doc:"Who decided to defer it."`
	Consent       jobcard.Consent     `json:"consent"`
	LabourTypeID  garage.LabourTypeID `json:"labour_type_id"`
	LabourName    string              `json:"labour_name"`
	Rate          *money.Minor        `json:"rate_minor,omitempty" doc:"Net, an hour."`
	LowMinutes    int64               `json:"low_minutes"`
	LikelyMinutes int64               `json:"likely_minutes"`
	HighMinutes   int64               `json:"high_minutes"`
	FixedPrice    *money.Minor        `json:"fixed_price_minor,omitempty" doc:"Net, instead of hours times rate."`
	VATCode       money.VATCode       `json:"vat_code"`
	AgreedMinutes *int64              `json:"agreed_minutes,omitempty" doc:"The time that was agreed to."`
	AgreedNet     *money.Minor        `json:"agreed_net_minor,omitempty" doc:"What was agreed to, labour and parts together."`
	Cautions      []caution.Key       `json:"cautions" doc:"Those of the work itself."`
	Safety        bool                `json:"safety" doc:"Needs a second person's check before the card can be ready."`
	WheelsOff     bool                `json:"wheels_off"`
	Inspects      bool                `json:"inspects"`
	AssignedTo    actor.StaffID       `json:"assigned_to_id,omitempty"`
	CarriedFrom   jobcard.LineID      `json:"carried_from_line_id,omitempty" doc:"The line of an earlier visit that it takes up."`
	FoundOn       jobcard.LineID      `json:"found_on_line_id,omitempty" doc:"The line during which it was found."`
	DoneAt        Time                `json:"done_at,omitzero"`
	DoneBy        actor.StaffID       `json:"done_by_id,omitempty"`
	StrippedAt    Time                `json:"stripped_at,omitzero" doc:"When the old parts came off."`
	StruckAt      Time                `json:"struck_at,omitzero"`
	StruckWhy     string              `json:"struck_reason,omitempty"`
	Note          string              `json:"note,omitempty"`
	UpTo          *money.Minor        `json:"up_to_minor,omitempty" doc:"The customer's limit for the line, with VAT."`
	AheadWhy      string              `json:"go_ahead_reason,omitempty" doc:"Why it may be worked on though the customer has not agreed."`
	AheadBy       actor.StaffID       `json:"go_ahead_by_id,omitempty"`
	Version       int                 `json:"version"`
}

// lineOf shows a line; costs says whether its money may be seen.
func lineOf(l jobcard.Line, costs bool) Line {
	out := Line{
		ID: l.ID, CardID: l.CardID, Position: l.Position, OperationID: l.OperationID, Title: l.Title, MustDo: l.MustDo, WorkState: l.WorkState,
		StateReason: l.StateReason, DecidedBy: l.DecidedBy, Consent: l.Consent, LabourTypeID: l.LabourType, LabourName: l.LabourName,
		Rate: onlyIf(costs, l.Rate), LowMinutes: minutes(l.Estimate.Low), LikelyMinutes: minutes(l.Estimate.Likely),
		HighMinutes: minutes(l.Estimate.High), VATCode: l.VATCode, Cautions: list(l.Cautions, same), Safety: l.Safety, WheelsOff: l.WheelsOff,
		Inspects: l.Inspects, AssignedTo: l.AssignedTo, CarriedFrom: l.CarriedFrom, FoundOn: l.FoundOn, DoneAt: at(l.DoneAt), DoneBy: l.DoneBy,
		StrippedAt: at(l.StrippedAt), StruckAt: at(l.StruckAt), StruckWhy: l.StruckWhy, Note: l.Note, AheadWhy: l.AheadWhy, AheadBy: l.AheadBy, Version: l.Version,
	}
	if costs {
		out.FixedPrice, out.AgreedNet, out.UpTo = l.FixedPrice, l.AgreedNet, l.UpTo
	}
	if l.AgreedTime != nil {
		out.AgreedMinutes = ptr(minutes(*l.AgreedTime))
	}
	return out
}

// SheetLine is a line with what hangs on it.
type SheetLine struct {
	Line
	After       []jobcard.LineID `json:"after_ids" doc:"Lines that must be done before it."`
	AllCautions []caution.Key    `json:"all_cautions" doc:"Those of the work and of the car."`
	Hindrances  []string         `json:"hindrances" doc:"What keeps it from being worked on now, in words."`
	Worked      int64            `json:"worked_seconds" doc:"Put into it so far."`
	On          []actor.StaffID  `json:"on_ids" doc:"Who is clocked on to it now."`
	Hands       []actor.StaffID  `json:"hand_ids" doc:"Who ever was."`
	Check       *LineCheck       `json:"check,omitempty" doc:"The second person's check."`
	Price       *LinePrice       `json:"price,omitempty"`
}

// LineCheck is the second person's check of a line.
type LineCheck struct {
	By       actor.StaffID `json:"by_id"`
	TorqueNm float64       `json:"torque_nm,omitempty"`
	Note     string        `json:"note,omitempty"`
	At       Time          `json:"at"`
}

func sheetLineOf(s *jobcard.Sheet, l jobcard.Line) SheetLine {
	clocked := s.Clocked[l.ID]
	out := SheetLine{
		Line: lineOf(l, s.Costs), After: list(s.After[l.ID], same), AllCautions: list(s.CautionsOf(l), same),
		Hindrances: list(s.Hindrances(l), same), Worked: seconds(clocked.Worked), On: list(clocked.On, same), Hands: list(clocked.Hands, same),
	}
	if k, ok := s.Checks[l.ID]; ok {
		out.Check = &LineCheck{k.By, k.TorqueNm, k.Note, at(k.At)}
	}
	if p, ok := s.Quote.ByLine[l.ID]; ok && s.Costs {
		out.Price = &LinePrice{p.Labour, p.Parts, p.Fees, p.Exchange, p.Change, p.Net()}
	}
	return out
}
