package vehicle_test

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/vehicle"
)

// fields gives the names of the fields that an Invalid error speaks of.
func fields(t *testing.T, err error) []string {
	t.Helper()
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid {
		t.Errorf("got %v, want an Invalid error", err)
		return nil
	}
	return slices.Sorted(maps.Keys(e.Fields))
}

func TestWhatIsWrongWithACarIsSaidAtTheFieldAndNothingIsWritten(t *testing.T) {
	r := newRig(t)
	long := strings.Repeat("A", 5000)
	for _, c := range []struct {
		name string
		in   vehicle.Input
		want []string
	}{
		{"nothing", vehicle.Input{}, []string{"make", "mark"}},
		{"neither mark nor VIN", vehicle.Input{Make: "Corvane"}, []string{"mark"}},
		{"enormous", vehicle.Input{Mark: long, VIN: long, Make: long, Model: long, Colour: long}, []string{"colour", "make", "mark", "model", "vin"}},
		{"VIN too short", vehicle.Input{VIN: "1HGCM82633A00435", Make: "Corvane"}, []string{"vin"}},
		{"an O in the VIN", vehicle.Input{VIN: "SALVO2AE4EH877322", Make: "Corvane"}, []string{"vin"}},
		{"script for a mark", vehicle.Input{Mark: "<script>", Make: "Corvane"}, []string{"mark"}},
		{"SQL for a mark", vehicle.Input{Mark: "'; drop table vehicle;--", Make: "Corvane"}, []string{"mark"}},
		{"null bytes", vehicle.Input{Mark: "AB\x0012", VIN: "\x00", Make: "\x00", Model: "\x00"}, []string{"make", "mark", "model", "vin"}},
		{"invalid UTF-8", vehicle.Input{Mark: "\xff", Make: "\xff", Colour: "\xc3("}, []string{"colour", "make", "mark"}},
		{"negative", vehicle.Input{Mark: "-1", Make: "-1"}, nil},
	} {
		_, err := r.vehicles.Add(t.Context(), r.desk, vehicle.AddInput{Input: c.in})
		if c.want == nil {
			if err != nil {
				t.Errorf("%s: %v", c.name, err) // strange, but a mark of figures there is
			}
			continue
		}
		if got := fields(t, err); !slices.Equal(got, c.want) {
			t.Errorf("%s: messages at %v, want %v", c.name, got, c.want)
		}
	}
	if n := r.count(`select count(*) from vehicle`); n != 1 {
		t.Errorf("%d cars were written", n)
	}
}

// The VIN is of a European make and carries a filler where North America has
// its check digit (EU note quoted by vehicleidentificationnumber.com).
func TestACheckDigitThatDoesNotFitIsANote(t *testing.T) {
	r := newRig(t)
	id, err := r.add(vehicle.AddInput{Input: vehicle.Input{VIN: "wvwzzz1jz3w386752", Make: "Meridian"}})
	if err != nil {
		t.Fatal(err)
	}
	rec, err := r.vehicles.Record(t.Context(), r.desk, id)
	if err != nil || rec.VIN != "WVWZZZ1JZ3W386752" || len(rec.Notes) != 1 || !strings.Contains(rec.Notes[0], "VIN") || rec.Called() != "WVWZZZ1JZ3W386752" {
		t.Errorf("got %+v, %v", rec, err)
	}
}

