package diary_test

import (
	"slices"
	"testing"
	"time"

	"rampside/internal/diary"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/workday"
)

// waits asks what the card waits for now.
func (r *rig) waits(id jobcard.CardID, want ...string) []diary.Wait {
	r.Helper()
	got := r.find(r.today(), id).Waits
	var words []string
	for _, w := range got {
		words = append(words, w.Words)
	}
	if !slices.Equal(words, want) {
		r.Errorf("at %s the card waits for %q, want %q", r.Clock.In(zone).Format("15:04"), words, want)
	}
	return got
}

func TestACardSaysWhatItWaitsForFromComingInToGoingHome(t *testing.T) {
	r := open(t)
	s := r.booked(r.Garage.Day, clock(8, 30), clock(16, 0), cardtest.Op(r.Brakes), cardtest.Op(r.Service))
	r.at(clock(8, 0))
	r.waits(s.ID, "the car: not here yet", "the customer's answer to 2 lines")
	r.at(clock(9, 0))
	if w := r.waits(s.ID, "the car: not here yet, it was to come 08:30", "the customer's answer to 2 lines"); !w[0].Late {
		t.Error("the car is not called late")
	}
	r.stage(s.ID, jobcard.OnSite)
	r.Agree(s.ID)
	r.waits(s.ID, "nothing: ready to start")
	s = r.Sheet(s.ID)
	r.work(r.Posy, s.Lines[0], clock(9, 30), 0)
	r.waits(s.ID, "nothing: Posy Thackeray is on “Front brake pads”")
	r.at(clock(10, 30))
	r.tick(r.Posy, s.Lines[0])
	r.waits(s.ID, "a second person's check of “Front brake pads”")
	_, err := r.Cards.SecondCheck(t.Context(), r.Bram, jobcard.CheckInput{LineID: s.Lines[0].ID, TorqueNm: 110})
	r.OK(err)
	r.waits(s.ID, "nothing: ready to go on")
	r.work(r.Bram, s.Lines[1], clock(11, 0), clock(12, 30))
	r.tick(r.Bram, s.Lines[1])
	r.waits(s.ID, "somebody to say that it is ready")
	if b := r.find(r.today(), s.ID); b.Late {
		t.Error("late long before its promise")
	}
	r.at(clock(16, 30))
	if b := r.find(r.today(), s.ID); !b.Late {
		t.Error("not late after its promise")
	}
	r.stage(s.ID, jobcard.Ready)
	r.waits(s.ID, "the customer, to collect it")
	if b := r.find(r.today(), s.ID); b.Late {
		t.Error("a card that is ready is late")
	}
	r.stage(s.ID, jobcard.Collected)
	r.waits(s.ID)
}

func TestAPartIsWaitedForWithItsDayAndWhetherThatIsLate(t *testing.T) {
	r := open(t)
	d := r.Garage.Day
	s := r.booked(d, clock(8, 0), clock(16, 0), cardtest.Op(r.Service))
	r.stage(s.ID, jobcard.OnSite)
	r.Agree(s.ID)
	for _, p := range []struct {
		name   string
		supply jobcard.Supply
		source jobcard.Source
		due    time.Time
	}{
		{"air filter", jobcard.Needed, jobcard.FromGarage, time.Time{}},
		{"oil filter", jobcard.Ordered, jobcard.FromGarage, time.Time{}},
		{"roof bars", jobcard.Needed, jobcard.FromCustomer, time.Time{}},
		{"drain plug", jobcard.Ordered, jobcard.FromGarage, workday.At(d, clock(8, 30), zone)},
		{"cabin filter", jobcard.Ordered, jobcard.FromGarage, workday.At(d, clock(12, 15), zone)},
		{"wiper", jobcard.Needed, jobcard.FromGarage, workday.At(d, clock(13, 0), zone)},
		{"belt", jobcard.Ordered, jobcard.FromGarage, workday.At(d.AddDays(1), clock(9, 0), zone)},
		{"oil", jobcard.Arrived, jobcard.FromGarage, time.Time{}},
		{"plugs", jobcard.NotComing, jobcard.FromGarage, time.Time{}},
	} {
		r.part(s, 0, jobcard.PartTerms{Name: p.name, Supply: p.supply, Source: p.source, DueAt: p.due})
	}
	r.at(clock(10, 0))
	got := r.waits(s.ID,
		"air filter, not ordered yet",
		"oil filter, ordered, no day given",
		"the customer's own roof bars, to be brought",
		"drain plug, was due 08:30: late",
		"cabin filter, due 12:15",
		"wiper, due 13:00, not ordered yet",
		"belt, due Tue 6 Oct 09:00: after the promise",
	)
	for i, late := range []bool{false, false, false, true, false, false, true} {
		if i < len(got) && got[i].Late != late {
			t.Errorf("%q is called late: %v", got[i].Words, got[i].Late)
		}
	}
	// A line that is put off waits for nothing any more.
	_, err := r.Cards.StrikeLine(t.Context(), r.Desk, jobcard.StrikeInput{LineID: s.Lines[0].ID, Version: r.Sheet(s.ID).Lines[0].Version, Reason: "another day"})
	r.OK(err)
	r.waits(s.ID, "somebody to say that it is ready")
}

func TestABookingOfADayToComeWaitsForNothingWhenAllIsSettled(t *testing.T) {
	r := open(t)
	tomorrow := r.Garage.Day.AddDays(1)
	s := r.booked(tomorrow, clock(8, 30), clock(16, 0), cardtest.Op(r.Service))
	words := func() string { return r.find(r.day(r.Desk, tomorrow), s.ID).Waits[0].Words }
	if got := words(); got != "the customer's answer to 1 line" {
		t.Errorf("waits for %q", got)
	}
	r.Agree(s.ID)
	if got := words(); got != "nothing before its day" {
		t.Errorf("waits for %q", got)
	}
}
