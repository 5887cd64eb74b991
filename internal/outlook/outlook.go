// Package outlook says whether the day's work will be done when it was
// promised. It reads the garage's day, has internal/forecast play it through
// some thousands of times, and keeps what came out: for whoever opens a page,
// and to be held against what became of it.
//
// Nothing is worked out while somebody waits for a page. A worker in each
// server hears that something happened and works the day out anew; one of them
// at a time, under a lock of the database, and only when the last outlook does
// not know of it yet. Between events nothing runs.
//
// # What is assumed where nobody has said
//
// A part that is not ordered, or without a time, comes at the opening of the
// next working day. A car that should be here and is not comes within half an
// hour. Whoever was in and went home is gone for the day; whoever stays after
// their shift stays another half hour. A car goes up for work that takes wheels
// off or has the caution for lifting. Everybody can do everything. All of these
// are judgements, no published source.
package outlook

import (
	"time"

	"rampside/internal/actor"
	"rampside/internal/forecast"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/workday"
)

// Outlook is a day as it was worked out at At.
type Outlook struct {
	Day workday.Day `json:"day"`
	At  time.Time   `json:"at"`
	// Event is the last one that is in it.
	Event int64     `json:"event"`
	Opens time.Time `json:"opens"`
	Close time.Time `json:"close"`
	// Off says why there is no forecast; empty when there is one.
	Off string `json:"off,omitempty"`
	// Cars are in the order in which they are taken.
	Cars []Car `json:"cars"`
	// AllDone is the chance that every car is finished by closing, OnTime how
	// many are expected to keep their promise, of Promised.
	AllDone  float64 `json:"all_done"`
	OnTime   float64 `json:"on_time"`
	Promised int     `json:"promised"`
	// Leave are what could be put off, Order the order that keeps more
	// promises, nil when none surely does.
	Leave []Leave `json:"leave,omitempty"`
	Order *Order  `json:"order,omitempty"`
	// Costs are what a part that comes late, or somebody who goes, would cost.
	Costs []Cost `json:"costs,omitempty"`
	// Draws is how many days were played, Lines how many finished lines it was
	// learned from, and Young says that it still goes by the estimates.
	Draws int  `json:"draws"`
	Lines int  `json:"lines"`
	Young bool `json:"young"`
	// Corrected is how many outcomes correct the chances shown.
	Corrected int `json:"corrected"`
	// Notes are what was assumed on this day.
	Notes []string `json:"notes,omitempty"`
	// Ramps is what is counted with, 0 when nobody has said.
	Ramps int `json:"ramps"`
	// Ordered: somebody has set the order of the day.
	Ordered bool `json:"ordered"`
}

// Moment is a time, or later than the days that were read.
type Moment struct {
	At     time.Time `json:"at,omitzero"`
	Beyond bool      `json:"beyond,omitempty"`
}

// Car is what is said of one car.
type Car struct {
	Card    jobcard.CardID `json:"card"`
	Mark    string         `json:"mark"`
	Name    string         `json:"name"`
	Promise time.Time      `json:"promise,omitzero"`
	// Chance that the promise is kept; without one it says nothing. Error is
	// its standard error, Raw the chance before it was corrected.
	Chance float64 `json:"chance"`
	Error  float64 `json:"error"`
	Raw    float64 `json:"raw"`
	// Half, Eighty and Ninety are by when it is finished on 50, 80 and 90 days
	// of a hundred.
	Half   Moment `json:"half"`
	Eighty Moment `json:"eighty"`
	Ninety Moment `json:"ninety"`
	// Dots are twenty days like this one, the earliest first.
	Dots [20]Moment `json:"dots"`
	// Causes are why it is late when it is, the largest share first.
	Causes []Cause `json:"causes,omitempty"`
	// Lines counts what is to be done, Done what is; Finished when nothing is
	// left but to say that it is ready.
	Lines    int  `json:"lines"`
	Done     int  `json:"done"`
	Finished bool `json:"finished,omitempty"`
	// Over: of an earlier day. Here: it has come. Pinned: it keeps its place.
	Over   bool `json:"over,omitempty"`
	Here   bool `json:"here,omitempty"`
	Pinned bool `json:"pinned,omitempty"`
	// Stuck names a part that is known not to come.
	Stuck string `json:"stuck,omitempty"`
	// Added and Normal are what the two plain ways say.
	Added  float64 `json:"added"`
	Normal float64 `json:"normal"`
}

// Cause is a share of why a car is late when it is.
type Cause struct {
	Kind  forecast.Kind  `json:"kind"`
	Line  jobcard.LineID `json:"line,omitempty"`
	Title string         `json:"title,omitempty"`
	Share float64        `json:"share"`
}

// Leave is what could be put off to another day, and what that would win.
type Leave struct {
	Card   jobcard.CardID   `json:"card"`
	Lines  []jobcard.LineID `json:"lines"`
	Titles []string         `json:"titles"`
	// Move: all that is left of the car.
	Move bool `json:"move,omitempty"`
	// Sales put off, net; 0 for those who see no money.
	Sales money.Minor `json:"sales,omitempty"`
	// Gain is in promises kept, with its standard error.
	Gain  float64 `json:"gain"`
	Error float64 `json:"error"`
	// Before and After are the chances of the car itself.
	Before float64 `json:"before"`
	After  float64 `json:"after"`
}

// Helped is what something does to a car.
type Helped struct {
	Card   jobcard.CardID `json:"card"`
	Before float64        `json:"before"`
	After  float64        `json:"after"`
}

// Order is an order of the cars that keeps more promises.
type Order struct {
	Cards  []jobcard.CardID `json:"cards"`
	Before float64          `json:"before"`
	After  float64          `json:"after"`
	Gain   float64          `json:"gain"`
	Error  float64          `json:"error"`
}

// Cost is what it would cost if something went wrong.
type Cost struct {
	// Line waits for a part until Until; or Staff goes now.
	Line  jobcard.LineID `json:"line,omitempty"`
	Card  jobcard.CardID `json:"card,omitempty"`
	Until time.Time      `json:"until,omitzero"`
	Staff actor.StaffID  `json:"staff,omitempty"`
	Name  string         `json:"name"`
	// Lost is in promises kept; Error its standard error.
	Lost  float64 `json:"lost"`
	Error float64 `json:"error"`
	// Worst is the car that loses the most.
	Worst Helped `json:"worst"`
}

// Setting is what the outlook needs to know of the garage.
type Setting struct {
	// Ramps is how many cars can be up at once; 0 is not said.
	Ramps   int
	Level   float64
	Version int
}

// Read is an outlook as it is found, with what is newer.
type Read struct {
	Outlook
	Garage garage.Settings
	Now    time.Time
	// None: it has not been worked out yet.
	None bool
	// Newer counts the events that are not in it.
	Newer int
}

// Of finds a car's part of the outlook.
func (o Outlook) Of(id jobcard.CardID) (Car, bool) {
	for _, c := range o.Cars {
		if c.Card == id {
			return c, true
		}
	}
	return Car{}, false
}
