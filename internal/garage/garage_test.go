package garage_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/money"
	"rampside/internal/pg/pgtest"
	"rampside/internal/workday"
)

var (
	owner      = actor.Actor{StaffID: 1, Name: "Wren Calloway", Role: actor.Owner, Via: actor.ViaPage, Device: "test"}
	desk       = actor.Actor{StaffID: 2, Name: "Idris Marlowe", Role: actor.Desk, Via: actor.ViaPage, Device: "test"}
	technician = actor.Actor{StaffID: 3, Name: "Posy Thackeray", Role: actor.Technician, Via: actor.ViaPage, Device: "test"}
)

// now is a Monday, ten in the morning by the garage's clock.
var now = time.Date(2026, 10, 5, 9, 0, 0, 0, time.UTC)

func nowIs() time.Time { return now }

func service(t *testing.T) (*garage.Service, *change.DB) {
	t.Helper()
	db := &change.DB{Pool: pgtest.New(t), Now: func() time.Time { return now }}
	return garage.New(db), db
}

func saltmarsh() garage.Settings {
	return garage.Settings{
		Name: "Saltmarsh Lane Garage", Address: "1 Saltmarsh Lane\nSedgeholm", Phone: "01632 960100", Email: "desk@saltmarsh.example",
		VATNumber: "GB 844 2814 25", ZoneName: "Europe/London", Currency: "GBP", Opens: 8*60 + 30, Closes: 17*60 + 30,
		WorkDays:         []time.Weekday{time.Friday, time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Monday},
		StandardCostRate: 1800, DefaultMarkupBP: 3000, VATRounding: money.PerDocument,
	}
}

func must[T any](t *testing.T) func(T, error) T {
	t.Helper()
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// wants checks that err is Invalid with a message at the field.
func wants(t *testing.T, err error, field string) {
	t.Helper()
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid || e.Fields[field] == "" {
		t.Errorf("%v: no message at %s", err, field)
	}
}

func TestAGarageThatIsNotSetUpIsNotFound(t *testing.T) {
	_, db := service(t)
	if _, err := garage.Load(t.Context(), db.Pool); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("%v", err)
	}
}

func TestSettingsAreReadBackAsTheyWereSaved(t *testing.T) {
	s, db := service(t)
	saved := must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	got := must[garage.Settings](t)(garage.Load(t.Context(), db.Pool))
	if got.Name != "Saltmarsh Lane Garage" || got.VATNumber != "844281425" || got.Opens.String() != "08:30" || got.Closes.String() != "17:30" ||
		got.StandardCostRate != 1800 || got.DefaultMarkupBP != 3000 || got.Version != 1 || got.Address != "1 Saltmarsh Lane\nSedgeholm" {
		t.Errorf("%+v", got)
	}
	week := []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday}
	if !slices.Equal(got.WorkDays, week) || !slices.Equal(saved.WorkDays, week) {
		t.Errorf("work days %v and %v", got.WorkDays, saved.WorkDays)
	}
	if got.Location().String() != "Europe/London" || got.Today(now) != workday.Must(2026, time.October, 5) {
		t.Errorf("%v, %v", got.Location(), got.Today(now))
	}
	if !got.WorksOn(workday.Must(2026, time.October, 5)) || got.WorksOn(workday.Must(2026, time.October, 4)) {
		t.Error("the garage works on the wrong days")
	}
	// The Sunday on which the clocks go back: 17:30 is 17:30 UTC, the Saturday
	// before it was 16:30 UTC.
	for day, want := range map[int]int{24: 16, 25: 17} {
		if at := got.ClosesAt(workday.Must(2026, time.October, day)).UTC(); at.Hour() != want || at.Minute() != 30 {
			t.Errorf("on the %d it closes at %v", day, at)
		}
	}
}

