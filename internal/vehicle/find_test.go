package vehicle_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// yard is a garage with a few cars on file. Marks, numbers and people are
// invented; the telephone numbers are of those that Ofcom keeps for drama.
type yard struct {
	*rig
	cars map[string]vehicle.ID
}

func newYard(t *testing.T) *yard {
	y := &yard{newRig(t), map[string]vehicle.ID{}}
	for _, c := range []struct{ mark, vin, make, model, keeper, phone string }{
		{"BD51 SMR", "1M8GDM9AXKP042788", "Corvane", "Alder", "Ines Aldous", "07700 900123"},
		{"BD51 SMX", "", "Brisling", "Tern", "Tom Halloran-Reed", "01632 960555"},
		{"TE67 OIL", "", "Halden", "Pike", "Aldous & Sons 100%_Ltd", "020 7946 0018 / 07700 900777"},
		{"ABC 123A", "", "Tamar", "Gull", "Ó Briain, Nóra", "+44 (0)7700 900999"},
		{"", "WVWZZZ1JZ3W386752", "Meridian", "Lumen", "Po Li", ""},
		{"XY21 ZZZ", "", "Fenwick", "Dart", "", ""},
	} {
		var keeper customer.ID
		if c.keeper != "" {
			keeper = y.customer(c.keeper, c.phone)
		}
		got, err := y.add(vehicle.AddInput{
			Input:    vehicle.Input{Mark: c.mark, VIN: c.vin, Make: c.make, Model: c.model},
			KeeperID: keeper, KeptFrom: workday.Must(2024, time.May, 1),
		})
		if err != nil {
			t.Fatalf("%s: %v", c.model, err)
		}
		y.cars[c.model] = got
	}
	return y
}

func (y *yard) found(text string) []string {
	y.Helper()
	hits, err := vehicle.Find(y.Context(), y.db.Pool, text, 20)
	if err != nil {
		y.Fatalf("Find(%q): %v", text, err)
	}
	var out []string
	for _, h := range hits {
		out = append(out, h.Model)
	}
	return out
}

func TestACarIsFoundByWhateverIsTyped(t *testing.T) {
	y := newYard(t)
	for _, c := range []struct {
		typed string
		first string
	}{
		// The mark, in any spelling.
		{"BD51 SMR", "Alder"}, {"bd51smr", "Alder"}, {"bd5i smr", "Alder"}, {"b d-5 1.s m r", "Alder"},
		{"te67 0il", "Pike"}, {"TE67OIL", "Pike"}, {"te67 01l", "Pike"}, {"abc123a", "Gull"}, {"ABC I23A", "Gull"},
		// A part of it.
		{"te", "Pike"}, {"51 smx", "Tern"}, {"23A", "Gull"},
		// The VIN: whole, its last six, any three.
		{"1M8GDM9AXKP042788", "Alder"}, {"1m8gd m9axk p042788", "Alder"}, {"042788", "Alder"}, {"O42788", "Alder"}, {"788", "Alder"},
		{"386752", "Lumen"}, {"WVW", "Lumen"}, {"zzz1j", "Lumen"},
		// The keeper's name.
		{"halloran", "Tern"}, {"REED", "Tern"}, {"tom h", "Tern"}, {"reed tom", "Tern"}, {"briain", "Gull"}, {"NÓRA", "Gull"}, {"po", "Lumen"}, {"li", "Lumen"},
		{"100%_", "Pike"}, {"Sons 100%", "Pike"},
		// The telephone number, in any spelling.
		{"07700 900123", "Alder"}, {"+44 7700 900123", "Alder"}, {"00447700900123", "Alder"}, {"(01632) 960 555", "Tern"}, {"0163296", "Tern"},
		{"020 7946", "Pike"}, {"900777", "Pike"}, {"07700900999", "Gull"},
		// Spelled nearly alike, when nothing fits.
		{"BD51 SNX", "Tern"}, {"Hallorran", "Tern"},
	} {
		got := y.found(c.typed)
		if len(got) == 0 || got[0] != c.first {
			t.Errorf("%q finds %v, want %s first", c.typed, got, c.first)
		}
	}
}

