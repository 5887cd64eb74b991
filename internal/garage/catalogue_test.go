package garage_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/caution"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/money"
)

func clutch(labour garage.LabourTypeID) garage.OperationInput {
	return garage.OperationInput{
		Name: "Clutch, replace", LabourTypeID: labour, Low: 4 * time.Hour, Likely: 5*time.Hour + 30*time.Minute, High: 8 * time.Hour,
		VATCode: money.Standard, Cautions: []caution.Key{caution.Lifting, caution.Lifting}, WheelsOff: true, Active: true,
	}
}

func TestAnOperationIsReadBackAsItWasSaved(t *testing.T) {
	s, db := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	in := clutch(labour.ID)
	price := money.Minor(48_000)
	in.FixedPrice = &price
	saved := must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, in))
	got := must[garage.Operation](t)(garage.OperationByID(t.Context(), db.Pool, saved.ID))
	if got.Name != "Clutch, replace" || got.LabourName != "Workshop" || got.Rate != 6000 || got.Likely != 5*time.Hour+30*time.Minute ||
		got.FixedPrice == nil || *got.FixedPrice != 48_000 || !got.Safety || !got.WheelsOff || got.Inspects || !got.Active || got.Version != 1 ||
		!slices.Equal(got.Cautions, []caution.Key{caution.Lifting}) {
		t.Errorf("%+v", got)
	}
	in.ID, in.Version, in.FixedPrice, in.Active = saved.ID, saved.Version, nil, false
	retired := must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, in))
	if retired.Active || retired.FixedPrice != nil || retired.Version != 2 {
		t.Errorf("%+v", retired)
	}
	if found := must[[]garage.Operation](t)(garage.SearchOperations(t.Context(), db.Pool, "clutch", 10)); len(found) != 0 {
		t.Errorf("a retired operation is offered: %v", found)
	}
	if _, err := garage.OperationByID(t.Context(), db.Pool, 999); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("%v", err)
	}
}

func TestWhatIsWrongWithAnOperationIsSaidAtTheField(t *testing.T) {
	s, db := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	minus, much := money.Minor(-1), money.Minor(100_000_001)
	for name, c := range map[string]struct {
		field string
		spoil func(*garage.OperationInput)
	}{
		"no name":         {"name", func(in *garage.OperationInput) { in.Name = "" }},
		"a long name":     {"name", func(in *garage.OperationInput) { in.Name = strings.Repeat("x", 121) }},
		"bytes":           {"name", func(in *garage.OperationInput) { in.Name = "Clutch\xff" }},
		"no labour":       {"labour_type", func(in *garage.OperationInput) { in.LabourTypeID = 0 }},
		"unknown labour":  {"labour_type", func(in *garage.OperationInput) { in.LabourTypeID = 1 << 60 }},
		"order":           {"likely", func(in *garage.OperationInput) { in.Low = 6 * time.Hour }},
		"order above":     {"likely", func(in *garage.OperationInput) { in.High = time.Hour }},
		"no time":         {"likely", func(in *garage.OperationInput) { in.Low, in.Likely, in.High = 0, 0, 0 }},
		"negative":        {"low", func(in *garage.OperationInput) { in.Low = -time.Hour }},
		"too long":        {"high", func(in *garage.OperationInput) { in.High = hours.Max + time.Minute }},
		"price below":     {"fixed_price", func(in *garage.OperationInput) { in.FixedPrice = &minus }},
		"price above":     {"fixed_price", func(in *garage.OperationInput) { in.FixedPrice = &much }},
		"VAT":             {"vat_code", func(in *garage.OperationInput) { in.VATCode = "half" }},
		"unknown caution": {"cautions", func(in *garage.OperationInput) { in.Cautions = []caution.Key{"lions"} }},
	} {
		in := clutch(labour.ID)
		c.spoil(&in)
		_, err := s.SaveOperation(t.Context(), owner, in)
		t.Run(name, func(t *testing.T) { wants(t, err, c.field) })
	}
	if all := must[[]garage.Operation](t)(garage.Operations(t.Context(), db.Pool, "")); len(all) != 0 {
		t.Errorf("refused operations left %v", all)
	}
}

