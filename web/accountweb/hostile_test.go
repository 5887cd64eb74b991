package accountweb_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

// junk are values that no field means.
var junk = []string{
	"", " ", "\x00", "\xff\xfe\xfd", "<script>alert(1)</script>", `"><img src=x onerror=alert(1)>`, "'; drop table staff; --", "../../../etc/passwd",
	"-1", "0", "99999999999999999999", "1e999", "NaN", "\u202e\u2066", "{{7*7}}", "%00%0a", "a\r\nSet-Cookie: x=y", strings.Repeat("x", 40_000), "🦊",
}

// Every write of these pages, by everybody, with every field filled with
// junk: the answer is a page that refuses, and nothing is a fault of ours.
func TestNoJunkInAnyFieldIsAFaultOfOurs(t *testing.T) {
	s := staffed(t)
	tablet := s.enrolled("Ramp 2")
	fields := []string{"name", "role", "sign_in", "cost_rate", "password", "pin", "active", "do", "old_password", "old_pin", "session", "staff_id", "days", "garage", "next", "back", "version"}
	ids := strings.NewReplacer("{staff}", "3", "{tablet}", "77", "{token}", "77")
	posts := 0
	for _, d := range s.kit.Declared() {
		if d.Method != http.MethodPost || d.Pattern == "/light" || d.Pattern == "/sign-out" {
			continue
		}
		posts++
		s.ahead.Add(int64(16 * time.Minute)) // past the wrong tries of the last round
		orla := s.in("orla")
		for i, value := range junk {
			v := url.Values{"key": {"junk-" + strings.Repeat("k", 10) + string(rune('a'+i))}}
			for _, f := range fields {
				v.Set(f, value)
			}
			for who, b := range map[string]*browser{"the owner": orla, "a tablet": tablet} {
				p := b.post(ids.Replace(d.Pattern), v)
				if p.status >= 500 || p.status < 300 {
					t.Errorf("%s by %s with %.20q: %d", d.Pattern, who, value, p.status)
				}
				if strings.Contains(p.body, "<script>alert") || strings.Contains(p.body, "<img src=x") {
					t.Errorf("%s by %s with %.20q: the markup came back alive", d.Pattern, who, value)
				}
				if strings.HasPrefix(p.to, "//") || strings.Contains(p.to, ":") || p.header.Get("Set-Cookie") == "x=y" {
					t.Errorf("%s by %s with %.20q leads to %q", d.Pattern, who, value, p.to)
				}
			}
			v.Set("key", value)
			if p := orla.post(ids.Replace(d.Pattern), v); p.status >= 500 {
				t.Errorf("%s with the key %.20q: %d", d.Pattern, value, p.status)
			}
		}
		// No key, no write.
		if d.Need != "" {
			if p := orla.post(ids.Replace(d.Pattern), url.Values{}); p.status < 400 {
				t.Errorf("%s without a key: %d", d.Pattern, p.status)
			}
		}
	}
	if posts < 15 {
		t.Errorf("only %d writes were tried", posts)
	}
	for _, path := range []string{"/sign-in?next=%zz", "/sign-in?next=%00", "/sign-in?with=%ff", "/sign-in/%2e%2e", "/staff/%ff"} {
		if p := s.browser().get(path); p.status >= 500 {
			t.Errorf("%s: %d", path, p.status)
		}
	}
}
