package dayend_test

import (
	"strings"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/clocking"
	"rampside/internal/dayend"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/workday"
)

// why gives what a day has not recovered, as words by title.
func why(d dayend.Day) map[string]dayend.Unrecovered {
	out := map[string]dayend.Unrecovered{}
	for _, u := range d.Unrecovered {
		out[u.Title] = u
	}
	return out
}

func TestWorkThatBringsNothingIsNamedWithWhatItCost(t *testing.T) {
	r := open(t)
	s := r.Book(
		cardtest.Free("Never asked", time.Hour), cardtest.Free("Declined later", time.Hour), cardtest.Free("Struck out", time.Hour),
		cardtest.Free("Put off", time.Hour), cardtest.Free("Still open", time.Hour), cardtest.Free("Grown", time.Hour),
		cardtest.Free("Agreed and done", time.Hour), cardtest.Free("Agreed and going on", time.Hour),
	)
	line := func(title string) jobcard.Line {
		for _, l := range r.Sheet(s.ID).Lines {
			if l.Title == title {
				return l
			}
		}
		t.Fatalf("no line %q", title)
		return jobcard.Line{}
	}
	for _, title := range []string{"Put off", "Grown", "Agreed and done", "Agreed and going on", "Struck out"} {
		r.answer(s.ID, jobcard.Agreed, line(title).ID)
	}
	r.part(s, 0, jobcard.PartTerms{Name: "Hose", Cost: 10_00, Supply: jobcard.Arrived})
	for i, l := range s.Lines {
		if !line(l.Title).MayBeWorkedOn() {
			r.GoAhead(l.ID)
		}
		r.work(r.Posy, l, 9+i, 0, 30) // 9.00 each
	}
	r.tick(r.Posy, line("Never asked"))
	r.tick(r.Posy, line("Agreed and done"))
	_, err := r.Cards.StrikeLine(t.Context(), r.Desk, jobcard.StrikeInput{LineID: line("Struck out").ID, Version: line("Struck out").Version, Reason: "it was the other side"})
	r.OK(err)
	_, err = r.clocks.Defer(t.Context(), r.Posy, clocking.DeferInput{LineID: line("Put off").ID, Reason: "no time", DecidedBy: "Odette Marlowe"})
	r.OK(err)
	r.answer(s.ID, jobcard.Declined, line("Declined later").ID)
	// It takes twice as long, and nobody asks before it is done.
	g := line("Grown")
	_, err = r.Cards.EditLine(t.Context(), r.Desk, jobcard.EditLineInput{LineID: g.ID, Version: g.Version, LineTerms: jobcard.LineTerms{
		Title: g.Title, MustDo: true, Estimate: hours.One(2 * time.Hour), VATCode: g.VATCode,
	}})
	r.OK(err)
	r.GoAhead(g.ID)
	r.work(r.Posy, g, 18, 0, 60)
	r.tick(r.Posy, g)

	d := r.today()
	got := why(d)
	const ahead = ": went ahead because they could not be reached, and the car is needed"
	for title, want := range map[string]struct {
		words string
		dayend.Forgone
		open bool
	}{
		// Half an hour and a hose; the price would be an hour's 60.00 and 13.00.
		"Never asked":    {"done and never agreed" + ahead, dayend.Forgone{Time: 30 * time.Minute, Cost: 19_00, Price: 73_00}, true},
		"Struck out":     {"struck out: it was the other side", dayend.Forgone{Time: 30 * time.Minute, Cost: 9_00}, false},
		"Declined later": {"worked on and declined", dayend.Forgone{Time: 30 * time.Minute, Cost: 9_00}, false},
		"Still open":     {"worked on and not agreed yet" + ahead, dayend.Forgone{Time: 30 * time.Minute, Cost: 9_00}, true},
		// An hour and a half against the hour agreed, and an hour's price.
		"Grown": {"done beyond what was agreed" + ahead, dayend.Forgone{Time: 30 * time.Minute, Cost: 9_00, Price: 60_00}, true},
	} {
		u, ok := got[title]
		if !ok || u.Why != want.words || u.Forgone != want.Forgone || u.Open != want.open {
			t.Errorf("%s: %+v, want %+v", title, u, want)
		}
		delete(got, title)
	}
	if len(got) != 0 {
		t.Errorf("not recovered either: %+v", got)
	}
	if d.Gross.Price != 120_00 || d.NotSold != 28_00 {
		t.Errorf("the price is %v, and %v of the cost was not sold", d.Gross.Price, d.NotSold)
	}
	// What is put off ends with the card, and then it brings nothing.
	for _, title := range []string{"Still open", "Agreed and going on"} {
		r.tick(r.Posy, line(title))
	}
	r.stage(s.ID, jobcard.Ready)
	r.stage(s.ID, jobcard.Collected)
	d = r.today()
	got = why(d)
	if u := got["Put off"]; u.Why != "deferred: no time" || u.Cost != 9_00 || u.Open {
		t.Errorf("the line put off: %+v", u)
	}
	if u := got["Declined later"]; u.Why != "declined" || u.Cost != 9_00 {
		t.Errorf("the line declined: %+v", u)
	}
	for title, u := range got {
		if u.Open {
			t.Errorf("%s may still be agreed, though the car has gone", title)
		}
	}
	if d.AtRisk != (dayend.Forgone{}) || d.NotSold != 28_00+9_00+9_00+9_00 {
		t.Errorf("at risk %+v, not sold %v", d.AtRisk, d.NotSold)
	}
}

