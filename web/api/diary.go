package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/diary"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/variance"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// Diary is some days of bookings as they stand now.
type Diary struct {
	Now   Time       `json:"now"`
	Today Day        `json:"today"`
	Days  []DiaryDay `json:"days"`
	Cut   bool       `json:"cut" doc:"There is more than the diary holds, and the last of it is missing."`
}

// DiaryDay is one day of the diary.
type DiaryDay struct {
	Day      Day       `json:"day"`
	Works    bool      `json:"works" doc:"The garage is open that day."`
	Bookings []Booking `json:"bookings"`
	Over     []Booking `json:"over" doc:"Cars of earlier days that are still here; on today only."`
	Missed   []Booking `json:"missed" doc:"Cars booked for an earlier day that never came; on today only."`
	Room     Room      `json:"room"`
}

// Booking is one card in the diary.
type Booking struct {
	CardID      jobcard.CardID `json:"card_id"`
	VehicleID   vehicle.ID     `json:"vehicle_id"`
	Mark        string         `json:"mark" doc:"Or the VIN of a car that has none."`
	Car         string         `json:"car"`
	CustomerID  customer.ID    `json:"customer_id"`
	Customer    string         `json:"customer"`
	Phone       string         `json:"phone,omitempty"`
	Stage       jobcard.Stage  `json:"stage"`
	BookedFor   Day            `json:"booked_for"`
	ArrivesAt   Time           `json:"arrives_at,omitzero"`
	PromisedAt  Time           `json:"promised_at,omitzero"`
	ReadyAt     Time           `json:"ready_at,omitzero"`
	CollectedAt Time           `json:"collected_at,omitzero"`
	Late        bool           `json:"late" doc:"The promise has passed and the car is not ready."`
	Lines       int            `json:"lines" doc:"To be done at this visit."`
	Done        int            `json:"lines_done"`
	Takes       int64          `json:"takes_seconds" doc:"What the card takes of the day it stands on."`
	Left        int64          `json:"left_seconds" doc:"What is left of that now."`
	Shares      []LineShare    `json:"shares" doc:"How that comes about, line by line."`
	Waits       []Wait         `json:"waits_for"`
}

// LineShare is what one line takes of a day.
type LineShare struct {
	Title         string `json:"title"`
	LikelyMinutes int64  `json:"likely_minutes"`
	Before        int64  `json:"before_seconds" doc:"Put into it before that day."`
	Takes         int64  `json:"takes_seconds"`
	Worked        int64  `json:"worked_seconds"`
	Left          int64  `json:"left_seconds"`
	Done          bool   `json:"done"`
}

// Wait is one thing that a card waits for.
type Wait struct {
	For   diary.WaitFor `json:"for"`
	Words string        `json:"words"`
	Late  bool          `json:"late"`
}

// Room is the hours booked on a day against the hours there are.
type Room struct {
	Booked    int64     `json:"booked_seconds"`
	There     int64     `json:"there_seconds"`
	Free      int64     `json:"free_seconds" doc:"Below zero when the day is booked beyond what there is."`
	Full      Ratio     `json:"full"`
	Left      int64     `json:"left_seconds" doc:"What is left of the jobs now; on today only."`
	LeftThere int64     `json:"left_there_seconds" doc:"What is left of the shifts now; on today only."`
	Jobs      []DayJob  `json:"jobs" doc:"They add up to what is booked."`
	Hands     []DayHand `json:"hands" doc:"They add up to what there is."`
}

// DayJob is what one card takes of a day.
type DayJob struct {
	CardID jobcard.CardID `json:"card_id"`
	Mark   string         `json:"mark"`
	Takes  int64          `json:"takes_seconds"`
	Left   int64          `json:"left_seconds"`
	Over   bool           `json:"over" doc:"Carried over from an earlier day."`
}

// DayHand is the hours of one technician on a day.
type DayHand struct {
	Name  string `json:"name"`
	There int64  `json:"there_seconds"`
	Left  int64  `json:"left_seconds"`
}

// Ratio is one time over another, with the two beside it.
type Ratio struct {
	Part    int64       `json:"part_seconds"`
	Whole   int64       `json:"whole_seconds"`
	Percent *money.Rate `json:"percent_bp,omitempty" doc:"Absent where there is nothing to divide by, which is not nought."`
}

func ratioOf(r variance.Ratio) Ratio {
	out := Ratio{Part: seconds(r.Part), Whole: seconds(r.Whole)}
	if p, ok := r.Percent(); ok {
		out.Percent = &p
	}
	return out
}

func (a *API) diaryOperations() {
	add := func(path, id, short string, read func(context.Context, actor.Actor, workday.Day) (diary.Diary, error)) {
		register(a, operation{
			method: http.MethodGet, path: path, id: id, need: actor.ReadCards, tag: "Diary", short: short,
			long: "Bookings, promises, what each waits for, and the hours booked against the hours there are.",
		}, func(ctx context.Context, who actor.Actor, in *struct {
			Day Day `query:"day" doc:"Today when left out."`
		}) (Diary, error) {
			d, err := read(ctx, who, in.Day.Day)
			return Diary{at(d.Now), on(d.Today), list(d.Days, diaryDayOf), d.Cut}, err
		})
	}
	add("/diary/day", "get-diary-day", "The diary of one day", a.Diary.Day)
	add("/diary/week", "get-diary-week", "The diary of the week that a day is in, from Monday", a.Diary.Week)
}

func diaryDayOf(d diary.Day) DiaryDay {
	r := d.Room
	return DiaryDay{
		Day: on(d.Day), Works: d.Works, Bookings: list(d.Bookings, bookingOf), Over: list(d.Over, bookingOf), Missed: list(d.Missed, bookingOf),
		Room: Room{
			Booked: seconds(r.Booked), There: seconds(r.There), Free: seconds(r.Free()), Full: ratioOf(r.Full()),
			Left: seconds(r.Left), LeftThere: seconds(r.LeftThere),
			Jobs: list(r.Jobs, func(j diary.Job) DayJob { return DayJob{j.Card, j.Mark, seconds(j.Hours), seconds(j.Left), j.Over} }),
			Hands: list(r.Hands, func(h diary.Hand) DayHand {
				return DayHand{h.Name, seconds(h.Hours), seconds(h.Left)}
			}),
		},
	}
}

func bookingOf(b diary.Booking) Booking {
	return Booking{
		CardID: b.Card, VehicleID: b.VehicleID, Mark: b.Mark, Car: b.Car, CustomerID: b.CustomerID, Customer: b.Customer, Phone: b.Phone,
		Stage: b.Stage, BookedFor: on(b.BookedFor), ArrivesAt: at(b.ArrivesAt), PromisedAt: at(b.PromisedAt), ReadyAt: at(b.ReadyAt),
		CollectedAt: at(b.CollectedAt), Late: b.Late, Lines: b.Lines, Done: b.Done, Takes: seconds(b.Hours), Left: seconds(b.Left),
		Shares: list(b.Shares, func(s diary.LineHours) LineShare {
			return LineShare{s.Title, minutes(s.Likely), seconds(s.Before), seconds(s.Takes), seconds(s.Worked), seconds(s.Left), s.Done}
		}),
		Waits: list(b.Waits, func(w diary.Wait) Wait { return Wait(w) }),
	}
}
