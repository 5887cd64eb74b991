package api

import (
	"rampside/internal/actor"
	"rampside/internal/dayend"
	"rampside/internal/jobcard"
)

// DayHours is how a day's hours were used. The ratios are the technicians'.
type DayHours struct {
	Technicians  []PersonHours `json:"technicians"`
	Others       []PersonHours `json:"others"`
	Sold         int64         `json:"sold_seconds"`
	Worked       int64         `json:"worked_seconds"`
	Attended     int64         `json:"attended_seconds"`
	Efficiency   Ratio         `json:"efficiency" doc:"Sold over worked."`
	Utilisation  Ratio         `json:"utilisation" doc:"Worked over attended."`
	Productivity Ratio         `json:"productivity" doc:"Sold over attended."`
	Nobody       int64         `json:"nobody_seconds" doc:"Sold by lines that nobody was clocked on to or ticked."`
}

// PersonHours is how one of the staff used the day.
type PersonHours struct {
	StaffID      actor.StaffID `json:"staff_id"`
	Name         string        `json:"name"`
	Role         actor.Role    `json:"role"`
	Sold         int64         `json:"sold_seconds"`
	Worked       int64         `json:"worked_seconds"`
	Attended     int64         `json:"attended_seconds" doc:"In, less breaks."`
	In           int64         `json:"in_seconds"`
	Break        int64         `json:"break_seconds"`
	Spells       []Span        `json:"spells"`
	Shares       []SoldShare   `json:"shares" doc:"Of the hours that lines sold."`
	Pieces       []WorkPiece   `json:"pieces"`
	Efficiency   Ratio         `json:"efficiency"`
	Utilisation  Ratio         `json:"utilisation"`
	Productivity Ratio         `json:"productivity"`
}

// SoldShare is one person's part of the hours that a line sold.
type SoldShare struct {
	CardID jobcard.CardID `json:"card_id"`
	Title  string         `json:"title"`
	Sold   int64          `json:"sold_seconds"`
	Of     int64          `json:"share_seconds"`
}

func dayHoursOf(h dayend.Hours) DayHours {
	return DayHours{
		Technicians: list(h.Technicians, personHoursOf), Others: list(h.Others, personHoursOf), Sold: seconds(h.Sold), Worked: seconds(h.Worked),
		Attended: seconds(h.Attended), Efficiency: ratioOf(h.Ratios.Efficiency), Utilisation: ratioOf(h.Ratios.Utilisation),
		Productivity: ratioOf(h.Ratios.Productivity), Nobody: seconds(h.Nobody),
	}
}

func personHoursOf(p dayend.PersonHours) PersonHours {
	return PersonHours{
		StaffID: p.StaffID, Name: p.Name, Role: p.Role, Sold: seconds(p.Sold), Worked: seconds(p.Worked), Attended: seconds(p.Attended),
		In: seconds(p.In), Break: seconds(p.Break), Spells: list(p.Spells, spanOf),
		Shares: list(p.Shares, func(s dayend.Share) SoldShare { return SoldShare{s.Card, s.Title, seconds(s.Sold), seconds(s.Of)} }),
		Pieces: list(p.Pieces, pieceOf), Efficiency: ratioOf(p.Ratios.Efficiency), Utilisation: ratioOf(p.Ratios.Utilisation),
		Productivity: ratioOf(p.Ratios.Productivity),
	}
}