func TestSundayIsKeptAsADayOfTheWeek(t *testing.T) {
	s, db := service(t)
	in := saltmarsh()
	in.WorkDays = []time.Weekday{time.Sunday, time.Saturday}
	must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, in))
	got := must[garage.Settings](t)(garage.Load(t.Context(), db.Pool))
	if !slices.Equal(got.WorkDays, []time.Weekday{time.Saturday, time.Sunday}) {
		t.Errorf("%v", got.WorkDays)
	}
}

func TestWhatIsWrongWithTheSettingsIsSaidAtTheField(t *testing.T) {
	s, db := service(t)
	for field, spoil := range map[string]func(*garage.Settings){
		"name":         func(s *garage.Settings) { s.Name = " \t " },
		"address":      func(s *garage.Settings) { s.Address = "1 Saltmarsh\x00Lane" },
		"phone":        func(s *garage.Settings) { s.Phone = "ring me" },
		"email":        func(s *garage.Settings) { s.Email = "desk at saltmarsh" },
		"vat_number":   func(s *garage.Settings) { s.VATNumber = "844281426" },
		"zone":         func(s *garage.Settings) { s.ZoneName = "Europe/Sedgeholm" },
		"currency":     func(s *garage.Settings) { s.Currency = "G1P" },
		"opens":        func(s *garage.Settings) { s.Opens = 1440 },
		"closes":       func(s *garage.Settings) { s.Closes = s.Opens },
		"work_days":    func(s *garage.Settings) { s.WorkDays = nil },
		"cost_rate":    func(s *garage.Settings) { s.StandardCostRate = -1 },
		"markup":       func(s *garage.Settings) { s.DefaultMarkupBP = 100_001 },
		"vat_rounding": func(s *garage.Settings) { s.VATRounding = "never" },
	} {
		in := saltmarsh()
		spoil(&in)
		_, err := s.SaveSettings(t.Context(), owner, in)
		wants(t, err, field)
	}
	for _, currency := range []string{"", "XXZ", "JPY", "GB£", "GBPS"} {
		in := saltmarsh()
		in.Currency = currency
		_, err := s.SaveSettings(t.Context(), owner, in)
		wants(t, err, "currency")
	}
	for _, zone := range []string{"", "Local", "local", "../../etc/passwd", "Europe/London\x00", "/etc/localtime", "\xff"} {
		in := saltmarsh()
		in.ZoneName = zone
		_, err := s.SaveSettings(t.Context(), owner, in)
		wants(t, err, "zone")
	}
	if _, err := garage.Load(t.Context(), db.Pool); !apperr.Is(err, apperr.NotFound) {
		t.Errorf("refused settings left something: %v", err)
	}
}

func TestAGarageElsewhereKeepsItsOwnFormOfVATNumber(t *testing.T) {
	s, _ := service(t)
	in := saltmarsh()
	in.Currency, in.VATNumber, in.ZoneName = "eur", "ie 1234567-t", "Europe/Dublin"
	got := must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, in))
	if got.Money().Format(123456) != "€1,234.56" || got.Currency != "EUR" || got.VATNumber != "IE1234567T" {
		t.Errorf("%q %q", got.Currency, got.VATNumber)
	}
	in.Version, in.VATNumber = got.Version, "<script>"
	_, err := s.SaveSettings(t.Context(), owner, in)
	wants(t, err, "vat_number")
}

func TestSettingsChangedMeanwhileAreShownAndNotOverwritten(t *testing.T) {
	s, db := service(t)
	first := must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	// A second set-up at the same time is a stale edit too.
	if _, err := s.SaveSettings(t.Context(), owner, saltmarsh()); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("set up twice: %v", err)
	}
	first.Name = "Saltmarsh Garage"
	second := must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, first))
	if second.Version != 2 {
		t.Errorf("version %d", second.Version)
	}
	first.Name = "Another Name"
	_, err := s.SaveSettings(t.Context(), owner, first)
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Conflict {
		t.Fatalf("%v", err)
	}
	if cur, ok := e.Current.(garage.Settings); !ok || cur.Name != "Saltmarsh Garage" || cur.Version != 2 {
		t.Errorf("current: %+v", e.Current)
	}
	var kinds []string
	rows, _ := db.Pool.Query(t.Context(), `select kind from event order by id`)
	for rows.Next() {
		var k string
		if err := rows.Scan(&k); err != nil {
			t.Fatal(err)
		}
		kinds = append(kinds, k)
	}
	if !slices.Equal(kinds, []string{"garage set up", "garage settings changed"}) {
		t.Errorf("%v", kinds)
	}
}

