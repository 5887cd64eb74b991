package fit_test

import (
	"encoding/json"
	"strings"
	"testing"

	"rampside/internal/fit"
)

func TestTheTreeInJSONIsTheOneThatIsWritten(t *testing.T) {
	r := parsed(t, "engine code is one of K7A, K7B and built from 2015-03 to 2019-08 and gearbox is not automatic and (displacement over 1.9 l or doors under 5 or engine code begins with X)")
	const want = `{"all":[{"fact":"engine_code","is":["K7A","K7B"]},{"fact":"built","from":"2015-03","to":"2019-08"},{"not":{"fact":"gearbox","is":["automatic"]}},` +
		`{"any":[{"fact":"displacement_cc","over":"1.9 l"},{"fact":"doors","under":"5"},{"fact":"engine_code","begins":["X"]}]}]}`
	b, err := json.Marshal(r)
	if err != nil || string(b) != want {
		t.Errorf("%s, %v", b, err)
	}
	for text, rule := range map[string]string{
		`{"all":[]}`: "any car", `{"any":[]}`: "no car", `null`: "", `{"all":[null]}`: "", `{"any":[{"fact":"doors","is":["5"]}]}`: "doors is 5",
		`{"fact":"built","from":"3/2015"}`: "built from 2015-03",
	} {
		var got fit.Rule
		if err := json.Unmarshal([]byte(text), &got); err != nil || got.String() != rule {
			t.Errorf("%s is %s, %v, want %s", text, got, err, rule)
		}
	}
}

func TestATreeThatIsNoRuleIsRefused(t *testing.T) {
	for _, text := range []string{
		`{}`, `[]`, `"any car"`, `5`, `{"all":5}`, `{"all":[],"any":[]}`, `{"fact":"doors"}`, `{"fact":"hat","is":["red"]}`, `{"fact":"doors","is":["12"]}`,
		`{"fact":"doors","is":["5"],"over":"3"}`, `{"fact":"doors","is":[5]}`, `{"is":["5"]}`, `{"not":5}`, `{"all":[{"fact":"doors","is":["five"]}]}`,
		`{"fact":"doors","is":["5"],"colour":"red"}`, `{"fact":"built","from":"2019","to":"2018"}`,
		strings.Repeat(`{"not":`, 30) + `{"fact":"doors","is":["5"]}` + strings.Repeat(`}`, 30),
		strings.Repeat(`{"not":`, 5000) + `null` + strings.Repeat(`}`, 5000),
		`{"all":[` + strings.Repeat(`{"fact":"doors","is":["5"]},`, fit.MaxConditions) + `{"fact":"doors","is":["5"]}]}`,
		`{"fact":"engine_code","is":["` + strings.Repeat("A", 100) + `"]}`, `{"fact":"engine_code","is":["` + strings.Repeat("A", 40_000) + `"]}`,
	} {
		var r fit.Rule
		if err := json.Unmarshal([]byte(text), &r); err == nil || !r.IsZero() {
			t.Errorf("%.80s is taken as %s", text, r)
		}
	}
}
