package handover_test

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/handover"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/pg"
	"rampside/internal/workday"
)

const drawn = "30,160 90,20 150,160;200,150 280,40"

func TestACarGoesHomeWithWhatWasDoneWhatWasNotAndWhatIsNotSafe(t *testing.T) {
	r := open(t)
	c := r.Book(cardtest.Op(r.Brakes), cardtest.Op(r.Service), cardtest.Free("Fit roof rails", time.Hour))
	miles := 48_210
	_, err := r.Cards.EditVisit(t.Context(), r.Desk, jobcard.EditVisitInput{CardID: c.ID, Version: c.Version, Visit: jobcard.Visit{
		BookedFor: c.BookedFor, Mileage: &miles, MileageUnit: "miles", CustomerWords: "squeals when braking",
	}})
	r.OK(err)
	part, err := r.Cards.AddPart(t.Context(), r.Desk, jobcard.AddPartInput{CardID: c.ID, PartTerms: jobcard.PartTerms{LineID: c.Lines[0].ID, Name: "Pad set", Number: "EM-1234", Qty: 2000}})
	r.OK(err)
	_, err = r.Cards.SetSupply(t.Context(), r.Posy, jobcard.SupplyInput{PartID: part.PartID, Version: 1, Supply: jobcard.Arrived})
	r.OK(err)
	r.Fits(c.ID)
	r.Agree(c.ID)
	hose := r.found(c.Lines[0].ID, jobcard.Found{Title: "Brake hose, front left", Severity: jobcard.Dangerous, Measured: "2.5 mm swelling", Limit: "none"})
	r.found(c.Lines[1].ID, jobcard.Found{Title: "Tyre, rear right", Severity: jobcard.Advisory, Measured: "2.8 mm", Limit: "1.6 mm"})
	tyre := r.Sheet(c.ID).Findings[1].Proposed
	r.tick(c.Lines[0].ID)
	r.check(c.Lines[0].ID, 110)
	r.tick(c.Lines[1].ID)
	r.decline(c.ID, hose)
	r.decline(c.ID, tyre)
	_, err = r.clocks.Wait(t.Context(), r.Posy, waiting(c.Lines[2].ID, "the rails"))
	r.OK(err)
	_, err = r.hands.SetInterval(t.Context(), r.Owner, handover.IntervalInput{OperationID: r.Service, Months: 12, Distance: 10_000})
	r.OK(err)

	p := r.plan(c.ID)
	if len(p.Due) != 1 || p.Due[0].DueOn != workday.Must(2027, time.October, 5) || p.Due[0].DueAt != 58_210 || p.Due[0].What != "Annual service" {
		t.Errorf("proposed as due: %+v", p.Due)
	}
	if !slices.Equal(p.OldParts, []string{"Old 2 × Pad set"}) {
		t.Errorf("old parts: %q", p.OldParts)
	}
	if len(p.Hard()) != 0 || len(p.Soft()) != 2 {
		t.Errorf("stops: %+v", p.Stops)
	}
	out := 48_214
	in := r.input(c.ID)
	in.MileageOut, in.Note, in.Returned = &out, "Locking-nut key in the glove box.", p.OldParts
	in.Due = []handover.DueInput{{What: "Annual service", On: p.Due[0].DueOn, At: 58_214}, {What: "left out"}}
	_, err = r.hands.Make(t.Context(), r.Desk, in)
	if fields := fieldsOf(err); fields["name"] == "" || fields["how"] == "" {
		t.Fatalf("without the customer's word: %v", err)
	}
	in.Name, in.How, in.Signature = "Odette Marlowe", "in person", drawn
	made, err := r.hands.Make(t.Context(), r.Desk.WithKey("once"), in)
	r.OK(err)
	if again, err := r.hands.Make(t.Context(), r.Desk.WithKey("once"), in); err != nil || again != made {
		t.Errorf("the form sent twice: %+v, %v", again, err)
	}
	if s := r.Sheet(c.ID); s.Stage != jobcard.Collected || !s.CollectedAt.Equal(r.Clock) {
		t.Errorf("the card is %s", s.Stage)
	}

	h, err := r.hands.Read(t.Context(), r.Desk, made.ID)
	r.OK(err)
	at := r.Clock.In(h.Zone()).Format("15:04")
	want := map[handover.Kind][]handover.Item{
		handover.Unsafe: {{
			Kind: handover.Unsafe, LineID: hose, FindingID: p.Unsafe[0].FindingID, What: "Brake hose, front left", Severity: jobcard.Dangerous,
			Why: "Declined by Odette Marlowe on Monday 5 October 2026, " + at + ", by phone", Measured: "2.5 mm swelling", Limit: "none",
		}},
		handover.Done: {
			{Kind: handover.Done, LineID: c.Lines[0].ID, What: "Front brake pads", Checks: []string{"Checked by Bram Oakes, wheels tightened to 110 Nm: by the book"}, Parts: []string{"2 × Pad set EM-1234"}},
			{Kind: handover.Done, LineID: c.Lines[1].ID, What: "Annual service"},
		},
		handover.Returned: {{Kind: handover.Returned, What: "Old 2 × Pad set"}},
		handover.Due:      {{Kind: handover.Due, What: "Annual service", DueOn: workday.Must(2027, time.October, 5), DueAt: 58_214}},
	}
	for kind, items := range want {
		got := h.Of(kind)
		for i := range got { // an empty list is read as an empty one
			got[i].Checks, got[i].Parts = none(got[i].Checks), none(got[i].Parts)
		}
		if !reflect.DeepEqual(got, items) {
			t.Errorf("%s:\n%+v, want\n%+v", kind, got, items)
		}
	}
	why := map[string]string{}
	for _, i := range h.Of(handover.NotDone) {
		why[i.What] = i.Why
	}
	if len(why) != 3 || why["Fit roof rails"] != "Waiting on parts: the rails" || !strings.HasPrefix(why["Tyre, rear right"], "Declined by Odette Marlowe") {
		t.Errorf("not done: %v", why)
	}
	a := h.Acknowledged
	told := "I was told that Brisling Tern BD51 SMR is not safe as it is: Brake hose, front left (dangerous: a direct and immediate risk on the road). The garage advises me not to drive the car before this is put right."
	if a == nil || a.Words != told || a.Name != "Odette Marlowe" || a.How != "in person" || a.Signature.String() != drawn || !a.At.Equal(r.Clock) {
		t.Errorf("acknowledged: %+v", a)
	}
	if !slices.Equal(h.Unsettled, []string{"“Fit roof rails” still waits on parts", "no bill has been made"}) || h.Anyway == "" || h.Words != "squeals when braking" || *h.MileageOut != out {
		t.Errorf("%q, %q, %q, %v", h.Unsettled, h.Anyway, h.Words, h.MileageOut)
	}
}

