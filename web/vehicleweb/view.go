package vehicleweb

import (
	"fmt"
	"strings"
	"time"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// What may be open to be changed on a car's page (?do=…).
const (
	doEdit   = "edit"
	doKeeper = "keeper"
	doFact   = "fact"
)

// carView is a car's page: every word and figure made.
type carView struct {
	Path, Called, Name string
	Head               []pair
	Notes              []string
	Version            int64
	Do                 string
	Form               *ui.Form
	BookIn             string // where it is booked in; empty for those who may not
	May, MayFacts      bool
	Keeper             *personView
	Was                string // the keeper a change is made from, "0" for none
	Today              string
	Choices            []ui.Option // of customers, where several fit
	Cautions           []caution.Caution
	Hints              []hintView
	Facts              []factView
	Unknown            []placeView
	UnknownCount       string
	Keepers            []keeperRow
	Visits             []visitRow
	Left               []leftRow
	car                vehicle.Vehicle
}

type pair struct{ Name, Value string }

type personView struct {
	Link, Name, Phone, Email, Address string
}

type keeperRow struct{ Link, Name, From, Until string }

type visitRow struct{ Link, Number, Car, CarLink, Day, Stage, Mileage, Lines, Words string }

type leftRow struct{ Card, Number, Title, Mark, Why, Severity string }

func newCarView(rec *vehicle.Record, left []jobcard.LeftOver, who actor.Actor, zone *time.Location, now time.Time) *carView {
	v := &carView{
		Path: carPath(rec.ID), Called: rec.Called(), Name: rec.Name(), Notes: rec.Notes, Version: int64(rec.Version),
		May: who.May(actor.BookIn), MayFacts: who.May(actor.Work) || who.May(actor.BookIn), Was: "0",
		Today: workday.Of(now, zone).String(), Cautions: caution.Of(rec.Cautions), car: rec.Vehicle,
	}
	if v.May {
		v.BookIn = "/book-in?car=" + ui.Itoa(rec.ID)
	}
	v.head(rec)
	v.keepers(rec, who)
	v.facts(rec, zone)
	for _, visit := range rec.Visits {
		v.Visits = append(v.Visits, newVisit(visit))
	}
	for _, l := range left {
		v.Left = append(v.Left, newLeft(l, zone))
	}
	return v
}

func (v *carView) head(rec *vehicle.Record) {
	add := func(name, value string) {
		if value != "" {
			v.Head = append(v.Head, pair{name, value})
		}
	}
	if rec.MarkShown != "" {
		add("VIN", rec.VIN)
	}
	add("Colour", rec.Colour)
	if last, ok := rec.LastMileage(); ok {
		add("Mileage", fmt.Sprintf("%s %s on %s", thousands(*last.Mileage), last.Unit, last.Day.Long()))
	}
}

func (v *carView) keepers(rec *vehicle.Record, who actor.Actor) {
	if k := rec.Keeper; k != nil {
		v.Was = ui.Itoa(k.ID)
		v.Keeper = &personView{Name: k.Name, Phone: k.Phone, Email: k.Email, Address: k.Address}
		if who.May(actor.ReadPeople) {
			v.Keeper.Link = personPath(k.ID)
		}
	}
	for _, k := range rec.Keepers {
		row := keeperRow{Name: k.Name, From: k.From.Long(), Until: "now"}
		if !k.Until.IsZero() {
			row.Until = k.Until.AddDays(-1).Long()
		}
		if who.May(actor.ReadPeople) {
			row.Link = personPath(k.CustomerID)
		}
		v.Keepers = append(v.Keepers, row)
	}
}

func newVisit(x vehicle.Visit) visitRow {
	row := visitRow{
		Link: cardPath(x.Card), Number: ui.Itoa(x.Card), Car: strings.TrimSpace(x.Mark + " " + x.Name), CarLink: carPath(x.VehicleID),
		Day: x.Day.Long(), Stage: x.Stage, Words: x.Words, Lines: fmt.Sprintf("%d of %d done", x.Done, x.Lines),
	}
	if x.Mileage != nil {
		row.Mileage = thousands(*x.Mileage) + " " + x.Unit
	}
	return row
}

func newLeft(l jobcard.LeftOver, zone *time.Location) leftRow {
	row := leftRow{
		Card: cardPath(int64(l.CardID)), Number: ui.Itoa(l.CardID), Title: l.Title, Severity: string(l.Severity), Mark: "deferred",
	}
	if l.Declined {
		row.Mark = "declined"
	}
	var why []string
	if l.Reason != "" {
		why = append(why, l.Reason)
	}
	if l.Decided != "" {
		why = append(why, "decided by "+l.Decided)
	}
	row.Why = strings.Join(append(why, workday.Of(l.At, zone).Long()), ", ")
	return row
}

// thousands writes 48210 as 48,210.
func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