func TestTheDaySaysWhatWasDoneAndWhatWasNotAndWhy(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service), cardtest.Free("Sills", time.Hour), cardtest.Free("Clutch", 4*time.Hour), cardtest.Free("Bulb", 6*time.Minute),
		cardtest.Free("Aerial", time.Hour))
	due := workday.At(r.Garage.Day.AddDays(1), 10*60, r.zone)
	r.part(s, 2, jobcard.PartTerms{Name: "Clutch kit", SupplierID: r.Supplier, Cost: 120_00, Supply: jobcard.Ordered, DueAt: due})
	r.part(s, 2, jobcard.PartTerms{Name: "Spigot", Cost: 3_00, Supply: jobcard.Ordered, DueAt: r.Clock.Add(-time.Hour)})
	r.part(s, 2, jobcard.PartTerms{Name: "Fork", Cost: 30_00})
	lines := r.Sheet(s.ID).Lines
	r.answer(s.ID, jobcard.Agreed, lines[0].ID, lines[1].ID, lines[2].ID, lines[3].ID)
	r.answer(s.ID, jobcard.Declined, lines[4].ID)
	missed, err := r.Cards.Book(t.Context(), r.Desk, jobcard.Booking{
		VehicleID: r.Car, Lines: []jobcard.NewLine{cardtest.Op(r.Service)}, Visit: jobcard.Visit{BookedFor: r.Garage.Day},
	})
	r.OK(err)
	later, err := r.Cards.Book(t.Context(), r.Desk, jobcard.Booking{
		VehicleID: r.Car, Lines: []jobcard.NewLine{cardtest.Op(r.Service)}, Visit: jobcard.Visit{BookedFor: r.Garage.Day.AddDays(1)},
	})
	r.OK(err)

	r.at(9, 0)
	r.on(r.Posy, lines[0])
	r.at(10, 0)
	snagged, err := r.clocks.Snag(t.Context(), r.Posy, jobcard.SnagInput{
		LineID: lines[0].ID, Kind: jobcard.FoundFault, Note: "it weeps",
		Found: &jobcard.Found{Title: "Front damper", Estimate: hours.One(time.Hour), Severity: jobcard.Major},
	})
	r.OK(err)
	r.tick(r.Posy, lines[0])
	_, err = r.clocks.Defer(t.Context(), r.Posy, clocking.DeferInput{LineID: lines[1].ID, Reason: "too wet", DecidedBy: "Odette Marlowe"})
	r.OK(err)
	_, err = r.clocks.Wait(t.Context(), r.Posy, clocking.ReasonInput{LineID: lines[2].ID, Reason: "kit comes tomorrow"})
	r.OK(err)

	d := r.today()
	c := r.card(d, s.ID)
	if c.Standing != dayend.StillHere || len(c.Done) != 1 || c.Done[0].Title != "Annual service" || !c.Done[0].At.Equal(r.Clock) {
		t.Errorf("done: %+v", c.Done)
	}
	if len(c.Deferred) != 1 || c.Deferred[0].Title != "Sills" || c.Deferred[0].Why != "too wet" || c.Deferred[0].By != "Odette Marlowe" {
		t.Errorf("deferred: %+v", c.Deferred)
	}
	if len(c.Declined) != 1 || c.Declined[0].Title != "Aerial" || c.Declined[0].By != "Odette Marlowe" {
		t.Errorf("declined: %+v", c.Declined)
	}
	if len(c.Waiting) != 1 || c.Waiting[0].Why != "kit comes tomorrow" || len(c.Waiting[0].Parts) != 3 {
		t.Fatalf("waiting: %+v", c.Waiting)
	}
	kit, spigot := c.Waiting[0].Parts[0], c.Waiting[0].Parts[1]
	if kit.Name != "Clutch kit" || kit.Supplier != "Estuary Motor Factors" || !kit.DueAt.Equal(due) || kit.Late || !spigot.Late || c.Waiting[0].Parts[2].Late {
		t.Errorf("the parts: %+v", c.Waiting[0].Parts)
	}
	if len(c.Left) != 2 || c.Left[0].Title != "Bulb" || c.Left[1].Title != "Front damper" {
		t.Errorf("left: %+v", c.Left)
	}
	if len(d.Asked) != 1 || d.Asked[0].Line != snagged.LedTo || d.Asked[0].Found != "Annual service" || d.Asked[0].Price != 60_00 {
		t.Errorf("to be asked: %+v", d.Asked)
	}
	if r.card(d, missed.CardID).Standing != dayend.DidNotCome {
		t.Errorf("the car that did not come is %+v", r.card(d, missed.CardID))
	}
	for _, c := range d.Cards {
		if c.ID == later.CardID {
			t.Error("tomorrow's card is in today")
		}
	}
}