func none(s []string) []string {
	if len(s) == 0 {
		return nil
	}
	return s
}

func fieldsOf(err error) apperr.Fields {
	var e *apperr.Error
	if errors.As(err, &e) {
		return e.Fields
	}
	return nil
}

func TestAHandoverStaysAsItWasMade(t *testing.T) {
	r := open(t)
	c := r.serviced()
	made, err := r.hands.Make(t.Context(), r.Desk, r.input(c.ID))
	r.OK(err)
	for _, sql := range []string{
		`update handover set note = 'x' where id = $1`, `delete from handover where id = $1`,
		`update handover_item set what = 'x' where handover_id = $1`, `delete from handover_item where handover_id = $1`,
		`insert into handover_item (handover_id, position, kind, what) values ($1, 99, 'done', 'more')`,
		`insert into acknowledgement (handover_id, words, name, how, at) values ($1, 'w', 'n', 'in person', now())`,
	} {
		if _, err := r.DB.Pool.Exec(t.Context(), sql, made.ID); pg.Code(err) != "23001" {
			t.Errorf("%s: %v", sql, err)
		}
	}
	for _, table := range []string{"handover", "handover_item", "acknowledgement"} {
		if _, err := r.DB.Pool.Exec(t.Context(), `truncate `+table+` cascade`); pg.Code(err) != "23001" {
			t.Errorf("truncate %s: %v", table, err)
		}
	}
}

func TestTheDatabaseRefusesSomethingUnsafeThatNobodyAcknowledged(t *testing.T) {
	r := open(t)
	c := r.serviced()
	_, err := r.DB.Pool.Exec(t.Context(), `with h as (insert into handover (card_id, turn, customer_id, vehicle_id, garage_name, garage_address, garage_phone,
			garage_email, zone, customer_name, mark, vin, car, customer_words, mileage_unit, given_to, keys_note, handed_at, handed_name)
			values ($1, 1, $2, $3, 'g', '', '', '', 'UTC', 'c', '', '', '', '', 'miles', 'c', 'k', now(), 'n') returning id)
		insert into handover_item (handover_id, position, kind, what, severity) select id, 1, 'unsafe', 'hose', 'dangerous' from h`, c.ID, c.CustomerID, c.VehicleID)
	if err == nil {
		t.Fatal("it was taken")
	}
}

