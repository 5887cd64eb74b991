package jobcard

import (
	"slices"
	"time"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/customer"
	"rampside/internal/money"
	"rampside/internal/vehicle"
)

// Sheet is a whole card as it is read: everything that hangs on one visit.
type Sheet struct {
	Card
	Vehicle  SheetVehicle
	Customer SheetCustomer
	Lines    []Line
	Parts    []Part
	// After says which lines must be done before a line.
	After    map[LineID][]LineID
	Consents []ConsentGiven
	Snags    []Snag
	Findings []Finding
	Checks   map[LineID]Check
	Waivers  []Waiver
	Clocked  map[LineID]Clocked
	Photos   []SheetPhoto
	Staff    map[actor.StaffID]string
	Rates    Rates
	Rounding money.Rounding
	// Extras are discounts, menus and fees, Prices the price sheet that they
	// make with the lines and parts, and Quote what it comes to.
	Extras Extras
	Set    PriceSettings
	Quote  Quote
	// Zone is the garage's zone, in which every time on the sheet is shown.
	Zone *time.Location
	// Costs tells whether costs and prices are on this reading of the sheet:
	// a technician's has none.
	Costs bool
}

// SheetVehicle is the car as the sheet shows it.
type SheetVehicle struct {
	ID      vehicle.ID
	Mark    string
	VIN     string
	Make    string
	Model   string
	Colour  string
	Facts   []vehicle.Known
	Caution []caution.Key // from its facts
}

// Name is make and model together.
func (v SheetVehicle) Name() string {
	if v.Model == "" {
		return v.Make
	}
	return v.Make + " " + v.Model
}

// SheetCustomer is the customer as the sheet shows them.
type SheetCustomer struct {
	ID                          customer.ID
	Name, Phone, Email, Address string
}

// ConsentGiven is one yes or no, as it was given.
type ConsentGiven struct {
	LineID LineID
	Answer Consent
	SaidBy string
	How    string
	Time   time.Duration
	Net    money.Minor
	// UpTo is the limit that was given with it, with VAT; nil for none.
	UpTo    *money.Minor
	TakenBy actor.StaffID
	At      time.Time
}

// Waiver is somebody's word that the work may go on with a part that nobody
// found to fit.
type Waiver struct {
	ID      WaiverID
	LineID  LineID
	PartID  PartID
	Verdict Verdict // as it stood
	Reason  string
	By      actor.StaffID
	At      time.Time
}

// Check is the second person's check of a safety line.
type Check struct {
	By       actor.StaffID
	TorqueNm float64 // 0 when none was called for
	Note     string
	At       time.Time
}

// Clocked is the time put into a line so far.
type Clocked struct {
	Worked time.Duration
	// On are those clocked on to it now.
	On []actor.StaffID
	// Hands are all who ever clocked on to it.
	Hands []actor.StaffID
}

// SheetPhoto is a photo on a line.
type SheetPhoto struct {
	ID            int64
	LineID        LineID
	Width, Height int
	Caption       string
	At            time.Time
	By            actor.StaffID
}

// Line finds a line of the sheet.
func (s *Sheet) Line(id LineID) (Line, bool) {
	i := slices.IndexFunc(s.Lines, func(l Line) bool { return l.ID == id })
	if i < 0 {
		return Line{}, false
	}
	return s.Lines[i], true
}

// Part finds a part of the sheet.
func (s *Sheet) Part(id PartID) (Part, bool) {
	i := slices.IndexFunc(s.Parts, func(p Part) bool { return p.ID == id })
	if i < 0 {
		return Part{}, false
	}
	return s.Parts[i], true
}

// PartsOf gives the parts of a line; of the card as a whole for 0.
func (s *Sheet) PartsOf(id LineID) []Part {
	var out []Part
	for _, p := range s.Parts {
		if p.LineID == id {
			out = append(out, p)
		}
	}
	return out
}

// CautionsOf gives a line's cautions: its own, and what the car's facts ask.
func (s *Sheet) CautionsOf(l Line) []caution.Key {
	return caution.Merge(l.Cautions, s.Vehicle.Caution)
}

// Hindrances says what keeps a line from being worked on now, in words; none
// when it can be.
func (s *Sheet) Hindrances(l Line) []string {
	var out []string
	for _, id := range s.After[l.ID] {
		if b, ok := s.Line(id); ok && !b.Settled() {
			out = append(out, "after “"+b.Title+"”")
		}
	}
	for _, p := range s.PartsOf(l.ID) {
		if p.Outstanding() {
			out = append(out, p.Name+" is "+string(p.Supply))
		}
	}
	return out
}

// NotReady says, in words, what stands between the card and being ready for
// the customer; none when it can be.
func (s *Sheet) NotReady() []string {
	var out []string
	for _, l := range s.Lines {
		switch {
		case len(s.Clocked[l.ID].On) > 0:
			out = append(out, "somebody is clocked on to “"+l.Title+"”")
		case !l.Settled():
			out = append(out, "“"+l.Title+"” is "+string(l.WorkState)+": tick it, defer it, or strike it out")
		case l.WorkState == Done && !l.Struck():
			for _, h := range s.HoldsOf(l.ID) {
				out = append(out, "“"+l.Title+"” is done, and "+h.Words())
			}
			if _, ok := s.Checks[l.ID]; !ok && (l.Safety || l.WheelsOff) {
				out = append(out, "“"+l.Title+"” needs a second person's check")
			}
		}
	}
	return out
}

// withoutMoney is the sheet for somebody who may not see costs and margins.
func (s *Sheet) withoutMoney() {
	s.Costs = false
	s.Quote, s.Extras, s.Set = Quote{}, Extras{}, PriceSettings{}
	s.UpTo, s.Sundries = nil, nil
	for i := range s.Lines {
		s.Lines[i].Rate, s.Lines[i].StdCostRate = 0, 0
		s.Lines[i].FixedPrice, s.Lines[i].AgreedNet, s.Lines[i].UpTo = nil, nil, nil
	}
	for i := range s.Parts {
		s.Parts[i].Cost, s.Parts[i].Price, s.Parts[i].MarkUp, s.Parts[i].QuotedCost = 0, nil, nil, nil
		s.Parts[i].Exchange = nil
	}
	for i := range s.Consents {
		s.Consents[i].Net, s.Consents[i].UpTo = 0, nil
	}
}

// withoutPeople hides how to reach the customer.
func (s *Sheet) withoutPeople() {
	s.Customer.Phone, s.Customer.Email, s.Customer.Address = "", "", ""
	s.ContactName, s.ContactPhone = "", ""
}
