//go:build !race

package app_test

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rampside/internal/app/apptest"
)

// hostile are values that no field means, of every kind that does harm
// somewhere.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' or 1=1; drop table card; --`, `../../../../etc/passwd`, `C:\..\..\boot.ini`,
	"\x00", "a\x00b", "\xff\xfe\xfd", "\xc0\xaf", "\u202egnp.exe", "\u2066\u2069", "\ufeff", "\u2028", "\x1b[31m", "\x7f",
	strings.Repeat("x", 3_000), strings.Repeat("1", 2_000), strings.Repeat("é", 200), "-1", "-0.01", "0", "1", "99999999999999999999",
	"9223372036854775807", "9223372036854775808", "2147483648", "1e999", "1e5", "NaN", "-Infinity", "0x10", "1_000", "0.0001", ".", "1.2.3", "1,5", "٣", "½",
	"0000-00-00", "2026-02-30", "2026-13-45T25:61", "9999-12-31T23:59", "-0001-01-01", "2026-10-25T01:30", "24:00", "8:30-7:30", "99:99",
	"{{7*7}}", "${jndi:ldap://x}", "%s%n%x", "=1+1", "a\r\nSet-Cookie: x=y", "\n", " ", "", "🦊", "null", "on", "true", "//elsewhere.example", "https://elsewhere.example", "javascript:alert(1)",
}

// hostileTests tries one form with everything. It counts what it sent.
type hostileTest struct {
	*world
	pattern string
	e       entry
	f       filled
	counts  map[string]string // of rows, as of
	xid     string

	sent, refused, taken *int
}

// check sends a form and holds the answer to what it may be.
func (h *hostileTest) check(what string, send func() apptest.Answer) {
	h.t.Helper()
	a := send()
	*h.sent++
	name := fmt.Sprintf("POST %s from %s with %s", h.pattern, h.e.on, what)
	if strings.Contains(a.Body, "<script>alert") || strings.Contains(a.Body, "<img src=x") || a.Page().Find("script:not([src])").Length() > 0 {
		h.t.Errorf("%s: the markup came back alive", name)
	}
	if xid := h.world.xid(); xid == h.xid && a.Status >= 400 && a.Status < 500 {
		*h.refused++ // with nothing so much as begun to be written
		return
	}
	now := h.world.counts()
	if strings.Contains(h.pattern, "sign-in") || strings.Contains(h.pattern, "/my-sessions/p") {
		delete(now, "event") // the wrong try that shuts the door is on record
		delete(h.counts, "event")
	}
	switch {
	case a.Status >= 400 && a.Status < 500:
		*h.refused++
		if !maps.Equal(now, h.counts) {
			h.t.Errorf("%s: %d, and yet rows were added to %v", name, a.Status, changed(h.counts, now))
		}
	case a.Status == http.StatusSeeOther || a.Status == http.StatusOK && h.e.shows:
		*h.taken++
		if a.Status == http.StatusSeeOther && (!strings.HasPrefix(a.Location, "/") || strings.HasPrefix(a.Location, "//")) || strings.Contains(a.Header.Get("Set-Cookie"), "x=y") {
			h.t.Errorf("%s leads to %q", name, a.Location)
		}
		h.reopen()
		return
	case a.Status == http.StatusOK && h.pattern == "/book-in" && maps.Equal(now, h.counts):
		// One of its buttons gives the form back with another row.
	default:
		h.t.Errorf("%s: %d %s", name, a.Status, a.Says())
	}
	h.counts, h.xid = now, h.world.xid()
}

// reopen takes up the form again as it stands after a change. Where it is gone
// with what it did, or is of somebody who was signed out, the stage is set anew.
func (h *hostileTest) reopen() bool {
	h.t.Helper()
	ok := true
	f, why := filled{}, "never opened"
	if h.counts != nil && h.e.by != "tablet" && h.e.by != "new" && !h.e.loose {
		f, why = h.find(h.pattern, h.e)
	}
	if why != "" {
		f, ok = h.open(h.pattern, h.e)
	}
	h.f, h.counts, h.xid = f, h.world.counts(), h.world.xid()
	return ok
}

