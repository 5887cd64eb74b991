package api

import (
	"context"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/validation"

	"rampside/internal/actor"
	"rampside/internal/apperr"
)

// requiredMark tells the message of a missing field, whose location is that of
// what it is missing from.
const requiredMark = "missing: "

// missing is what is said at a field that is not there.
const missing = "please give this"

// The library that checks requests against the document keeps its words, and
// what it makes of an error, in variables of its package. Nothing else in this
// program uses it.
func init() {
	validation.MsgUnexpectedProperty = "there is no such field"
	validation.MsgExpectedRFC3339DateTime = "a moment is written like 2026-10-05T16:40:00Z, please"
	validation.MsgExpectedRFC3339Date = "a day is written like 2026-10-05, please"
	validation.MsgExpectedBoolean = "true or false, please"
	validation.MsgExpectedNumber = "a number, please"
	validation.MsgExpectedInteger = "a whole number, please"
	validation.MsgExpectedString = "text, please"
	validation.MsgExpectedArray = "a list, please"
	validation.MsgExpectedObject = "an object, please"
	validation.MsgExpectedOneOf = "one of these, please: %s"
	validation.MsgExpectedMinimumNumber = "at least %.15g, please"
	validation.MsgExpectedMaximumNumber = "at most %.15g, please"
	validation.MsgExpectedMinLength = "at least %d characters, please"
	validation.MsgExpectedMaxLength = "at most %d characters, please"
	validation.MsgExpectedBePattern = "this is to be %s"
	validation.MsgExpectedMatchPattern = "this is not in the form %s"
	validation.MsgExpectedMinItems = "at least %d of these, please"
	validation.MsgExpectedMaxItems = "at most %d of these, please"
	validation.MsgExpectedRequiredProperty = requiredMark + "%s"
	huma.ValidateStrictCasing = true
	huma.DefaultArrayNullable = false
	huma.NewError = func(status int, _ string, errs ...error) huma.StatusError { return notAsDescribed(nil, status, errs) }
	huma.NewErrorWithContext = func(ctx huma.Context, status int, _ string, errs ...error) huma.StatusError {
		return notAsDescribed(ctx, status, errs)
	}
}

// parsed are the words of the library that are not in variables.
var parsed = map[string]string{
	"invalid integer": "a whole number, please", "invalid boolean": "true or false, please", "invalid float": "a number, please",
	"unknown query parameter": "there is no such parameter",
}

// notAsDescribed is the problem of a request that is not as the document has
// it. A number in the address that nothing can have is an address that nothing
// is at.
func notAsDescribed(ctx huma.Context, status int, errs []error) *Problem {
	var fields []FieldError
	gone := false
	for _, err := range errs {
		d, ok := err.(*huma.ErrorDetail)
		if !ok {
			continue
		}
		gone = gone || strings.HasPrefix(d.Location, "path.")
		if len(fields) < errorsMax {
			fields = append(fields, fieldOf(d))
		}
	}
	var err error
	switch {
	case gone:
		err = apperr.New(apperr.NotFound, "there is nothing at this address")
	case len(fields) > 0:
		err = &statusError{status: http.StatusUnprocessableEntity, kind: "invalid", message: seeErrors, fields: fields}
	case status == http.StatusBadRequest:
		err = malformed("this needs a body of JSON")
	}
	c := context.Background() // for the example in the document
	if ctx != nil {
		c = ctx.Context()
	}
	return problemOf(c, err, nil, actor.Actor{})
}

func fieldOf(d *huma.ErrorDetail) FieldError {
	f := FieldError{Detail: d.Message}
	if said, ok := parsed[d.Message]; ok {
		f.Detail = said
	}
	if rest, ok := strings.CutPrefix(f.Detail, "invalid value: "); ok {
		f.Detail = rest
	}
	location := d.Location
	if name, ok := strings.CutPrefix(d.Message, requiredMark); ok {
		f.Detail = missing
		location += "." + name
	}
	place, name, _ := strings.Cut(location, ".")
	switch {
	case place == "query":
		f.Parameter = shorten(name)
	case place == "header":
		f.Header = name
	default:
		f.Pointer = bodyPointer(location)
	}
	return f
}

// bodyPointer turns body.lines[0].title into #/lines/0/title.
func bodyPointer(location string) string {
	rest := strings.TrimPrefix(location, "body")
	var b strings.Builder
	b.WriteByte('#')
	for _, part := range strings.Split(strings.TrimPrefix(rest, "."), ".") {
		name, indexes, _ := strings.Cut(part, "[")
		if name != "" {
			b.WriteString("/" + escapePointer(shorten(name)))
		}
		for index := range strings.SplitSeq(indexes, "[") {
			if index = strings.TrimSuffix(index, "]"); index != "" {
				b.WriteString("/" + escapePointer(shorten(index)))
			}
		}
	}
	return b.String()
}
