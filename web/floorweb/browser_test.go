package floorweb_test

import (
	"testing"
	"time"

	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/clocking/clocktest"
	"rampside/internal/jobcard"
	"rampside/internal/vehicle"
	"rampside/web/webtest"
)

// busy fills the floor with one line of every kind.
func busy(t *testing.T, s *site) (jobcard.CardID, []jobcard.LineID, jobcard.PartID) {
	t.Helper()
	wheels, brakes, may := s.Line("Front discs and pads, renew"), s.Line("Brake fluid, change"), s.Line("Cabin filter, renew")
	wheels.WheelsOff = true
	brakes.Cautions = []caution.Key{caution.Brakes, caution.Dust}
	may.MustDo = false
	card, ls := s.Book(t, jobcard.Booking{
		Here: true, Lines: []jobcard.NewLine{s.Line("Thermostat housing, renew"), wheels, brakes, may, s.Line("Tail lamp, renew"), s.Line("Air conditioning, recharge")},
		Facts: []vehicle.FactInput{{Key: "engine_code", Value: "CJBA", Source: vehicle.FromPlate}, {Key: "fuel", Value: "petrol", Source: vehicle.FromLogbook}},
		Visit: jobcard.Visit{PromisedAt: at("16:30"), CustomerWords: "It never gets warm, and the brakes grind."},
	}, false)
	part := s.Part(t, card, ls[0], "Thermostat housing", jobcard.Arrived)
	s.Part(t, card, ls[3], "Cabin filter", jobcard.Ordered)
	s.Part(t, card, ls[4], "Tail lamp", jobcard.Needed)
	s.Agree(t, card)
	other, more := s.Book(t, jobcard.Booking{Here: true, Lines: []jobcard.NewLine{s.Line("Tow bar, fit"), s.Line("Exhaust hanger, renew")}}, false)
	_, err := s.Cards.Answer(t.Context(), s.Desk, jobcard.ConsentInput{CardID: other, Lines: more[:1], Answer: jobcard.Agreed, SaidBy: "Ottoline Reave", How: "by phone"})
	clocktest.Ok(t, err)
	_, err = s.Clock.Tick(t.Context(), s.Bram, clocking.LineInput{LineID: ls[1]})
	clocktest.Ok(t, err)
	_, err = s.Clock.Snag(t.Context(), s.Bram, jobcard.SnagInput{LineID: ls[4], Kind: jobcard.PartMissing, Note: "not in the box"})
	clocktest.Ok(t, err)
	_, err = s.Clock.Defer(t.Context(), s.Desk, clocking.DeferInput{LineID: ls[5], Reason: "the station is out for repair", DecidedBy: "Ottoline Reave"})
	clocktest.Ok(t, err)
	s.On(t, s.Bram, more[0])
	return card, ls, part
}

func TestTheFloorIsForEverybodysEyesAndGloves(t *testing.T) {
	s := newSite(t)
	_, ls, part := busy(t, s)
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "posy")
	b.Go("/floor")
	b.See("Deferred at this visit")
	b.Audit(48)
	b.Dump("floor-idle")
	s.On(t, s.Posy, ls[0])
	s.Pass(50 * time.Minute)
	k, _, err := s.Clock.Current(t.Context(), s.Posy)
	clocktest.Ok(t, err)
	for path, name := range map[string]string{
		"/floor": "floor", path(ls[0], ""): "floor-line", path(ls[2], ""): "floor-line-cautions", path(ls[0], "/snag"): "floor-snag",
		path(ls[0], "/snag/found-a-fault"): "floor-fault", path(ls[0], "/defer"): "floor-defer", path(ls[1], "/check"): "floor-check",
		path(ls[0], "/parts/"+itoa(part)): "floor-part", "/floor/clockings": "floor-clockings", "/floor/clockings/" + itoa(k.ID): "floor-correct",
	} {
		b.Go(path)
		b.Audit(48)
		b.Dump(name)
	}
	s.Set(at("18:05"))
	b.Go("/floor/clockings")
	b.See("End it at 17:30")
	b.Audit(48)
	b.Dump("floor-forgotten")
}

func TestATechniciansTapsAreCounted(t *testing.T) {
	s := newSite(t)
	card, ls := s.Car(t, s.Line("Thermostat housing"), s.Line("Wiper arms"))
	s.Part(t, card, ls[0], "Housing", jobcard.Arrived)
	s.Agree(t, card)
	b := webtest.Open(t, s.server.URL)
	b.Size(768, 1024)
	b.SetCookie("rampside", "posy")
	b.Go("/floor")
	taps := func(want int, what string) {
		t.Helper()
		if b.Taps() != want {
			t.Errorf("%s took %d taps, want %d", what, b.Taps(), want)
		}
		b.Recount()
	}
	b.Recount()
	b.Tap("Clock on to Thermostat housing")
	b.See("Tick it done")
	taps(1, "clocking on")
	s.Pass(20 * time.Minute)
	b.Tap("Snag Thermostat housing")
	b.Tap("Wrong part: Housing")
	b.See("waits for the right one")
	taps(2, "a snag")
	b.Go("/floor")
	b.Recount()
	b.Tap("Clock on to Wiper arms")
	b.See("Since")
	s.Pass(20 * time.Minute)
	b.Recount()
	b.Tap("Tick it done Wiper arms")
	b.See("Ticked")
	taps(1, "a tick")
	if l := s.LineOf(t, card, ls[1]); l.WorkState != jobcard.Done {
		t.Errorf("the line is %s", l.WorkState)
	}
	if l := s.LineOf(t, card, ls[0]); l.WorkState != jobcard.Waiting {
		t.Errorf("the line is %s", l.WorkState)
	}
}

func TestTheFloorWorksWithoutScriptsAndForgivesAnImpatientFinger(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"))
	b := webtest.Open(t, s.server.URL)
	b.Scripts(false)
	b.SetCookie("rampside", "posy")
	b.Go("/floor")
	b.DoubleClick("Clock on to Clutch")
	b.See("Tick it done")
	if n := s.Count(t, `select count(*) from clocking`); n != 1 {
		t.Errorf("%d clockings", n)
	}
	s.Pass(time.Hour)
	b.Click("Clutch")
	b.Click("Put it off")
	b.Fill("Why", "no ramp is free")
	b.Click("Put it off")
	b.See("Put off: no ramp is free, decided by Posy Thackeray.")
	if n := s.Count(t, `select count(*) from clocking where upper_inf(during) and line_id = $1`, ls[0]); n != 0 {
		t.Error("still on it")
	}
}

func TestATickShowsOnEveryOtherScreenAtOnce(t *testing.T) {
	s := newSite(t)
	_, ls := s.Car(t, s.Line("Clutch"), s.Line("Wipers"))
	b := webtest.Open(t, s.server.URL)
	b.SetCookie("rampside", "bram")
	b.Go("/floor")
	b.See("Clutch")
	s.On(t, s.Posy, ls[0])
	b.See("Posy Thackeray since 08:00.")
	s.Pass(time.Minute)
	_, err := s.Clock.Tick(t.Context(), s.Posy, clocking.LineInput{LineID: ls[0]})
	clocktest.Ok(t, err)
	began := time.Now()
	b.SeeNot("Posy Thackeray since")
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("it took %v", took)
	}
	b.SeeNot("Clutch")
	b.See("Wipers")
}