func TestACarThatOnlyStandsReadyDoesNotSayAgainWhatWasPutOff(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Sills", time.Hour))
	r.Agree(s.ID)
	_, err := r.clocks.Defer(t.Context(), r.Posy, clocking.DeferInput{LineID: s.Lines[0].ID, Reason: "too wet", DecidedBy: "Odette Marlowe"})
	r.OK(err)
	r.stage(s.ID, jobcard.Ready)
	if c := r.card(r.today(), s.ID); len(c.Deferred) != 1 {
		t.Errorf("on the day: %+v", c)
	}
	r.Garage.Day = r.Garage.Day.AddDays(1)
	r.at(9, 0)
	if c := r.card(r.today(), s.ID); c.Standing != dayend.Ready || len(c.Deferred) != 0 {
		t.Errorf("the day after: %+v", c)
	}
	// When it is fetched, it is said once more: the customer goes home without it.
	r.stage(s.ID, jobcard.Collected)
	if c := r.card(r.today(), s.ID); c.Standing != dayend.Collected || len(c.Deferred) != 1 {
		t.Errorf("as it is fetched: %+v", c)
	}
}

func TestWhatMakesTheFiguresDoubtfulIsSaidFirst(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Op(r.Service), cardtest.Free("Bulb", 6*time.Minute), cardtest.Free("Battery", 30*time.Minute))
	r.part(s, 2, jobcard.PartTerms{Name: "Battery", Cost: 70_00, Supply: jobcard.Ordered})
	r.part(s, -1, jobcard.PartTerms{Name: "Sundries", Cost: 2_00, Supply: jobcard.Arrived})
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.tick(r.Posy, s.Lines[1])
	r.work(r.Posy, s.Lines[2], 10, 0, 30)
	r.tick(r.Posy, s.Lines[2])
	r.at(11, 0)
	r.on(r.Bram, s.Lines[0])

	says := func(d dayend.Day) string {
		var words []string
		for _, c := range d.Checks {
			words = append(words, c.Words)
		}
		return strings.Join(words, "\n")
	}
	d := r.today()
	if got := says(d); got != "“Bulb” was ticked with no time clocked on it\n"+
		"“Battery” is done, but its Battery is ordered: neither its price nor its cost is counted" {
		t.Errorf("at eleven:\n%s", got)
	}
	if d.Gross.Price != 6_00+30_00 || d.Parts.ActualCost != 0 {
		t.Errorf("a battery that never came is in the price %v or the cost %v", d.Gross.Price, d.Parts.ActualCost)
	}
	// Bram went home without a word, and so did Posy.
	first := r.Garage.Day
	r.Garage.Day = first.AddDays(1)
	r.at(8, 0)
	got := says(r.today())
	if got != "Bram Oakes is still clocked on to “Annual service” since Mon 5 Oct: it is counted to when it most likely ended" {
		t.Errorf("the morning after:\n%s", got)
	}
	monday := r.end(first)
	got = says(monday)
	for _, want := range []string{"Bram Oakes is still clocked on", "Bram Oakes has not gone home by the record", "Posy Thackeray has not gone home by the record"} {
		if !strings.Contains(got, want) {
			t.Errorf("Monday does not say that %s:\n%s", want, got)
		}
	}
	// The garage closes at 17:30: six and a half hours at 20.00, and 9.00 of Posy's.
	if monday.OnDay.Cost != 130_00+9_00 {
		t.Errorf("Monday cost %v", monday.OnDay.Cost)
	}
	for _, c := range monday.Checks {
		if strings.Contains(c.Words, "clocked on to") && c.Clocking == 0 || strings.Contains(c.Words, "gone home") && c.Attendance == 0 {
			t.Errorf("%q leads nowhere", c.Words)
		}
	}
	k := monday.Checks[0].Clocking
	now, err := r.clocks.ByID(t.Context(), r.Owner, k)
	r.OK(err)
	_, err = r.clocks.Correct(t.Context(), r.Owner, clocking.CorrectInput{
		ClockingID: k, Version: now.Version, From: now.From, To: workday.At(first, 12*60, r.zone), Reason: "went home at noon",
	})
	r.OK(err)
	if d := r.end(first); strings.Contains(says(d), "clocked on to") || d.OnDay.Cost != 20_00+9_00 {
		t.Errorf("after the correction Monday cost %v:\n%s", d.OnDay.Cost, says(d))
	}
}

