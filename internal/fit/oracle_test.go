package fit_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rampside/internal/fit"
	"rampside/internal/pg/pgtest"
)

// oracleCar is known well in places and badly in others.
var oracleCar = fit.Known{
	"engine_code":        {Text: "K9K 836", Source: "read off the car"},
	"displacement_cc":    {Text: "1995", Source: "logbook"},
	"built":              {Text: "2019", Source: "logbook"},
	"tyre_size":          {Text: "205/55 R16", Source: "read off the car"},
	"stud_pattern":       {Text: "5x112", Source: "read off the car"},
	"chassis_number":     {Text: "1G4AH59H45G118341", Source: "VIN"},
	"axle_load_front_kg": {Text: "1050", Source: "maker's plate"},
}

// oracleLeaves are conditions of every kind, with their truth for that car as
// somebody who reads them would say.
var oracleLeaves = []struct {
	text string
	want fit.Truth
}{
	{"engine code is one of K7A, K9K 836", T},
	{"engine code begins with K9K", T},
	{"displacement is 2.0 l", T},
	{"displacement from 1900 cc to 1995 cc", T},
	{"built from 2018-06 to 2019-12", T},
	{"built before 2020", T},
	{"tyre size is 205/55 R16", T},
	{"chassis number from 5G118341 to 6G000001", T},
	{"front axle load at least 1.05 t", T},
	{"any car", T},
	{"built from 2019-06", U},
	{"built is 2019-03-14", U},
	{"tyre size is 205/55 R16 91V", U},
	{"chassis number from 7G000001", U},
	{"fuel is diesel", U},
	{"doors at least 4", U},
	{"rear tyre size is 205/55 R16", U},
	{"engine code is K7A", F},
	{"displacement over 1995 cc", F},
	{"built after 2019", F},
	{"tyre size is one of 195/65 R15, 205/60 R16", F},
	{"stud pattern is 5x114.3", F},
	{"chassis number to 5G118340", F},
	{"front axle load under 1050 kg", F},
	{"no car", F},
}

// tree is a random rule, and the same as SQL over the columns t, u and f.
func tree(leaves []fit.Rule, r *rand.Rand, depth int) (fit.Rule, string) {
	if depth == 0 || r.IntN(4) == 0 {
		i := r.IntN(len(leaves))
		return leaves[i], map[fit.Truth]string{T: "t", U: "u", F: "f"}[oracleLeaves[i].want]
	}
	if r.IntN(4) == 0 {
		p, sql := tree(leaves, r, depth-1)
		return fit.Not(p), "(not " + sql + ")"
	}
	parts, sqls := []fit.Rule{}, []string{}
	for range 2 + r.IntN(3) {
		p, sql := tree(leaves, r, depth-1)
		parts, sqls = append(parts, p), append(sqls, sql)
	}
	if r.IntN(2) == 0 {
		return fit.All(parts...), "(" + strings.Join(sqls, " and ") + ")"
	}
	return fit.Any(parts...), "(" + strings.Join(sqls, " or ") + ")"
}

// PostgreSQL works out the same trees by its own three-valued logic, over a
// table of one row, so that the executor and not the planner does it.
func TestTenThousandTreesAreJudgedAsPostgreSQLDoes(t *testing.T) {
	const trees, batch = 10_000, 500
	var leaves []fit.Rule
	for _, l := range oracleLeaves {
		leaves = append(leaves, parsed(t, l.text))
		if got := fit.Judge(leaves[len(leaves)-1], oracleCar).Truth; got != l.want {
			t.Errorf("%s is %s, want %s", l.text, got, l.want)
		}
	}
	ctx := context.Background()
	db, err := pgx.Connect(ctx, pgtest.Empty(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close(ctx) })
	if _, err := db.Exec(ctx, `create temp table leaf (t boolean, u boolean, f boolean)`); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(ctx, `insert into leaf values (true, null, false)`); err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(20261005, 1))
	seen := map[fit.Truth]int{}
	for range trees / batch {
		rules, columns := make([]fit.Rule, batch), make([]string, batch)
		for i := range batch {
			rules[i], columns[i] = tree(leaves, r, 4)
		}
		var says []*bool
		if err := db.QueryRow(ctx, fmt.Sprintf(`select array[%s] from leaf`, strings.Join(columns, ","))).Scan(&says); err != nil {
			t.Fatal(err)
		}
		for i, rule := range rules {
			want := U
			if says[i] != nil && *says[i] {
				want = T
			} else if says[i] != nil {
				want = F
			}
			seen[want]++
			if got := fit.Decide(rule, oracleCar); got != want {
				t.Fatalf("%s\nis %s, and PostgreSQL says %s to %s", rule, got, want, columns[i])
			}
			// The whole verdict with its proof and search is dearer, and comes to
			// the same.
			if i%20 != 0 {
				continue
			}
			if v := fit.Judge(rule, oracleCar); v.Truth != want || v.Proof.Truth != want {
				t.Fatalf("%s\nis judged %s, and PostgreSQL says %s", rule, v.Truth, want)
			}
		}
	}
	if seen[T] < trees/10 || seen[U] < trees/10 || seen[F] < trees/10 {
		t.Errorf("the trees hardly try the logic: %v", seen)
	}
}