func TestOnlyTheOwnerMaySetTheGarageUp(t *testing.T) {
	s, _ := service(t)
	for who, want := range map[*actor.Actor]apperr.Kind{&desk: apperr.Forbidden, &technician: apperr.Forbidden, {}: apperr.Unsigned} {
		_, e1 := s.SaveSettings(t.Context(), *who, saltmarsh())
		_, e2 := s.SaveLabourType(t.Context(), *who, garage.LabourTypeInput{Name: "Workshop", Rate: 6000})
		_, e3 := s.SaveOperation(t.Context(), *who, garage.OperationInput{Name: "Clutch, replace"})
		_, e4 := s.SaveSupplier(t.Context(), *who, garage.SupplierInput{Name: "Harbour Motor Factors"})
		_, e5 := s.SetVATRate(t.Context(), *who, garage.VATRateInput{})
		e6 := s.RemoveVATRate(t.Context(), *who, money.Standard, workday.Must(2027, 1, 1))
		for i, err := range []error{e1, e2, e3, e4, e5, e6} {
			if apperr.KindOf(err) != want {
				t.Errorf("%s, write %d: %v", who.Role, i+1, err)
			}
		}
	}
}

func TestTheOverviewCountsWhatIsInUse(t *testing.T) {
	s, _ := service(t)
	if o := must[garage.Overview](t)(s.Overview(t.Context(), owner)); o.Set || o.Operations != 0 {
		t.Errorf("before it is set up: %+v", o)
	}
	must[garage.Settings](t)(s.SaveSettings(t.Context(), owner, saltmarsh()))
	labour := must[garage.LabourType](t)(s.SaveLabourType(t.Context(), owner, garage.LabourTypeInput{Name: "Workshop", Rate: 6000}))
	op := must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, clutch(labour.ID)))
	retired := clutch(labour.ID)
	retired.ID, retired.Version, retired.Active = op.ID, op.Version, false
	must[garage.Operation](t)(s.SaveOperation(t.Context(), owner, retired))
	o := must[garage.Overview](t)(s.Overview(t.Context(), owner))
	if !o.Set || o.Name != "Saltmarsh Lane Garage" || o.Operations != 0 || o.LabourTypes != 1 || o.Suppliers != 0 {
		t.Errorf("%+v", o)
	}
}

func TestOnlyTheOwnerReadsHowTheGarageIsSetUp(t *testing.T) {
	s, _ := service(t)
	for _, who := range []actor.Actor{desk, technician} {
		_, e1 := s.Overview(t.Context(), who)
		_, e2 := s.Settings(t.Context(), who)
		_, e3 := s.LabourTypes(t.Context(), who)
		_, e4 := s.LabourType(t.Context(), who, 1)
		_, e5 := s.Operations(t.Context(), who, "")
		_, e6 := s.Operation(t.Context(), who, 1)
		_, e7 := s.Suppliers(t.Context(), who)
		_, e8 := s.Supplier(t.Context(), who, 1)
		_, e9 := s.VATRates(t.Context(), who)
		for i, err := range []error{e1, e2, e3, e4, e5, e6, e7, e8, e9} {
			if !apperr.Is(err, apperr.Forbidden) {
				t.Errorf("%s, read %d: %v", who.Role, i+1, err)
			}
		}
	}
}
