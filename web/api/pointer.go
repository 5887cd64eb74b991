package api

import (
	"errors"
	"net/url"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/apperr"
)

// units are what the fields here have behind the names that services know
// them by: a service says rate, the field is rate_minor.
var units = []string{"", "_minor", "_minutes", "_id", "_bp", "_milli", "s", "_ids"}

// pointerTo gives the place in a body of type t that a service means by a
// field's name, such as line.0.title: #/lines/0/title. Where the body has no
// such field the name is given as it is, and the body as a whole for none.
func pointerTo(t reflect.Type, name string) string {
	if name == "" {
		return "#"
	}
	var b strings.Builder
	b.WriteByte('#')
	for part := range strings.SplitSeq(name, ".") {
		var field string
		field, t = step(t, part)
		b.WriteString("/" + escapePointer(field))
	}
	return b.String()
}

// step finds the field or the element that a part of a name means.
func step(t reflect.Type, part string) (string, reflect.Type) {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == nil:
		return part, nil
	case t.Kind() == reflect.Slice:
		if _, err := strconv.Atoi(part); err == nil {
			return part, t.Elem()
		}
		return part, nil
	case t.Kind() != reflect.Struct:
		return part, nil
	}
	fields := map[string]reflect.Type{}
	fieldNames(t, fields)
	for _, unit := range units {
		for _, stem := range []string{part, strings.Replace(part, "markup", "default_mark_up", 1)} {
			if ft, ok := fields[stem+unit]; ok {
				return stem + unit, ft
			}
		}
	}
	// Services say lines where the field is line_ids.
	if one := strings.TrimSuffix(part, "s") + "_ids"; fields[one] != nil {
		return one, fields[one]
	}
	return part, nil
}

func fieldNames(t reflect.Type, into map[string]reflect.Type) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && f.Type.Kind() == reflect.Struct && name == "":
			fieldNames(f.Type, into)
		case f.IsExported() && name != "" && name != "-":
			into[name] = f.Type
		}
	}
}

// under moves messages at the fields named to where those fields are here.
func under(prefix string, err error, names ...string) error {
	return moved(err, func(name string) string {
		if slices.Contains(names, name) {
			return prefix + name
		}
		return name
	})
}

// moved gives an error with its messages at other fields.
func moved(err error, to func(name string) string) error {
	var e *apperr.Error
	if !errors.As(err, &e) || len(e.Fields) == 0 {
		return err
	}
	out := *e
	out.Fields = map[string]string{}
	for name, message := range e.Fields {
		out.Fields[to(name)] = message
	}
	return &out
}

// escapePointer writes one step of a JSON pointer in a URI fragment (RFC 6901
// sections 3 and 6).
func escapePointer(s string) string {
	return url.PathEscape(strings.NewReplacer("~", "~0", "/", "~1").Replace(s))
}