func TestTheLikeliestCarComesFirst(t *testing.T) {
	y := newYard(t)
	for typed, want := range map[string][]string{
		"bd51":      {"Tern", "Alder"}, // both marks begin with it: the newer entry first
		"bd51smx":   {"Tern"},          // what is only alike stays away when one fits
		"Aldous":    {"Pike", "Alder"}, // a name that begins with it, then one that holds it
		"07700 900": {"Gull", "Pike", "Alder"},
		"zzz":       {"Dart", "Lumen"}, // a mark before a VIN
		"x":         nil,               // one character finds nothing
		"nobody":    nil,
	} {
		if got := y.found(typed); !slices.Equal(got, want) {
			t.Errorf("%q finds %v, want %v", typed, got, want)
		}
	}
}

func TestAHitCarriesWhatTheDeskNeeds(t *testing.T) {
	y := newYard(t)
	y.exec(`insert into card (vehicle_id, customer_id, booked_for, created_at, stage, cancel_reason)
		select k.vehicle_id, k.customer_id, day, now(), stage, why from keeper k,
		(values ('2026-03-02'::date, 'collected', ''), ('2026-06-09', 'collected', ''), ('2026-07-01', 'cancelled', 'sold')) x (day, stage, why)
		where k.vehicle_id = $1`, y.cars["Alder"])
	hits, err := y.vehicles.Find(t.Context(), y.desk, "bd51smr", 5)
	if err != nil || len(hits) != 1 {
		t.Fatalf("got %v, %v", hits, err)
	}
	h := hits[0]
	if h.Called() != "BD51 SMR" || h.Name() != "Corvane Alder" || h.Keeper != "Ines Aldous" || h.Phone != "07700 900123" ||
		h.LastVisit != workday.Must(2026, time.June, 9) || h.ID != y.cars["Alder"] {
		t.Errorf("got %+v", h)
	}
}

func TestATechnicianNeitherSeesNorFindsTelephoneNumbers(t *testing.T) {
	y := newYard(t)
	hits, err := y.vehicles.Find(t.Context(), y.tech, "bd51smr", 5)
	if err != nil || len(hits) != 1 || hits[0].Phone != "" || hits[0].Keeper != "Ines Aldous" {
		t.Errorf("got %+v, %v", hits, err)
	}
	if hits, err := y.vehicles.Find(t.Context(), y.tech, "07700 900123", 5); err != nil || len(hits) != 0 {
		t.Errorf("found by number: %+v, %v", hits, err)
	}
	if _, err := y.vehicles.Find(t.Context(), actor.Actor{}, "bd51smr", 5); err == nil {
		t.Error("nobody at all could search")
	}
}

func TestAFormerKeeperNoLongerFindsTheCar(t *testing.T) {
	y := newYard(t)
	heir := y.customer("Zed Quill", "01632 960777")
	if _, err := y.vehicles.ChangeKeeper(t.Context(), y.desk, vehicle.KeeperInput{
		VehicleID: y.cars["Tern"], CustomerID: heir, Day: workday.Must(2026, time.October, 1), Was: y.keeperOf("Tern"),
	}); err != nil {
		t.Fatal(err)
	}
	if got := y.found("halloran"); len(got) != 0 {
		t.Errorf("the former keeper still finds %v", got)
	}
	if got := y.found("quill"); !slices.Equal(got, []string{"Tern"}) {
		t.Errorf("the new keeper finds %v", got)
	}
}