func TestACarOnFileIsNamedWhereItsNumberIsTypedAgain(t *testing.T) {
	r := newRig(t)
	if _, err := r.add(vehicle.AddInput{Input: vehicle.Input{Mark: "BD51 SMR", VIN: "1M8GDM9AXKP042788", Make: "Corvane", Model: "Alder"}}); err != nil {
		t.Fatal(err)
	}
	other := r.car("XY21 ZZZ")
	_, err := r.add(vehicle.AddInput{Input: vehicle.Input{Mark: "bd5i-smr", VIN: "1m8gdm9axkp042788", Make: "Other"}})
	if got := fields(t, err); !slices.Equal(got, []string{"mark", "vin"}) {
		t.Errorf("messages at %v", got)
	}
	if !strings.Contains(err.Error(), "BD51 SMR") || !strings.Contains(err.Error(), "Corvane Alder") {
		t.Errorf("the message does not name the car: %v", err)
	}
	_, err = r.vehicles.Edit(t.Context(), r.desk, vehicle.EditInput{ID: other, Version: 1, Input: vehicle.Input{Mark: "BD51SMR", Make: "Corvane"}})
	if got := fields(t, err); !slices.Equal(got, []string{"mark"}) {
		t.Errorf("messages at %v", got)
	}
	twins, err := vehicle.Twins(t.Context(), r.db.Pool, vehicle.Input{Mark: "bd5i smr"})
	if err != nil || len(twins) != 1 || twins[0].MarkShown != "BD51 SMR" {
		t.Errorf("twins: %+v, %v", twins, err)
	}
	if twins, err := vehicle.Twins(t.Context(), r.db.Pool, vehicle.Input{VIN: "nonsense"}); err != nil || len(twins) != 0 {
		t.Errorf("twins of nonsense: %+v, %v", twins, err)
	}
}

func TestOneNewCarBookedTwiceAtOnceIsOnFileOnce(t *testing.T) {
	r := newRig(t)
	var wg sync.WaitGroup
	errs := make([]error, 20)
	for i := range errs {
		wg.Go(func() {
			_, errs[i] = r.vehicles.Add(context.WithoutCancel(t.Context()), r.desk, vehicle.AddInput{Input: vehicle.Input{Mark: "BD51 SMR", Make: "Corvane"}})
		})
	}
	wg.Wait()
	good := 0
	for _, err := range errs {
		if err == nil {
			good++
		} else if got := fields(t, err); !slices.Equal(got, []string{"mark"}) {
			t.Errorf("messages at %v: %v", got, err)
		}
	}
	if n := r.count(`select count(*) from vehicle`); good != 1 || n != 1 {
		t.Errorf("%d were told it is on file, %d are", good, n)
	}
}

func TestAnEditMadeFromAnOlderVersionLosesNothing(t *testing.T) {
	r := newRig(t)
	id := r.car("BD51 SMR")
	edit := func(v int, model string) error {
		_, err := r.vehicles.Edit(t.Context(), r.desk, vehicle.EditInput{ID: id, Version: v, Input: vehicle.Input{Mark: "BD51 SMR", Make: "Corvane", Model: model}})
		return err
	}
	if err := edit(1, "Alder Long"); err != nil {
		t.Fatal(err)
	}
	err := edit(1, "Alder Short")
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict {
		t.Fatalf("got %v, want a Conflict", err)
	}
	if now, ok := e.Current.(vehicle.Vehicle); !ok || now.Model != "Alder Long" || now.Version != 2 {
		t.Errorf("as it stands: %+v", e.Current)
	}
	if err := edit(2, "Alder Short"); err != nil {
		t.Error(err)
	}
	if _, err := r.vehicles.Edit(t.Context(), r.desk, vehicle.EditInput{ID: 999999, Version: 1, Input: vehicle.Input{Mark: "A1", Make: "x"}}); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a car that is not there: %v", err)
	}
}

func TestEveryChangeIsOnRecordOnce(t *testing.T) {
	r := newRig(t)
	who := r.desk.WithKey("one-key-0000000000")
	in := vehicle.AddInput{Input: vehicle.Input{Mark: "BD51 SMR", Make: "Corvane"}, Facts: []vehicle.FactInput{{Key: "fuel", Value: "diesel", Source: vehicle.FromLogbook}}}
	first, err := r.vehicles.Add(t.Context(), who, in)
	if err != nil {
		t.Fatal(err)
	}
	again, err := r.vehicles.Add(t.Context(), who, in)
	if err != nil || again != first {
		t.Errorf("the same key gave %+v, %v after %+v", again, err, first)
	}
	if n := r.count(`select count(*) from event where kind = 'vehicle added' and staff_name = 'Dilys'`); n != 1 {
		t.Errorf("%d events", n)
	}
	if n := r.count(`select count(*) from event where kind = 'fact noted' and detail->>'value' = 'diesel'`); n != 1 {
		t.Errorf("%d events of the fact", n)
	}
}