func TestOnlyTechniciansHoursMakeTheRatios(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Exhaust", 3*time.Hour))
	r.Agree(s.ID)
	s = r.Sheet(s.ID)
	r.at(9, 0)
	r.on(r.Posy, s.Lines[0])
	r.on(r.Owner, s.Lines[0])
	r.at(10, 0)
	r.off(r.Owner)
	r.at(11, 0)
	r.tick(r.Posy, s.Lines[0])
	r.at(13, 0)
	_, err := r.clocks.GoHome(t.Context(), r.Posy, clocking.OffInput{})
	r.OK(err)

	h := r.today().Hours
	// Three hours sold, two thirds of them by Posy, who worked two of the four
	// that she was in.
	if len(h.Technicians) != 1 || len(h.Others) != 1 || h.Others[0].StaffID != r.Owner.StaffID || h.Others[0].Sold != time.Hour {
		t.Fatalf("technicians %+v, others %+v", h.Technicians, h.Others)
	}
	for _, c := range []struct{ got, want string }{
		{h.Ratios.Efficiency.String(), "100% (2.0 h / 2.0 h)"},
		{h.Ratios.Utilisation.String(), "50% (2.0 h / 4.0 h)"},
		{h.Ratios.Productivity.String(), "50% (2.0 h / 4.0 h)"},
	} {
		if c.got != c.want {
			t.Errorf("%s, want %s", c.got, c.want)
		}
	}
}

func TestALineTickedWithoutAClockingSoldItsHoursForWhoeverTicked(t *testing.T) {
	r := open(t)
	s := r.Book(cardtest.Free("Bulb", 30*time.Minute), cardtest.Free("Fuse", 30*time.Minute))
	r.Agree(s.ID)
	r.tick(r.Bram, s.Lines[0])
	r.tick(actor.Command("fix"), s.Lines[1])
	h := r.today().Hours
	if len(h.Technicians) != 1 || h.Technicians[0].StaffID != r.Bram.StaffID || h.Sold != 30*time.Minute || h.Nobody != 30*time.Minute {
		t.Errorf("%+v", h)
	}
}
