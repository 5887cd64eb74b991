package ui_test

import (
	"bytes"
	"context"
	"errors"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/web/ui"
)

func london(t *testing.T) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func posted(body string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, "/x", strings.NewReader(body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

func form(pairs ...string) *ui.Form {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return ui.ReadForm(posted(v.Encode()))
}

func TestAFieldThatCannotBeTakenSaysWhyAndKeepsWhatWasTyped(t *testing.T) {
	loc := london(t)
	for _, c := range []struct {
		name, typed, says string
		read              func(f *ui.Form)
	}{
		{"too long", "abcdef", "at most 5 characters, please; this has 6", func(f *ui.Form) { f.Str("x", 5) }},
		{"long in characters, not bytes", "äöüßéè", "at most 5 characters, please; this has 6", func(f *ui.Form) { f.Str("x", 5) }},
		{"null byte", "a\x00b", "cannot be printed", func(f *ui.Form) { f.Str("x", 50) }},
		{"escape", "a\x1b[31mb", "cannot be printed", func(f *ui.Form) { f.Str("x", 50) }},
		{"line break in a line", "a\nb", "cannot be printed", func(f *ui.Form) { f.Str("x", 50) }},
		{"text turned around", "a\u202Eb", "cannot be printed", func(f *ui.Form) { f.Text("x", 50) }},
		{"not text", "a\xffb", "characters that are not text", func(f *ui.Form) { f.Text("x", 50) }},
		{"empty", "  ", "please fill this in", func(f *ui.Form) { f.Required("x") }},
		{"no number", "four", "a whole number, please", func(f *ui.Form) { f.Int("x", 0, 9) }},
		{"number too large", "10", "between 0 and 9, please", func(f *ui.Form) { f.Int("x", 0, 9) }},
		{"number far too large", "99999999999999999999", "a whole number, please", func(f *ui.Form) { f.Int("x", 0, 9) }},
		{"fraction", "1.5", "a whole number, please", func(f *ui.Form) { f.Int("x", 0, 9) }},
		{"no identity", "-4", "please choose one from the list", func(f *ui.Form) { f.ID("x") }},
		{"no such choice", "blue", "please choose one from the list", func(f *ui.Form) { f.OneOf("x", "red", "green") }},
		{"no day", "31/2/2026", "a date, please", func(f *ui.Form) { f.Day("x", loc) }},
		{"no likely year", "5/10/0026", "a date, please", func(f *ui.Form) { f.Day("x", loc) }},
		{"no time", "25:00", "a time, please", func(f *ui.Form) { f.Clock("x") }},
		{"no minute", "12:5", "a time, please", func(f *ui.Form) { f.Clock("x") }},
		{"no date and time", "tomorrow", "a date and a time, please", func(f *ui.Form) { f.When("x", loc) }},
		// In 2026 British clocks go forward at 01:00 on 29 March (Summer Time Act 1972 as amended: the last Sunday in March).
		{"a time that is skipped", "2026-03-29T01:30", "the clocks go forward", func(f *ui.Form) { f.When("x", loc) }},
		{"no money", "12,34", "comma", func(f *ui.Form) { f.Money("x") }},
		{"no rate", "lots", "percentage", func(f *ui.Form) { f.Rate("x") }},
		{"no quantity", "a few", "quantity", func(f *ui.Form) { f.Quantity("x") }},
		{"a parser's own words", "9", "never nine", func(f *ui.Form) {
			ui.Read(f, "x", func(string) (int, error) { return 0, errors.New("never nine") })
		}},
		{"a parser's error of ours", "9", "not today", func(f *ui.Form) {
			ui.Read(f, "x", func(string) (int, error) { return 0, apperr.New(apperr.Invalid, "not today") })
		}},
		{"too many values", "a", "at most 0, please", func(f *ui.Form) { f.Strs("x", 0, 10) }},
	} {
		f := form("x", c.typed)
		c.read(f)
		if got := f.Problem("x"); !strings.Contains(got, c.says) {
			t.Errorf("%s: %q says %q, want %q", c.name, c.typed, got, c.says)
		}
		if want := strings.ToValidUTF8(c.typed, "\uFFFD"); f.Field("x", "X").Value != want {
			t.Errorf("%s: typed %q, shown again %q", c.name, c.typed, f.Field("x", "X").Value)
		}
		if !apperr.Is(f.Err(), apperr.Invalid) {
			t.Errorf("%s: Err is %v", c.name, f.Err())
		}
	}
}

func TestAFieldThatCanBeTakenIs(t *testing.T) {
	loc := london(t)
	f := form("line", "  Front discs, renew \t", "text", "one\r\ntwo\rthree", "n", "+41", "id", "12", "yes", "yes", "choice", "green",
		"day", "5/10/2026", "iso", "2026-10-05", "clock", "1640", "short", "8", "dot", "16.40", "when", "2026-10-05T16:40", "twice", "2026-10-25T01:30",
		"price", "£1,234.50", "many", "a", "many", "", "many", "b", "ids", "3", "ids", "4")
	day := time.Date(2026, 10, 5, 0, 0, 0, 0, loc)
	clock := func(name string) time.Duration { d, _ := f.Clock(name); return d }
	for name, c := range map[string][2]any{
		"line": {f.Str("line", 40), "Front discs, renew"}, "text": {f.Text("text", 40), "one\ntwo\nthree"},
		"number": {f.Int("n", 0, 99), 41}, "identity": {f.ID("id"), int64(12)}, "box": {f.Bool("yes"), true}, "no box": {f.Bool("no"), false},
		"choice": {f.OneOf("choice", "red", "green"), "green"}, "day": {f.Day("day", loc), day}, "iso": {f.Day("iso", loc), day},
		"clock": {clock("clock"), 16*time.Hour + 40*time.Minute}, "hour": {clock("short"), 8 * time.Hour}, "dot": {clock("dot"), 16*time.Hour + 40*time.Minute},
		"when": {f.When("when", loc), day.Add(16*time.Hour + 40*time.Minute)}, "price": {int64(f.Money("price")), int64(123450)},
		// Clocks go back at 02:00 on 25 October 2026, so 01:30 comes twice: the first is in summer time, 00:30 UTC.
		"twice":   {f.When("twice", loc).UTC(), time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC)},
		"nothing": {f.Str("absent", 5) == "" && f.Int("absent", 1, 2) == 0 && f.Day("absent", loc).IsZero() && f.Money("absent") == 0, true},
	} {
		if c[0] != c[1] {
			t.Errorf("%s: %v, want %v", name, c[0], c[1])
		}
	}
	if got := f.Strs("many", 5, 5); !slices.Equal(got, []string{"a", "b"}) {
		t.Errorf("many: %q", got)
	}
	if got := f.IDs("ids", 5); !slices.Equal(got, []int64{3, 4}) {
		t.Errorf("ids: %v", got)
	}
	if err := f.Err(); err != nil {
		t.Errorf("a good form is refused: %v", err)
	}
}

func TestRowsOfAListAreReadInOrderAndNeverMoreThanTheirLimit(t *testing.T) {
	f := form("lines.10.title", "last", "lines.2.title", "first", "lines.2.hours", "x", "lines.x.title", "no", "lines.02.title", "no",
		"lines.-1.title", "no", "lines.99999999999999999999.title", "no", "linesmen.1.title", "no")
	rows := f.Rows("lines", 5)
	if len(rows) != 2 || rows[0].Str("title", 9) != "first" || rows[1].Str("title", 9) != "last" {
		t.Fatalf("%d rows", len(rows))
	}
	rows[0].Int("hours", 0, 9)
	if f.Problem("lines.2.hours") == "" || f.Row("lines", 2).Field("hours", "Hours").Problem == "" {
		t.Error("a row's message does not reach the form")
	}
	many := form("a.1.x", "", "a.2.x", "", "a.3.x", "")
	if many.Rows("a", 2) != nil || many.Problem("a") == "" {
		t.Error("more rows than the limit were taken")
	}
}

func TestAServicesMessagesComeBackAtTheirFields(t *testing.T) {
	f := form("mark", "RS65 CAR")
	if f.Take(apperr.NoSuch("card")) || f.Take(errors.New("the disk is full")) {
		t.Error("took an error that is no matter of the form")
	}
	if !f.Take(apperr.Field("mark", "that mark is taken")) || f.Problem("mark") != "that mark is taken" {
		t.Errorf("at the field: %q", f.Problem("mark"))
	}
	g := form("mark", "x")
	if !g.Take(apperr.New(apperr.Invalid, "a card has at least one line")) || g.Summary == "" || g.Err() == nil {
		t.Error("a message for the whole form is lost")
	}
}

func TestAFormTooLargeOrBrokenIsRefusedAsAWhole(t *testing.T) {
	for name, c := range map[string]struct {
		body string
		kind apperr.Kind
	}{
		"too large":       {"x=" + strings.Repeat("a", 70<<10), apperr.TooLarge},
		"too many fields": {strings.Repeat("a&", 3000), apperr.TooLarge},
		"broken":          {"x=%zz", apperr.Invalid},
	} {
		r := posted(c.body)
		if err := ui.ReadForm(r).Err(); !apperr.Is(err, c.kind) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := ui.Writer(posted(c.body)); !apperr.Is(err, c.kind) {
			t.Errorf("%s: the writer says %v", name, err)
		}
	}
}

func TestAWriteWithoutItsKeyIsRefused(t *testing.T) {
	for body, ok := range map[string]bool{
		"key=3f1c8a52-6f0f-4f5e-9a43-0a4de3c6c001": true, "": false, "key=": false, "key=short": false, "key=" + strings.Repeat("a", 65): false,
		"key=3f1c8a52%0a6f0f-4f5e-9a43": false, "key=%27%3b+drop+table+card%3b--": false,
	} {
		a, err := ui.Writer(posted(body))
		if ok != (err == nil) || ok != (a.Key != "") {
			t.Errorf("%q: %v, %v", body, a.Key, err)
		}
	}
	r := posted("")
	r.Header.Set("Idempotency-Key", "3f1c8a52-6f0f-4f5e-9a43-0a4de3c6c001")
	r = r.WithContext(ui.WithWho(context.Background(), actor.Actor{StaffID: 7}))
	if a, err := ui.Writer(r); err != nil || a.StaffID != 7 || a.Key == "" {
		t.Errorf("from the header: %+v, %v", a, err)
	}
}

func TestFilesComeWithTheirFormAndNoMoreThanTheLimit(t *testing.T) {
	make := func(size int) *http.Request {
		var b bytes.Buffer
		w := multipart.NewWriter(&b)
		_ = w.WriteField("key", "3f1c8a52-6f0f-4f5e-9a43-0a4de3c6c001")
		part, _ := w.CreateFormFile("photo", "../../etc/passwd")
		_, _ = part.Write(bytes.Repeat([]byte("x"), size))
		_ = w.Close()
		r := httptest.NewRequest(http.MethodPost, "/x", &b)
		r.Header.Set("Content-Type", w.FormDataContentType())
		return r
	}
	r := make(1000)
	f := ui.ReadUpload(r, 10_000)
	files := f.Files("photo", 1)
	if f.Err() != nil || len(files) != 1 || files[0].Size != 1000 {
		t.Fatalf("%d files, %v", len(files), f.Err())
	}
	if a, err := ui.Writer(r); err != nil || a.Key == "" {
		t.Errorf("the key beside the file: %v", err)
	}
	if f.Files("photo", 0) != nil || f.Problem("photo") == "" {
		t.Error("more files than the limit were taken")
	}
	if err := ui.ReadUpload(make(20_000), 10_000).Err(); !apperr.Is(err, apperr.TooLarge) {
		t.Errorf("too large: %v", err)
	}
}

func FuzzForm(f *testing.F) {
	for _, s := range []string{"", "x=1", "x=%ff&x=%00", "x=2026-02-30T25:61", "lines.1.x=4&lines.99999.x=5", "x=" + strings.Repeat("9", 400), "%zz", "x=£1,2.3", "key=&version=-1", "x=\u202e"} {
		f.Add(s)
	}
	loc := time.UTC
	f.Fuzz(func(t *testing.T, body string) {
		form := ui.ReadForm(posted(body))
		texts := append([]string{form.Str("x", 20), form.Text("x", 20), form.OneOf("x", "a", "b")}, form.Strs("x", 3, 20)...)
		for _, s := range texts {
			if strings.ContainsAny(s, "\x00\x1b") || len([]rune(s)) > 20 || strings.ToValidUTF8(s, "") != s {
				t.Errorf("%q came out as %q", body, s)
			}
		}
		if n := form.Int("x", -5, 5); n < -5 || n > 5 {
			t.Errorf("%q came out as %d", body, n)
		}
		if id := form.ID("x"); id < 0 {
			t.Errorf("%q came out as %d", body, id)
		}
		if d, ok := form.Clock("x"); ok && (d < 0 || d >= 24*time.Hour) {
			t.Errorf("%q came out as %v", body, d)
		}
		for _, at := range []time.Time{form.Day("x", loc), form.When("x", loc)} {
			if !at.IsZero() && (at.Year() < 1885 || at.Year() > 2199) {
				t.Errorf("%q came out as %v", body, at)
			}
		}
		form.Money("x")
		form.Rate("x")
		form.Quantity("x")
		form.Bool("x")
		form.IDs("x", 3)
		form.Required("x")
		if rows := form.Rows("lines", 4); len(rows) > 4 {
			t.Errorf("%q has %d rows", body, len(rows))
		}
		if form.Version() < 0 {
			t.Errorf("%q has version %d", body, form.Version())
		}
		if err := form.Err(); err != nil && apperr.KindOf(err) == apperr.Internal {
			t.Errorf("%q: %v", body, err)
		}
		var b strings.Builder
		if err := ui.Problems(form).Render(context.Background(), &b); err != nil {
			t.Error(err)
		}
	})
}
