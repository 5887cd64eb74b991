package api

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// hostile are bodies that nobody means well with.
var hostile = map[string]string{
	"nothing":                          "",
	"blanks":                           " \n\t ",
	"null":                             "null",
	"a number":                         "7",
	"text":                             `"text"`,
	"a list":                           "[]",
	"an empty object":                  "{}",
	"not JSON":                         "<script>alert(1)</script>",
	"half an object":                   `{"a":`,
	"two objects":                      `{} {}`,
	"a comma too many":                 `{"a":1,}`,
	"bytes that are none":              "{\"name\":\"\xff\xfe\"}",
	"half a surrogate":                 `{"name":"\ud800"}`,
	"a null byte":                      `{"name":"a\u0000b"}`,
	"a null byte in a name of a field": `{"na\u0000me":"x"}`,
	"a field twice":                    `{"name":"a","name":"b"}`,
	"a huge number":                    `{"version":1e400,"vehicle_id":1e400,"card_id":1e400}`,
	"a number with an exponent":        `{"version":1e2,"reason":"x","name":"x","qty_milli":1e3}`,
	"a number of many digits":          `{"version":` + strings.Repeat("9", 400) + `}`,
	"deep nesting":                     strings.Repeat(`{"a":`, 5000) + "1" + strings.Repeat("}", 5000),
	"deeper nesting":                   strings.Repeat("[", 200_000),
	"lists in lists":                   `{"lines":` + strings.Repeat("[", 300) + strings.Repeat("]", 300) + `}`,
	"objects for all":                  `{"name":{},"reason":{},"version":{},"lines":{},"weeks":{},"cautions":{},"facts":{}}`,
	"lists for all":                    `{"name":[],"reason":[],"version":[],"stage":[{}],"kind":[{}],"answer":[[]],"active":[]}`,
	"nulls for all":                    `{"name":null,"reason":null,"version":null,"lines":null,"stage":null,"value":null,"found":null,"shifts":null}`,
	"many fields":                      `{"x":1` + manyFields(3000) + "}",
	"long text":                        `{"name":"` + strings.Repeat("x", 200_000) + `","reason":"` + strings.Repeat("y", 200_000) + `"}`,
	"a prototype":                      `{"__proto__":{"admin":true},"constructor":{"a":1}}`,
	"SQL":                              `{"name":"'; drop table card; --","reason":"'; drop table card; --","version":1,"value":"'; drop table card; --"}`,
	"right to left":                    `{"name":"\u202egnp.exe","reason":"\u202e","version":1,"value":"\u202e"}`,
}

func manyFields(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `,"f%d":%d`, i, i)
	}
	return b.String()
}

var parameter = regexp.MustCompile(`\{([a-z]+)\}`)

// addressed is a path of the document with numbers in the place of its
// parameters that nothing has, or other text for all.
func addressed(path, text string) string {
	return parameter.ReplaceAllStringFunc(path, func(p string) string {
		switch {
		case text != "":
			return url.PathEscape(text)
		case p == "{key}":
			return "engine_code"
		case p == "{source}":
			return "car"
		case p == "{code}":
			return "reduced"
		case p == "{from}":
			return "2030-01-01"
		}
		return "987654"
	})
}

func TestNoBodyAndNoAddressMakesAnythingFall(t *testing.T) {
	s := newSite(t)
	tables := []string{"card", "line", "part", "customer", "vehicle", "staff", "operation", "supplier", "api_token", "attendance"}
	before := map[string]int{}
	for _, table := range tables {
		before[table] = s.count(`select count(*) from ` + table)
	}
	refused := 0
	check := func(what string, a reply, mayBeDone bool) {
		t.Helper()
		switch {
		case a.Status >= 500:
			t.Errorf("%s: %d %s", what, a.Status, a.Raw)
		case a.Status >= 400:
			refused++
			if ct := a.Header.Get("Content-Type"); ct != problemType {
				t.Errorf("%s: %d of type %q", what, a.Status, ct)
			}
		case !mayBeDone:
			t.Errorf("%s was done: %d %s", what, a.Status, a.Raw)
		}
	}
	for _, d := range s.api.Declared() {
		path := strings.TrimPrefix(d.Pattern, Prefix)
		if path == documentPath {
			continue
		}
		if d.Method == http.MethodGet {
			continue
		}
		// What takes no body can only be sent none; and some of it can be done.
		alone := map[string]bool{"/clock-off": true, "/arrive": true, "/go-home": true}[path]
		for name, body := range hostile {
			plain := strings.TrimSpace(body) == "" || body == "{}"
			check(d.Method+" "+path+" with "+name, s.call("owner", d.Method, addressed(path, ""), body), alone && plain)
		}
	}
	for _, d := range s.api.Declared() {
		path := strings.TrimPrefix(d.Pattern, Prefix)
		if !strings.Contains(path, "{") {
			continue
		}
		for _, text := range []string{"x", "0", "-1", "1.0", "1e3", "9223372036854775808", "'; --", "\x00", "\xff", "../../etc", "%", "⅔", strings.Repeat("9", 300)} {
			check(d.Method+" "+path+" at "+text, s.call("owner", d.Method, addressed(path, text), obj{}), false)
		}
	}
	for _, query := range []string{
		"text=%00", "text=%ff", "text=%", "text=a;b", "day=x", "day=2026-02-30", "day=%00", "limit=-1", "limit=1e3", "staff=x", "staff=99999999999999999999", "before=0", "phone=%00",
		"text=" + strings.Repeat("x", 7000), "[]=1", "text[]=1", "=1", "a=1&a=2", "text='%3B+drop+table+card%3B+--",
	} {
		for _, path := range []string{"/vehicles", "/customers", "/operations", "/clockings", "/diary/day", "/diary/week", "/days-end", "/events", "/cards/1/cost"} {
			check(path+"?"+query, s.get("owner", path+"?"+query), strings.HasPrefix(query, "text='"))
		}
	}
	if refused < 1000 {
		t.Errorf("only %d requests were refused", refused)
	}
	before["attendance"]++ // somebody arrived
	for _, table := range tables {
		if n := s.count(`select count(*) from ` + table); n != before[table] {
			t.Errorf("%s: %d rows, there were to be %d", table, n, before[table])
		}
	}
	if n := s.log.count("request failed"); n != 0 {
		t.Errorf("%d faults are in the log", n)
	}
}

func TestABodyBeyondAllMeasureIsRefusedUnread(t *testing.T) {
	s := newSite(t)
	body := `{"name":"` + strings.Repeat("x", bodyMax) + `"}`
	s.post("desk", "/customers", body).problem(http.StatusRequestEntityTooLarge, "too-large")
	for ct, kind := range map[string]string{
		"text/plain": "unsupported-media-type", "application/x-www-form-urlencoded": "unsupported-media-type",
		"application/json; charset=latin1": "unsupported-media-type", "application/cbor": "unsupported-media-type", ";": "unsupported-media-type",
	} {
		s.post("desk", "/customers", `{"name":"Ada Fenn"}`, "Content-Type", ct).problem(http.StatusUnsupportedMediaType, kind)
	}
	as[CustomerChanged](s.post("desk", "/customers", `{"name":"Ada Fenn"}`, "Content-Type", "application/json; charset=UTF-8"), http.StatusCreated)
}