func TestWhatMustBeSettledFirstIsNotExcusedByAReason(t *testing.T) {
	r := open(t)
	c := r.Book(cardtest.Op(r.Brakes), cardtest.Op(r.Service))
	r.Agree(c.ID)
	r.tick(c.Lines[0].ID)
	p := r.plan(c.ID)
	var words []string
	for _, s := range p.Hard() {
		words = append(words, s.Words)
	}
	if want := []string{"“Front brake pads” needs a second person's check with the torque of the wheels", "“Annual service” is open: tick it, put it off, or strike it out"}; !slices.Equal(words, want) {
		t.Errorf("%q, want %q", words, want)
	}
	if _, err := r.hands.Make(t.Context(), r.Desk, r.input(c.ID)); !apperr.Is(err, apperr.Conflict) || !strings.Contains(err.Error(), "second person") {
		t.Errorf("%v", err)
	}
	if r.Sheet(c.ID).Stage == jobcard.Collected {
		t.Error("the car has gone")
	}
	r.check(c.Lines[0].ID, 110)
	r.tick(c.Lines[1].ID)
	in := r.input(c.ID)
	in.Anyway = ""
	if _, err := r.hands.Make(t.Context(), r.Desk, in); fieldsOf(err)["anyway"] == "" {
		t.Errorf("without a bill and without a reason: %v", err)
	}
	in.Anyway = "the bill is posted"
	if _, err := r.hands.Make(t.Context(), r.Desk, in); err != nil {
		t.Error(err)
	}
}

func TestAHandoverIsMadeFromWhatWasLookedAt(t *testing.T) {
	r := open(t)
	c := r.Book(cardtest.Op(r.Service))
	r.Agree(c.ID)
	joint := r.found(c.Lines[0].ID, jobcard.Found{Title: "Ball joint", Severity: jobcard.Major})
	r.decline(c.ID, joint)
	r.tick(c.Lines[0].ID)
	in := r.input(c.ID)
	in.Name, in.How = "Odette Marlowe", "by phone"
	l, _ := r.Sheet(c.ID).Line(joint)
	_, err := r.Cards.StrikeLine(t.Context(), r.Desk, jobcard.StrikeInput{LineID: joint, Version: l.Version, Reason: "goes to the maker"})
	r.OK(err)
	if _, err := r.hands.Make(t.Context(), r.Desk, in); !apperr.Is(err, apperr.Conflict) || !strings.Contains(err.Error(), "has changed") {
		t.Errorf("%v", err)
	}
	if _, err := r.Cards.SetStage(t.Context(), r.Desk, jobcard.StageInput{CardID: c.ID, Stage: jobcard.Ready}); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Cards.SetStage(t.Context(), r.Desk, jobcard.StageInput{CardID: c.ID, Stage: jobcard.Collected}); fieldsOf(err)["stage"] == "" {
		t.Errorf("collected by hand with a ball joint that is not safe: %v", err)
	}
	in = r.input(c.ID)
	in.Name, in.How = "Odette Marlowe", "by phone"
	made, err := r.hands.Make(t.Context(), r.Desk, in)
	r.OK(err)
	h, err := r.hands.Read(t.Context(), r.Desk, made.ID)
	r.OK(err)
	if !strings.HasSuffix(h.Acknowledged.Words, "advises me to have this put right without delay.") || !h.Acknowledged.Signature.Empty() {
		t.Errorf("%+v", h.Acknowledged)
	}
	// It comes back, and goes again.
	_, err = r.Cards.SetStage(t.Context(), r.Desk, jobcard.StageInput{CardID: c.ID, Stage: jobcard.Ready})
	r.OK(err)
	in.Seen = r.plan(c.ID).Seen
	second, err := r.hands.Make(t.Context(), r.Desk, in)
	r.OK(err)
	if h, err := r.hands.OfCard(t.Context(), r.Desk, c.ID); err != nil || h.ID != second.ID || h.Turn != 2 {
		t.Errorf("the second: %+v, %v", h, err)
	}
}