func TestOperationsAreFoundByEveryWordInAnyCase(t *testing.T) {
	s, db := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	for _, name := range []string{"Front brake pads, replace", "Brake fluid, renew", "Rear brake shoes, replace", "100 % check", "Under_score"} {
		in := clutch(labour.ID)
		in.Name = name
		must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, in))
	}
	for text, want := range map[string][]string{
		"BRAKE":                  {"Brake fluid, renew", "Front brake pads, replace", "Rear brake shoes, replace"},
		"repl bra":               {"Front brake pads, replace", "Rear brake shoes, replace"},
		"%":                      {"100 % check"},
		"_":                      {"Under_score"},
		`\`:                      nil,
		"brake\x00 \xff fluid":   {"Brake fluid, renew"},
		"'; drop table card; --": nil,
		"":                       {"100 % check", "Brake fluid, renew", "Front brake pads, replace", "Rear brake shoes, replace", "Under_score"},
	} {
		var got []string
		for _, o := range must[[]garage.Operation](t)(garage.SearchOperations(t.Context(), db.Pool, text, 50)) {
			got = append(got, o.Name)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q finds %v, want %v", text, got, want)
		}
	}
	if got := must[[]garage.Operation](t)(garage.SearchOperations(t.Context(), db.Pool, "", 2)); len(got) != 2 {
		t.Errorf("limit 2 gives %d", len(got))
	}
	if got := must[[]garage.Operation](t)(garage.SearchOperations(t.Context(), db.Pool, "", -5)); len(got) != 0 {
		t.Errorf("limit -5 gives %d", len(got))
	}
}

func TestANameIsUsedOnce(t *testing.T) {
	s, _ := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	_, err := s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: " Workshop ", Rate: 1})
	wants(t, err, "name")
	must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, clutch(labour.ID)))
	_, err = s.SaveOperation(t.Context(), owner, clutch(labour.ID))
	wants(t, err, "name")
	must[garage.Supplier](t)(s.SaveSupplier(t.Context(), owner, garage.SupplierInput{Name: "Harbour Motor Factors"}))
	_, err = s.SaveSupplier(t.Context(), owner, garage.SupplierInput{Name: "Harbour  Motor Factors"})
	wants(t, err, "name")
}

func TestAnEditFromAnOldVersionShowsTheNewOne(t *testing.T) {
	s, _ := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	op := must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, clutch(labour.ID)))
	sup := must[garage.Supplier](t)(s.SaveSupplier(t.Context(), owner, garage.SupplierInput{Name: "Harbour Motor Factors"}))
	must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{ID: labour.ID, Version: 1, Name: "Workshop", Rate: 6500, Active: true}))
	edit := clutch(labour.ID)
	edit.ID, edit.Version, edit.Name = op.ID, 1, "Clutch kit, replace"
	must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, edit))
	must[garage.Supplier](t)(s.SaveSupplier(t.Context(), owner, garage.SupplierInput{ID: sup.ID, Version: 1, Name: "Harbour Factors", Active: true}))

	_, e1 := s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{ID: labour.ID, Version: 1, Name: "W", Active: true})
	_, e2 := s.SaveOperation(t.Context(), owner, edit)
	_, e3 := s.SaveSupplier(t.Context(), owner, garage.SupplierInput{ID: sup.ID, Version: 1 << 40, Name: "H", Active: true})
	var e *apperr.Error
	if !errors.As(e1, &e) || e.Current.(garage.LabourType).Rate != 6500 {
		t.Errorf("%v", e1)
	}
	if !errors.As(e2, &e) || e.Current.(garage.Operation).Name != "Clutch kit, replace" || e.Current.(garage.Operation).Rate != 6500 {
		t.Errorf("%v", e2)
	}
	if !errors.As(e3, &e) || e.Current.(garage.Supplier).Name != "Harbour Factors" {
		t.Errorf("%v", e3)
	}
	for i, err := range []error{
		func() error {
			_, err := s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{ID: 99, Name: "W"})
			return err
		}(),
		func() error { edit.ID = 99; _, err := s.SaveOperation(t.Context(), owner, edit); return err }(),
		func() error {
			_, err := s.SaveSupplier(t.Context(), owner, garage.SupplierInput{ID: 99, Name: "W"})
			return err
		}(),
	} {
		if !apperr.Is(err, apperr.NotFound) {
			t.Errorf("edit %d of what is not there: %v", i, err)
		}
	}
}

func TestLabourThatOperationsTakeCannotBeRetired(t *testing.T) {
	s, db := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	op := must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, clutch(labour.ID)))
	retire := garage.LabourTypeInput{ID: labour.ID, Version: 1, Name: "Workshop", Rate: 6000}
	_, err := s.SaveLabourType(t.Context(), owner, retire)
	wants(t, err, "active")
	in := clutch(labour.ID)
	in.ID, in.Version, in.Active = op.ID, op.Version, false
	must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, in))
	must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, retire))
	in.Name = "Clutch, adjust"
	in.ID, in.Version, in.Active = 0, 0, true
	_, err = s.SaveOperation(t.Context(), owner, in)
	wants(t, err, "labour_type")
	all := must[[]garage.LabourType](t)(garage.LabourTypes(t.Context(), db.Pool))
	if len(all) != 1 || all[0].Active {
		t.Errorf("%v", all)
	}
}

// Whichever comes first, never is there an active operation on retired labour.
func TestRetiringLabourAndUsingItAtTheSameTimeCannotBothWin(t *testing.T) {
	s, db := service(t)
	for i := range 20 {
		labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: fmt.Sprint("Labour ", i), Rate: 1}))
		var wg sync.WaitGroup
		wg.Go(func() {
			in := clutch(labour.ID)
			in.Name = fmt.Sprint("Operation ", i)
			_, _ = s.SaveOperation(t.Context(), owner, in)
		})
		wg.Go(func() {
			_, _ = s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{ID: labour.ID, Version: 1, Name: labour.Name, Rate: 1})
		})
		wg.Wait()
	}
	var both, either int
	err := db.Pool.QueryRow(t.Context(), `
		select count(*) filter (where o.id is not null and not l.active), count(*) filter (where o.id is not null or not l.active)
		from labour_type l left join operation o on o.labour_type_id = l.id`).Scan(&both, &either)
	if err != nil || both != 0 || either != 20 {
		t.Errorf("both %d, either %d, %v", both, either, err)
	}
}

func TestAReplayedSaveGivesTheSameAnswerAndOneRow(t *testing.T) {
	s, db := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	in := clutch(labour.ID)
	price := money.Minor(12_345)
	in.FixedPrice = &price
	keyed := owner.WithKey("one-press")
	first := must[garage.Operation](t)(s.SaveOperation(t.Context(), keyed, in))
	again := must[garage.Operation](t)(s.SaveOperation(t.Context(), keyed, in))
	if again.ID != first.ID || *again.FixedPrice != *first.FixedPrice || again.Likely != first.Likely || !slices.Equal(again.Cautions, first.Cautions) {
		t.Errorf("%+v, then %+v", first, again)
	}
	if all := must[[]garage.Operation](t)(garage.Operations(t.Context(), db.Pool, "")); len(all) != 1 {
		t.Errorf("%d operations", len(all))
	}
}

func TestSuppliersKeepHowToReachThem(t *testing.T) {
	s, db := service(t)
	must[garage.Supplier](t)(s.SaveSupplier(t.Context(), owner, garage.SupplierInput{Name: "Harbour Motor Factors", Phone: "01632 960200", Email: "parts@harbour.example"}))
	got := must[[]garage.Supplier](t)(garage.Suppliers(t.Context(), db.Pool))
	if len(got) != 1 || got[0].Phone != "01632 960200" || got[0].Email != "parts@harbour.example" || !got[0].Active {
		t.Errorf("%v", got)
	}
	one := must[garage.Supplier](t)(garage.SupplierByID(t.Context(), db.Pool, got[0].ID))
	if one != got[0] {
		t.Errorf("%v", one)
	}
	_, err := s.SaveSupplier(t.Context(), owner, garage.SupplierInput{Name: "H", Phone: "call"})
	wants(t, err, "phone")
	_, err = s.SaveSupplier(t.Context(), owner, garage.SupplierInput{Name: "H", Email: "H <h@harbour.example>"})
	wants(t, err, "email")
}

func TestWorkOnBrakesNeedsASecondCheckWhetherTickedOrNot(t *testing.T) {
	s, _ := service(t)
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	for name, c := range map[string]struct {
		keys           []caution.Key
		wheels, safety bool
	}{
		"Brake fluid, renew": {[]caution.Key{caution.Brakes}, false, true},
		"Tyre, replace":      {nil, true, true},
		"Coolant, renew":     {[]caution.Key{caution.Coolant}, false, false},
	} {
		in := clutch(labour.ID)
		in.Name, in.Cautions, in.WheelsOff = name, c.keys, c.wheels
		if got := must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, in)); got.Safety != c.safety {
			t.Errorf("%s: second check %v", name, got.Safety)
		}
	}
}