func TestHostileSearchTextIsOnlyText(t *testing.T) {
	y := newYard(t)
	for _, s := range []string{
		"", " ", "%", "%%%", "___", "_D51", `\`, `\\\`, `%\`, "'", `"`, "';--", "'; drop table vehicle; --", "$1", "%[1]s", "%s%d%n",
		"\x00", "a\x00b", "\xff\xfe", "\xc3\x28", strings.Repeat("A", 1<<20), strings.Repeat("%", 10000), strings.Repeat("ab ", 5000),
		"<script>alert(1)</script>", "😀😀😀", "日本語", "İİİ", "\u202e\u202e", "../../etc/passwd", "-1", "1e999", "NaN",
	} {
		hits, err := vehicle.Find(t.Context(), y.db.Pool, s, 20)
		if err != nil {
			t.Errorf("Find(%.30q): %v", s, err)
		}
		for _, h := range hits {
			if strings.Trim(s, `%_\ `) == "" {
				t.Errorf("%.30q finds %s", s, h.Model)
			}
		}
	}
	if got := y.found("te67oil"); len(got) != 1 {
		t.Errorf("afterwards the cars are not as they were: %v", got)
	}
}

func TestASearchIsBounded(t *testing.T) {
	y := newYard(t)
	y.fill(300, "ZZ")
	for limit, want := range map[int]int{-1: 0, 0: 0, 3: 3, 1 << 30: 50} {
		hits, err := vehicle.Find(t.Context(), y.db.Pool, "zz", limit)
		if err != nil || len(hits) != want {
			t.Errorf("limit %d gives %d, %v, want %d", limit, len(hits), err, want)
		}
	}
}

// fill adds n cars with marks that begin with ZZ or, spread, with any letters,
// each with its keeper.
func (y *yard) fill(n int, start string) {
	y.Helper()
	y.exec(`with c as (insert into customer (name, phone, phone_digits, created_at)
			select substr(md5(i::text), 1, 7) || ' ' || substr(md5(i::text), 8, 6), '', '44' || (1000000000 + i * 7919 % 1000000000)::text, now() from generate_series(1, $1::int) i returning id),
		v as (insert into vehicle (mark, mark_shown, mark_key, make, vin, created_at)
			select m, m, m, 'Corvane', translate(upper(substr(md5(m), 1, 17)), 'IOQ', 'JPR'), now()
			from (select coalesce(nullif($2, ''), chr(65 + i * 7 % 25) || chr(65 + i * 11 % 23)) || to_char(i, 'FM00000') m
				from generate_series(1, $1) i) x returning id)
		insert into keeper (vehicle_id, customer_id, kept)
		select v.id, c.id, daterange('2024-01-01', null)
		from (select id, row_number() over (order by id) n from v) v join (select id, row_number() over (order by id) n from c) c using (n)`, n, start)
}

func TestASearchNeverReadsAWholeTable(t *testing.T) {
	y := newYard(t)
	y.fill(20000, "")
	y.exec(`vacuum analyze vehicle, customer, keeper`)
	for _, text := range []string{"VB", "VB12345", "VB1", "01234", "04278", "a3f b7", "ab", "07700 900123", "Halloran"} {
		plan := y.plan(text)
		for _, table := range []string{"vehicle", "customer", "keeper"} {
			if strings.Contains(plan, "Seq Scan on "+table) {
				t.Errorf("%q reads all of %s:\n%s", text, table, plan)
			}
		}
	}
	start := time.Now()
	const rounds = 20
	for i := range rounds {
		y.found(fmt.Sprintf("VB%05d", i*575))
	}
	if each := time.Since(start) / rounds; each > 250*time.Millisecond {
		t.Errorf("a search among 20,000 cars takes %v", each)
	}
}

func (y *yard) plan(text string) string {
	y.Helper()
	var b strings.Builder
	for _, q := range vehicle.FindSQL(text, 10) {
		rows, err := y.db.Pool.Query(y.Context(), "explain "+q[0].(string), q[1:]...)
		if err != nil {
			y.Fatalf("explain %q: %v", text, err)
		}
		lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil || len(lines) == 0 {
			y.Fatalf("explain %q: %v", text, err)
		}
		b.WriteString(strings.Join(lines, "\n") + "\n")
	}
	return b.String()
}
