package ui

import (
	"errors"
	"maps"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rampside/internal/apperr"
)

const (
	// formBytes is the most a plain form may weigh: a long day's card with
	// every note filled in is a tenth of it.
	formBytes = 64 << 10
	// formFields is the most values one form may carry.
	formFields = 2000
)

// Form reads one posted form, field by field: only what a handler names is
// ever read. Every reader notes what is wrong at its field and gives the zero
// value, so a handler reads everything first and asks Err once. What was typed
// stays in Values for the page to show again.
//
// A nil *Form is an empty form that nobody has posted yet.
type Form struct {
	Values url.Values
	Fields apperr.Fields
	// Summary is what is wrong with the form as a whole.
	Summary string

	prefix string
	files  map[string][]*multipart.FileHeader
	fatal  error
	// labels names fields in the list of problems, see Call.
	labels map[string]string
	// order holds the names of fields as they were found wrong, which is the
	// order in which they stand on the page.
	order *[]string
}

// NewForm starts a form with values to be shown, for the first look at an
// edit page.
func NewForm(values url.Values) *Form {
	if values == nil {
		values = url.Values{}
	}
	return &Form{Values: values, Fields: apperr.Fields{}, order: new([]string)}
}

// ReadForm reads the form posted with r, of at most 64 KB. It never fails
// itself: what is wrong comes out of Err.
func ReadForm(r *http.Request) *Form { return ReadFormOf(r, formBytes) }

// ReadFormOf is ReadForm with another limit, in bytes.
func ReadFormOf(r *http.Request, limit int64) *Form {
	f := NewForm(nil)
	if r.PostForm == nil {
		if r.Body != nil {
			r.Body = http.MaxBytesReader(nil, r.Body, limit)
		}
		if err := r.ParseForm(); err != nil {
			r.PostForm = nil // or the next reader would take it for an empty form
			f.fatal = readError(err)
			return f
		}
	}
	f.fill(r.PostForm)
	return f
}

func (f *Form) fill(values url.Values) {
	n := 0
	for _, vs := range values {
		n += len(vs)
	}
	if n > formFields {
		f.fatal = apperr.New(apperr.TooLarge, "that form has more fields than any page of ours")
		return
	}
	f.Values = values
}

// ReadQuery reads the address's query with the same readers, for search and
// filter pages.
func ReadQuery(r *http.Request) *Form {
	q, err := url.ParseQuery(r.URL.RawQuery)
	f := NewForm(q)
	if err != nil || len(q) > formFields {
		f.Values = url.Values{}
		f.fatal = apperr.New(apperr.Invalid, "that address is not one of ours")
	}
	return f
}

func readError(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return apperr.New(apperr.TooLarge, "that is more than one form may hold; please send less at once")
	}
	return &apperr.Error{Kind: apperr.Invalid, Message: "the form did not arrive in one piece; please send it again", Cause: err}
}

// Err gives what is wrong with the form so far: too large, broken, or the
// messages at its fields.
func (f *Form) Err() error {
	if f == nil {
		return nil
	}
	if f.fatal != nil {
		return f.fatal
	}
	if f.Summary != "" && len(f.Fields) == 0 {
		return apperr.New(apperr.Invalid, "%s", f.Summary)
	}
	return f.Fields.Err()
}

// Take moves what a service found wrong with the input into the form and
// reports whether it was that; any other error is the handler's to return.
func (f *Form) Take(err error) bool {
	var e *apperr.Error
	if !errors.As(err, &e) || e.Kind != apperr.Invalid {
		return false
	}
	if len(e.Fields) == 0 || !f.has(slices.Collect(maps.Keys(e.Fields))) {
		f.Summary = e.Message
	}
	for _, name := range slices.Sorted(maps.Keys(e.Fields)) {
		f.Fail(name, "%s", e.Fields[name])
	}
	return true
}

// has tells whether the form carries all of the fields, so that their messages
// have a place to stand.
func (f *Form) has(names []string) bool {
	for _, n := range names {
		if !f.Values.Has(f.prefix + n) {
			return false
		}
	}
	return true
}

// Get gives a field as it was typed, made safe to show; empty when absent.
func (f *Form) Get(name string) string {
	if f == nil {
		return ""
	}
	return strings.ToValidUTF8(f.Values.Get(f.prefix+name), "\uFFFD")
}

// Fail notes a message at a field, unless it has one already.
func (f *Form) Fail(name, format string, args ...any) {
	name = f.prefix + name
	f.Fields.Add(name, format, args...)
	if !slices.Contains(*f.order, name) {
		*f.order = append(*f.order, name)
	}
}

// Call gives a field the name that it has in the list of problems, for one
// whose own name would tell people little.
func (f *Form) Call(name, label string) {
	if f.labels == nil {
		f.labels = map[string]string{}
	}
	f.labels[f.prefix+name] = label
}

// Problem gives the message at a field, empty when there is none.
func (f *Form) Problem(name string) string {
	if f == nil {
		return ""
	}
	return f.Fields[f.prefix+name]
}

// Version gives the version the edit was made from; zero when the form carries
// none, which no row has.
func (f *Form) Version() int64 {
	n, err := strconv.ParseInt(f.Get("version"), 10, 64)
	if err != nil || n < 0 {
		return 0
	}
	return n
}

// Row gives the reader of one row of a list: Row("parts", 2).Str("number", 40)
// reads the field parts.2.number. Messages land on the form itself.
func (f *Form) Row(list string, n int) *Form {
	row := *f
	row.prefix = f.prefix + list + "." + strconv.Itoa(n) + "."
	return &row
}

// Rows gives the readers of the rows that a list has, in the order of their
// numbers. The numbers are labels and may have gaps; more than limit rows is a
// message at the list.
func (f *Form) Rows(list string, limit int) []*Form {
	var seen []int
	for name := range f.Values {
		rest, ok := strings.CutPrefix(name, f.prefix+list+".")
		if !ok {
			continue
		}
		num, _, ok := strings.Cut(rest, ".")
		n, err := strconv.Atoi(num)
		if !ok || err != nil || n < 0 || strconv.Itoa(n) != num {
			continue
		}
		if !slices.Contains(seen, n) {
			seen = append(seen, n)
		}
		if len(seen) > limit {
			f.Fail(list, "no more than %d rows at once", limit)
			return nil
		}
	}
	slices.Sort(seen)
	rows := make([]*Form, len(seen))
	for i, n := range seen {
		rows[i] = f.Row(list, n)
	}
	return rows
}