// with is the form with some fields replaced, and a key of its own.
func (h *hostileTest) with(fields map[string]string) url.Values {
	v := maps.Clone(h.f.v)
	for name, value := range fields {
		v[name] = []string{value}
	}
	if h.e.unkeyed == "" {
		v.Set("key", apptest.Key())
	}
	return v
}

// Every field of every form of the whole server with everything that does harm
// somewhere, all fields at once and each by itself, and every form as no
// browser would send it.
func TestNothingThatIsTypedIsAFaultOfOurs(t *testing.T) {
	w := openWorld(t)
	var sent, refused, taken, tried int
	for _, pattern := range slices.Sorted(maps.Keys(forms)) {
		for i, e := range forms[pattern] {
			h := &hostileTest{world: w, pattern: pattern, e: e, sent: &sent, refused: &refused, taken: &taken}
			if !h.reopen() {
				continue
			}
			tried++
			h.everyValue()
			if i == 0 {
				h.everyShape()
			}
			w.putAway()
		}
	}
	t.Logf("%d forms, %d tries: %d refused with nothing written, %d taken", tried, sent, refused, taken)
	if tried < 70 || sent < 2500 || refused < sent/2 {
		t.Errorf("%d forms, %d tries, %d refused", tried, sent, refused)
	}
	// Whatever was taken harms no page.
	opened := w.crawl(w.browser(""), w.allPages(), 400, func(path string, a apptest.Answer) {
		if a.Status >= 500 || a.Page().Find("script:not([src])").Length() > 0 || strings.Contains(a.Body, "<img src=x") {
			t.Errorf("afterwards, %s: %d", path, a.Status)
		}
	})
	t.Logf("%d pages opened afterwards", opened)
}

// everyValue fills each value into all fields that a person types into, and a
// few of them into each field alone, the hidden ones too.
func (h *hostileTest) everyValue() {
	shown := slices.DeleteFunc(slices.Clone(h.f.names), func(name string) bool {
		return slices.Contains([]string{"version", "act", "kind", "was", "was_day"}, name)
	})
	for i, value := range hostile {
		if i%4 != len(h.pattern)%4 || len(shown) == 0 {
			continue // each form takes a quarter of the values, and all forms all
		}
		fields := map[string]string{}
		for _, name := range shown {
			fields[name] = value
		}
		h.check(fmt.Sprintf("%.20q everywhere", value), func() apptest.Answer { return h.f.send(h.t, h.with(fields)) })
	}
	for i, name := range slices.Clone(h.f.names) {
		for j := range 2 {
			value := hostile[(i*11+j*13+len(h.pattern))%len(hostile)]
			h.check(fmt.Sprintf("%s = %.20q", name, value), func() apptest.Answer { return h.f.send(h.t, h.with(map[string]string{name: value})) })
		}
	}
}