func TestARefusedFactLeavesNoCarBehind(t *testing.T) {
	r := newRig(t)
	_, err := r.vehicles.Add(t.Context(), r.desk, vehicle.AddInput{
		Input: vehicle.Input{Mark: "BD51 SMR", Make: "Corvane"}, Facts: []vehicle.FactInput{{Key: "fuel", Value: "steam", Source: vehicle.FromCar}},
	})
	if got := fields(t, err); !slices.Equal(got, []string{"value"}) {
		t.Errorf("messages at %v", got)
	}
	if n := r.count(`select count(*) from vehicle`) + r.count(`select count(*) from event`); n != 0 {
		t.Errorf("%d rows were left", n)
	}
}

func TestOnlyThoseWithTheRightChangeCars(t *testing.T) {
	r := newRig(t)
	id := r.car("BD51 SMR")
	fact := vehicle.FactEdit{VehicleID: id, FactInput: vehicle.FactInput{Key: "airbags", Value: "6", Source: vehicle.FromCar}}
	for name, c := range map[string]struct {
		who  actor.Actor
		kind apperr.Kind
	}{"technician": {r.tech, apperr.Forbidden}, "nobody": {actor.Actor{}, apperr.Unsigned}} {
		_, err := r.vehicles.Add(t.Context(), c.who, vehicle.AddInput{Input: vehicle.Input{Mark: "A1", Make: "x"}})
		_, err2 := r.vehicles.Edit(t.Context(), c.who, vehicle.EditInput{ID: id, Version: 1, Input: vehicle.Input{Mark: "A1", Make: "x"}})
		_, err3 := r.vehicles.ChangeKeeper(t.Context(), c.who, vehicle.KeeperInput{VehicleID: id, CustomerID: 1, Day: today})
		for _, err := range []error{err, err2, err3} {
			if !apperr.Is(err, c.kind) {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	if _, err := r.vehicles.SetFact(t.Context(), r.tech, fact); err != nil {
		t.Errorf("a technician may note what they read: %v", err)
	}
	if _, err := r.vehicles.SetFact(t.Context(), actor.Actor{}, fact); !apperr.Is(err, apperr.Unsigned) {
		t.Errorf("nobody noted a fact: %v", err)
	}
	if _, err := r.vehicles.Record(t.Context(), actor.Actor{}, id); !apperr.Is(err, apperr.Unsigned) {
		t.Errorf("nobody read the car: %v", err)
	}
}

func TestAFactKeepsOneValueForEachSource(t *testing.T) {
	r := newRig(t)
	id := r.car("BD51 SMR")
	set := func(v, was string, s vehicle.Source) error {
		_, err := r.vehicles.SetFact(t.Context(), r.tech, vehicle.FactEdit{VehicleID: id, FactInput: vehicle.FactInput{Key: "engine_code", Value: v, Source: s}, Was: was})
		return err
	}
	for _, err := range []error{set("aaa 1", "", vehicle.FromSupplier), set("bbb 2", "", vehicle.FromCar), set("bbb 3", "BBB 2", vehicle.FromCar)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	known, err := vehicle.Facts(t.Context(), r.db.Pool, id)
	if err != nil || len(known) != 1 || len(known[0].All) != 2 || known[0].Best.Value != "BBB 3" || !known[0].Contradicted || known[0].Best.NotedBy != "Tarn" {
		t.Fatalf("got %+v, %v", known, err)
	}
	// Somebody else's value is not written over unseen.
	err = set("ccc 4", "BBB 2", vehicle.FromCar)
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict || e.Current.(vehicle.Fact).Value != "BBB 3" {
		t.Errorf("got %v", err)
	}
	remove := vehicle.FactEdit{VehicleID: id, FactInput: vehicle.FactInput{Key: "engine_code", Source: vehicle.FromSupplier}, Was: "AAA 1"}
	if _, err := r.vehicles.RemoveFact(t.Context(), r.tech, remove); err != nil {
		t.Fatal(err)
	}
	if _, err := r.vehicles.RemoveFact(t.Context(), r.tech, remove); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("removed twice: %v", err)
	}
	remove.Was = ""
	if _, err := r.vehicles.RemoveFact(t.Context(), r.tech, remove); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("removed what is not there: %v", err)
	}
	if n := r.count(`select count(*) from event where kind = 'fact removed' and detail->>'value' = 'AAA 1'`); n != 1 {
		t.Errorf("%d events keep what was removed", n)
	}
	missing := vehicle.FactEdit{VehicleID: 999999, FactInput: vehicle.FactInput{Key: "airbags", Value: "2", Source: vehicle.FromCar}}
	if _, err := r.vehicles.SetFact(t.Context(), r.tech, missing); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a fact of no car: %v", err)
	}
	bad := vehicle.FactEdit{VehicleID: id, FactInput: vehicle.FactInput{Key: "'; drop", Value: "\x00", Source: "gossip"}}
	_, err = r.vehicles.SetFact(t.Context(), r.tech, bad)
	if got := fields(t, err); !slices.Equal(got, []string{"key", "source"}) {
		t.Errorf("messages at %v", got)
	}
}

func TestARecordIsReadWholeAndWithoutPeopleForATechnician(t *testing.T) {
	y := newYard(t)
	y.exec(`insert into card (vehicle_id, customer_id, booked_for, created_at, mileage)
		select vehicle_id, customer_id, '2026-03-02', now(), 42000 from keeper where vehicle_id = $1`, y.cars["Alder"])
	rec, err := y.vehicles.Record(t.Context(), y.desk, y.cars["Alder"])
	if err != nil {
		t.Fatal(err)
	}
	last, ok := rec.LastMileage()
	if rec.Keeper == nil || rec.Keeper.Phone != "07700 900123" || len(rec.Keepers) != 1 || len(rec.Visits) != 1 || !ok || *last.Mileage != 42000 {
		t.Errorf("got %+v", rec)
	}
	rec, err = y.vehicles.Record(t.Context(), y.tech, y.cars["Alder"])
	if err != nil || rec.Keeper.Name != "Ines Aldous" || rec.Keeper.Phone+rec.Keeper.Address+rec.Keeper.Email+rec.Keeper.Note != "" {
		t.Errorf("a technician sees %+v, %v", rec.Keeper, err)
	}
	if rec, err = y.vehicles.Record(t.Context(), y.desk, y.cars["Dart"]); err != nil || rec.Keeper != nil || len(rec.Keepers) != 0 {
		t.Errorf("a car without a keeper: %+v, %v", rec, err)
	}
	if _, err := y.vehicles.Record(t.Context(), y.desk, 999999); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("a car that is not there: %v", err)
	}
	visits, err := vehicle.VisitsOf(t.Context(), y.db.Pool, y.keeperOf("Alder"), 10)
	if err != nil || len(visits) != 1 || visits[0].Mark != "BD51 SMR" || visits[0].Name != "Corvane Alder" {
		t.Errorf("visits: %+v, %v", visits, err)
	}
	kept, err := vehicle.KeptBy(t.Context(), y.db.Pool, y.keeperOf("Alder"))
	if err != nil || len(kept) != 1 || kept[0].MarkShown != "BD51 SMR" || !kept[0].Until.IsZero() {
		t.Errorf("kept: %+v, %v", kept, err)
	}
}
