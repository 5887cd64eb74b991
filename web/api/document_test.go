package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"
)

// document is the document as it is served, and everything in it.
func (s *site) document() obj {
	s.t.Helper()
	a := s.call("", http.MethodGet, documentPath, nil)
	if ct := a.Header.Get("Content-Type"); ct != "application/json" {
		s.t.Errorf("the document is served as %q", ct)
	}
	return as[obj](a, http.StatusOK)
}

// each visits every object of a document with its place.
func each(v any, at string, visit func(at string, o obj)) {
	switch v := v.(type) {
	case obj:
		visit(at, v)
		for name, sub := range v {
			each(sub, at+"/"+strings.NewReplacer("~", "~0", "/", "~1").Replace(name), visit)
		}
	case []any:
		for i, sub := range v {
			each(sub, fmt.Sprintf("%s/%d", at, i), visit)
		}
	}
}

// find resolves a reference within the document (RFC 6901).
func find(doc any, ref string) bool {
	path, ok := strings.CutPrefix(ref, "#/")
	if !ok {
		return false
	}
	for part := range strings.SplitSeq(path, "/") {
		o, ok := doc.(obj)
		if !ok {
			return false
		}
		if doc, ok = o[strings.NewReplacer("~1", "/", "~0", "~").Replace(part)]; !ok {
			return false
		}
	}
	return true
}

func TestTheDocumentIsOpenAPI31AndRefersToNothingThatIsNotInIt(t *testing.T) {
	s := newSite(t)
	doc := s.document()
	if v, _ := doc["openapi"].(string); !strings.HasPrefix(v, "3.1.") {
		t.Fatalf("the document is of version %q", v)
	}
	refs, described := 0, 0
	each(doc, "#", func(at string, o obj) {
		if ref, ok := o["$ref"].(string); ok {
			refs++
			if !find(doc, ref) {
				t.Errorf("%s refers to %s, which is not there", at, ref)
			}
		}
		// OpenAPI 3.1 takes its schemas from JSON Schema 2020-12: no nullable.
		if _, ok := o["nullable"]; ok && strings.Contains(at, "/schemas/") {
			t.Errorf("%s says nullable, which is of OpenAPI 3.0", at)
		}
		if k, ok := o["type"].(string); ok && !slices.Contains([]string{"string", "integer", "number", "boolean", "array", "object", "http"}, k) {
			t.Errorf("%s is of type %q", at, k)
		}
		if _, ok := o["description"]; ok {
			described++
		}
	})
	if refs < 200 || described < 200 {
		t.Errorf("%d references and %d descriptions were looked at: too few for the whole", refs, described)
	}
	schemes := doc["components"].(obj)["securitySchemes"].(obj)
	if token := schemes[bearer].(obj); token["type"] != "http" || token["scheme"] != "bearer" {
		t.Errorf("the way in is described as %v", token)
	}
}

func TestEveryRouteIsInTheDocumentAndDeclaresWhoMay(t *testing.T) {
	s := newSite(t)
	paths := s.document()["paths"].(obj)
	declared := map[string]Declared{}
	for _, d := range s.api.Declared() {
		key := d.Method + " " + d.Pattern
		if _, twice := declared[key]; twice || (d.Need == "") == (d.Why == "") {
			t.Errorf("%s is declared as %+v", key, d)
		}
		declared[key] = d
	}
	operations, routes := map[string]bool{}, 0
	err := chi.Walk(s.router, func(method, pattern string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		routes++
		d, ok := declared[method+" "+pattern]
		if !ok {
			t.Errorf("%s %s does not say who may", method, pattern)
		}
		if pattern == Prefix+documentPath {
			return nil
		}
		item, _ := paths[strings.TrimPrefix(pattern, Prefix)].(obj)
		op, _ := item[strings.ToLower(method)].(obj)
		if op == nil {
			t.Errorf("%s %s is not in the document", method, pattern)
			return nil
		}
		operations[op["operationId"].(string)] = true
		checkOperation(t, method, pattern, d, op)
		return nil
	})
	s.OK(err)
	if routes != len(declared) || len(operations) != routes-1 {
		t.Errorf("%d routes, %d declared, %d names of operations", routes, len(declared), len(operations))
	}
}