// everyShape sends the form as no browser would.
func (h *hostileTest) everyShape() {
	raw := func(kind, body string) func() apptest.Answer {
		return func() apptest.Answer {
			var reader io.Reader
			if body != "" {
				reader = strings.NewReader(body)
			}
			r := h.f.c.Request(http.MethodPost, h.f.path, reader)
			if kind != "" {
				r.Header.Set("Content-Type", kind)
			}
			return h.f.c.Send(r)
		}
	}
	const form = "application/x-www-form-urlencoded"
	if h.pattern != "/sign-out" {
		h.check("no body", raw("", ""))
		h.check("text", raw("text/plain", "hello"))
		h.check("JSON", raw("application/json", `{"key":"`+apptest.Key()+`"}`))
		h.check("a type that is none", raw("////;;", "a=b"))
		h.check("a form of parts without its boundary", raw("multipart/form-data", "--x\r\n\r\nhello"))
		h.check("a form of parts that breaks off", raw("multipart/form-data; boundary=x", "--x\r\nContent-Disposition: form-data; name=\"key\"\r\n\r\nabc"))
		h.check("broken escapes", raw(form, "a=%zz&%=&key=%"))
		h.check("semicolons", raw(form, "a=b;c=d;key="+apptest.Key()))
		h.check("10,000 fields", raw(form, strings.Repeat("a&", 10_000)+"key="+apptest.Key()))
		h.check("a million characters", raw(form, "key="+apptest.Key()+"&name="+strings.Repeat("x", 1_000_000)))
	}
	if h.e.unkeyed != "" {
		return
	}
	for _, key := range []string{"", "short", strings.Repeat("k", 65), strings.Repeat("\x00", 20), strings.Repeat("\xff", 20), "<script>alert(1)</script>", "../../../../../../../"} {
		h.check(fmt.Sprintf("the key %.20q", key), func() apptest.Answer {
			v := h.with(nil)
			v.Set("key", key)
			return h.f.send(h.t, v)
		})
	}
	h.check("no key", func() apptest.Answer {
		v := h.with(nil)
		v.Del("key")
		return h.f.send(h.t, v)
	})
	h.check("every field twice", func() apptest.Answer {
		v := h.with(nil)
		for _, name := range h.f.names {
			v[name] = append(slices.Clone(v[name]), "<script>alert(1)</script>", "\x00")
		}
		v.Set("key", apptest.Key())
		return h.f.send(h.t, v)
	})
	h.check("every field a thousand times", func() apptest.Answer {
		v := h.with(nil)
		for _, name := range h.f.names[:min(1, len(h.f.names))] {
			v[name] = slices.Repeat([]string{"7"}, 1000)
		}
		return h.f.send(h.t, v)
	})
	h.check("rows without end", func() apptest.Answer {
		v := h.with(nil)
		for i := range 300 {
			v.Set("line."+strconv.Itoa(i)+".title", "one more")
			v.Set("fact."+strconv.Itoa(i)+".value", "x")
		}
		return h.f.send(h.t, v)
	})
	h.check("a file in every field", func() apptest.Answer {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		for _, name := range append(slices.Clone(h.f.names), "key") {
			p, err := m.CreateFormFile(name, "../../"+name+".exe")
			h.OK(err)
			_, err = p.Write([]byte("MZ"))
			h.OK(err)
		}
		h.OK(m.Close())
		return raw(m.FormDataContentType(), b.String())()
	})
}

// The very first form of a garage, which nobody is signed in for.
func TestTheFirstFormOfAllTakesNoNonsense(t *testing.T) {
	s := apptest.Empty(t)
	nobody := s.Nobody()
	good := url.Values{"garage": {"Saltmarsh Lane Garage"}, "name": {"Wren Calloway"}, "sign_in": {"wren"}, "password": {"marsh-lantern-41"}}
	tries := 0
	refused := func(what string, v url.Values) {
		t.Helper()
		tries++
		a := nobody.Post("/welcome", v)
		if a.Status < 400 || a.Status >= 500 || strings.Contains(a.Body, "<script>alert") || strings.Contains(a.Body, "<img src=x") {
			t.Errorf("%s: %d to %q %s", what, a.Status, a.Location, a.Says())
		}
	}
	for _, value := range hostile {
		v := url.Values{}
		for name := range good {
			v.Set(name, value)
		}
		refused(fmt.Sprintf("%.20q everywhere", value), v)
		one := maps.Clone(good)
		one["sign_in"] = []string{"Wren " + value + "<>"}
		refused(fmt.Sprintf("%.20q as a sign-in", value), one)
	}
	for name := range good {
		without := maps.Clone(good)
		without.Del(name)
		refused("without "+name, without)
	}
	var people, garages, events int
	if err := s.App.Pool().QueryRow(t.Context(), `select (select count(*) from staff), (select count(*) from garage where name = 'Saltmarsh Lane Garage'), (select count(*) from event)`).
		Scan(&people, &garages, &events); err != nil {
		t.Fatal(err)
	}
	if people+garages+events != 0 {
		t.Errorf("after %d refusals: %d people, %d garages of the name, %d events", tries, people, garages, events)
	}
	if a := nobody.Post("/welcome", good); a.Status != http.StatusSeeOther || a.Location != "/" {
		t.Errorf("the right form: %d to %q %s", a.Status, a.Location, a.Says())
	}
	t.Logf("%d tries refused, and then the right one taken", tries)
}
