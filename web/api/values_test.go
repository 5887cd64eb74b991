package api

import (
	"fmt"
	"maps"
	"math"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/danielgtaylor/huma/v2"
)

// sample makes something that a schema takes.
func (s *site) sample(schema *huma.Schema) any {
	for schema.Ref != "" {
		schema = s.api.huma.OpenAPI().Components.Schemas.SchemaFromRef(schema.Ref)
	}
	switch {
	case len(schema.Enum) > 0:
		return schema.Enum[0]
	case len(schema.Examples) > 0:
		return schema.Examples[0]
	case schema.Format == "date":
		return "2026-10-05"
	case schema.Format == "date-time":
		return "2026-10-05T07:30:00Z"
	case schema.Pattern != "":
		return "08:30"
	}
	switch schema.Type {
	case huma.TypeObject:
		o := obj{}
		for name, p := range schema.Properties {
			o[name] = s.sample(p)
		}
		return o
	case huma.TypeArray:
		return []any{s.sample(schema.Items)}
	case huma.TypeInteger:
		return 1
	case huma.TypeNumber:
		return 1.5
	case huma.TypeBoolean:
		return false
	}
	return "sample"
}

// odd are values that a field of a type must survive.
func odd(kind string) []any {
	switch kind {
	case huma.TypeInteger, huma.TypeNumber:
		return []any{0, -1, math.MaxInt32, math.MaxInt32 + 1, int64(math.MaxInt64), int64(math.MinInt64), 1e300, nil}
	case huma.TypeArray:
		return []any{[]any{}, []any{nil}, slices.Repeat([]any{1}, 500), nil}
	case huma.TypeBoolean, huma.TypeObject:
		return []any{nil, obj{}, 1}
	}
	return []any{
		"", " ", strings.Repeat("x", 300), strings.Repeat("🚗", 9000), "<script>alert(1)</script>", "'; drop table card; --", "../../etc/passwd",
		"a\u202eb", "a\nb\u2028", "\u200b", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "2026-02-30", nil,
	}
}

// everyField changes each field of what a schema takes, one at a time.
func (s *site) everyField(schema *huma.Schema, try func(name string, body any)) {
	for schema.Ref != "" {
		schema = s.api.huma.OpenAPI().Components.Schemas.SchemaFromRef(schema.Ref)
	}
	for _, name := range slices.Sorted(maps.Keys(schema.Properties)) {
		p := schema.Properties[name]
		for p.Ref != "" {
			p = s.api.huma.OpenAPI().Components.Schemas.SchemaFromRef(p.Ref)
		}
		put := func(what string, v any) {
			o := s.sample(schema).(obj)
			o[name] = v
			try(what, o)
		}
		for i, v := range odd(p.Type) {
			put(fmt.Sprintf("%s (%d)", name, i), v)
		}
		switch inner := p.Items; {
		case p.Type == huma.TypeObject:
			s.everyField(p, func(what string, v any) { put(name+"."+what, v) })
		case inner != nil && s.sample(inner) != nil && (inner.Ref != "" || inner.Type == huma.TypeObject):
			if _, ok := s.sample(inner).(obj); ok {
				s.everyField(inner, func(what string, v any) { put(name+"."+what, []any{v}) })
			}
		}
	}
}

func TestNoValueInAnyFieldIsAFault(t *testing.T) {
	s := newSite(t)
	c := s.priced()
	fill := s.filler(c)
	tried, refused, done := 0, 0, 0
	for _, d := range s.api.Declared() {
		path := strings.TrimPrefix(d.Pattern, Prefix)
		item := s.api.huma.OpenAPI().Paths[path]
		if item == nil || d.Method == http.MethodGet || d.Pattern == Prefix+"/lines/{line}/photos" {
			continue
		}
		op := map[string]*huma.Operation{"POST": item.Post, "PUT": item.Put, "DELETE": item.Delete}[d.Method]
		if op.RequestBody == nil {
			continue
		}
		at := addressed(fill.Replace(path), "")
		schema := op.RequestBody.Content["application/json"].Schema
		whole := s.sample(schema)
		s.everyField(schema, func(what string, body any) {
			tried++
			s.current(at, what, body)
			a := s.call("owner", d.Method, at, body)
			switch {
			case a.Status >= 500:
				t.Errorf("%s %s with an odd %s: %d %s", d.Method, path, what, a.Status, a.Raw)
			case a.Status >= 400:
				refused++
				checkRefusal(t, d.Method+" "+path+" with an odd "+what, as[Problem](a, a.Status), body, whole)
			default:
				done++
			}
		})
	}
	if n := s.log.count("request failed"); n != 0 {
		t.Errorf("%d faults are in the log", n)
	}
	t.Logf("%d tried, %d refused, %d done", tried, refused, done)
	if tried < 1500 || refused < 1000 || done < 100 {
		t.Errorf("%d tried, %d refused, %d done: too few to tell", tried, refused, done)
	}
}

// versioned are the tables that a body's version is of, by where it is sent.
var versioned = regexp.MustCompile(`^/(line|part|card|vehicle|customer|operation|labour-type|supplier|staff|clocking)s?/(\d+)`)

// current puts the right version into a body, so that what is odd about it is
// not refused for another reason.
func (s *site) current(path, what string, body any) {
	o, ok := body.(obj)
	_, has := o["version"]
	m := versioned.FindStringSubmatch(path)
	if !ok || !has || m == nil || strings.HasPrefix(what, "version ") {
		return
	}
	o["version"] = s.count(`select version from `+strings.ReplaceAll(m[1], "-", "_")+` where id = $1::bigint`, m[2])
}

// checkRefusal holds a problem's pointers to what was sent, or to what may be
// sent in its place.
func checkRefusal(t *testing.T, what string, p Problem, body, whole any) {
	t.Helper()
	for _, e := range p.Errors {
		if e.Pointer == "" || e.Pointer == "#" {
			continue
		}
		if !leads(body, e.Pointer) && !leads(whole, e.Pointer) {
			t.Errorf("%s: “%s” points at %s, which is not there", what, e.Detail, e.Pointer)
		}
	}
}

func leads(at any, pointer string) bool {
	for part := range strings.SplitSeq(strings.TrimPrefix(pointer, "#/"), "/") {
		switch v := at.(type) {
		case obj:
			sub, ok := v[part]
			if !ok {
				return false
			}
			at = sub
		case []any:
			i, err := strconv.Atoi(part)
			if err != nil || i < 0 || i >= len(v) {
				return false
			}
			at = v[i]
		default:
			return false
		}
	}
	return true
}