// checkOperation holds an operation of the document to what every one has.
func checkOperation(t *testing.T, method, pattern string, d Declared, op obj) {
	t.Helper()
	at := method + " " + pattern
	if op["x-right"] != string(d.Need) || !strings.Contains(op["description"].(string), string(d.Need)) {
		t.Errorf("%s needs %q, and the document says %v", at, d.Need, op["x-right"])
	}
	if op["summary"] == "" || fmt.Sprint(op["security"]) != "[map["+bearer+":[]]]" || len(op["tags"].([]any)) != 1 {
		t.Errorf("%s: summary %v, security %v, tags %v", at, op["summary"], op["security"], op["tags"])
	}
	var named []string
	key := false
	parameters, _ := op["parameters"].([]any)
	for _, p := range parameters {
		p := p.(obj)
		key = key || p["name"] == keyHeader
		if p["in"] == "path" {
			named = append(named, "{"+p["name"].(string)+"}")
		}
	}
	if key != (method != http.MethodGet) {
		t.Errorf("%s takes a key: %v", at, key)
	}
	for _, n := range named {
		if !strings.Contains(pattern, n) {
			t.Errorf("%s has a parameter %s that is not in its path", at, n)
		}
	}
	if len(named) != strings.Count(pattern, "{") {
		t.Errorf("%s describes %v of its path", at, named)
	}
	good := 0
	for status := range op["responses"].(obj) {
		if strings.HasPrefix(status, "2") {
			good++
		}
	}
	if good != 1 {
		t.Errorf("%s can succeed in %d ways", at, good)
	}
}

func TestEveryTagOfAnOperationIsExplained(t *testing.T) {
	s := newSite(t)
	doc := s.document()
	known := map[string]bool{}
	for _, tag := range doc["tags"].([]any) {
		known[tag.(obj)["name"].(string)] = tag.(obj)["description"] != ""
	}
	used := map[string]bool{}
	for path, item := range doc["paths"].(obj) {
		for method, op := range item.(obj) {
			for _, tag := range op.(obj)["tags"].([]any) {
				used[tag.(string)] = true
				if !known[tag.(string)] {
					t.Errorf("%s %s has the tag %v, which nothing explains", method, path, tag)
				}
			}
		}
	}
	if len(used) != len(known) {
		t.Errorf("%d tags are explained and %d used", len(known), len(used))
	}
}

// measured are fields of what is measured on a car or worked out from that, by
// the unit they end in, and chances from 0 to 1 with what is reckoned from
// them. Money, time and quantities are whole numbers.
var measured = regexp.MustCompile(`^(low|high|factor)$|^(level|kept_share|gain|gain_error|lost|lost_error|others_lose|better_order_gain|expected_on_time|standard_error|share|said|was)$|^(brier|times)(_|$)|chance|_(nm|mm|in|kg|kmh|percent|per_km|per_1000)$`)

func TestNoSchemaNamesMoneyTimeOrQuantityWithoutItsUnit(t *testing.T) {
	s := newSite(t)
	schemas := s.document()["components"].(obj)["schemas"].(obj)
	if len(schemas) < 100 {
		t.Fatalf("only %d schemas", len(schemas))
	}
	bare := []string{"price", "cost", "rate", "net", "gross", "vat", "hours", "duration", "quantity", "qty", "amount"}
	for name, schema := range schemas {
		props, _ := schema.(obj)["properties"].(obj)
		for field, p := range props {
			kind := fmt.Sprint(p.(obj)["type"])
			if slices.Contains(bare, field) && strings.Contains(kind, "integer") {
				t.Errorf("%s.%s is a number of what?", name, field)
			}
			if strings.Contains(kind, "number") && !measured.MatchString(field) {
				t.Errorf("%s.%s is a decimal fraction", name, field)
			}
			if strings.ToLower(field) != field {
				t.Errorf("%s.%s is not in snake_case", name, field)
			}
		}
	}
	b, err := json.Marshal(schemas)
	s.OK(err)
	if strings.Contains(string(b), "std_cost") {
		t.Error("an internal name leaked into the document")
	}
}