func TestWhatIsTypedIsCheckedAtItsField(t *testing.T) {
	r := open(t)
	c := r.serviced()
	miles := 1000
	_, err := r.Cards.EditVisit(t.Context(), r.Desk, jobcard.EditVisitInput{CardID: c.ID, Version: c.Version, Visit: jobcard.Visit{BookedFor: c.BookedFor, Mileage: &miles, MileageUnit: "km"}})
	r.OK(err)
	less, far := 999, jobcard.MaxMiles+1
	for field, change := range map[string]func(*handover.Input){
		"given_to":    func(in *handover.Input) { in.GivenTo = " " },
		"keys":        func(in *handover.Input) { in.Keys = "" },
		"mileage_out": func(in *handover.Input) { in.MileageOut = &less },
		"note":        func(in *handover.Input) { in.Note = strings.Repeat("x", handover.MaxNote+1) },
		"returned":    func(in *handover.Input) { in.Returned = slices.Repeat([]string{"pad"}, handover.MaxReturned+1) },
		"due":         func(in *handover.Input) { in.Due = []handover.DueInput{{At: 5000}} },
		"photos":      func(in *handover.Input) { in.Photos = []int64{77} },
		"signature":   func(in *handover.Input) { in.Signature = "1,1 2,2" },
	} {
		in := r.input(c.ID)
		change(&in)
		if _, err := r.hands.Make(t.Context(), r.Desk, in); fieldsOf(err)[field] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	in := r.input(c.ID)
	in.MileageOut = &far
	if _, err := r.hands.Make(t.Context(), r.Desk, in); fieldsOf(err)["mileage_out"] == "" {
		t.Errorf("too far: %v", err)
	}
	if _, err := r.hands.Make(t.Context(), r.Posy, r.input(c.ID)); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("a technician: %v", err)
	}
	if _, err := r.hands.Plan(t.Context(), r.Posy, c.ID); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("a technician looks: %v", err)
	}
}

func TestAnIntervalIsNotedChangedAndTakenAway(t *testing.T) {
	r := open(t)
	set := func(in handover.IntervalInput) (handover.Interval, error) {
		in.OperationID = r.Service
		return r.hands.SetInterval(t.Context(), r.Owner, in)
	}
	if v, err := set(handover.IntervalInput{Months: 12}); err != nil || v.Version != 1 {
		t.Fatal(v, err)
	}
	if _, err := set(handover.IntervalInput{Months: 24}); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("a stale one: %v", err)
	}
	if _, err := set(handover.IntervalInput{Version: 1, Months: 241, Distance: 7}); fieldsOf(err)["months"] == "" || fieldsOf(err)["distance"] == "" {
		t.Errorf("%v", err)
	}
	if v, err := set(handover.IntervalInput{Version: 1, Distance: 20_000}); err != nil || v.Version != 2 || v.Months != 0 {
		t.Error(v, err)
	}
	if v, err := set(handover.IntervalInput{Version: 2}); err != nil || v.Version != 0 {
		t.Error(v, err)
	}
	all, err := r.hands.Intervals(t.Context(), r.Owner)
	if r.OK(err); len(all) != 3 || all[0].Name != "Annual service" || all[0].Months != 0 {
		t.Errorf("%+v", all)
	}
	if _, err := r.hands.SetInterval(t.Context(), r.Desk, handover.IntervalInput{OperationID: r.Service, Months: 1}); !apperr.Is(err, apperr.Forbidden) {
		t.Errorf("the desk: %v", err)
	}
}

// PostgreSQL's own addition of months is the outside truth.
func TestMonthsAreAddedAsPostgreSQLAddsThem(t *testing.T) {
	r := open(t)
	for d := workday.Must(2023, time.December, 25); d.Before(workday.Must(2024, time.April, 3)); d = d.AddDays(1) {
		for _, n := range []int{1, 2, 6, 11, 12, 14, 24, 240} {
			var want time.Time
			r.OK(r.DB.Pool.QueryRow(t.Context(), `select ($1::date + make_interval(months => $2))::date`, d.UTC(), n).Scan(&want))
			if got := handover.AddMonths(d, n); got != workday.FromDate(want) {
				t.Errorf("%s and %d months is %s, want %s", d, n, got, workday.FromDate(want))
			}
		}
	}
}
