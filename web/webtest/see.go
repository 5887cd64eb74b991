package webtest

import (
	"encoding/json"
	"strings"
)

const seenJS = `(() => {
	const scope = %s;
	return scope ? scope.innerText.replace(/\s+/g, " ").trim() : "";
})()`

// Text gives what is to be read, with every gap as one blank.
func (s Scope) Text() string {
	s.b.t.Helper()
	near, _ := json.Marshal(s.near)
	scope := strings.Replace(scopeJS, "%s", string(near), 1)
	return Eval[string](s.b, strings.Replace(seenJS, "%s", scope, 1))
}

// See waits until the text can be read.
func (s Scope) See(text string) {
	s.b.t.Helper()
	var last string
	ok := s.b.wait(func() bool { last = s.Text(); return strings.Contains(last, text) })
	if !ok {
		s.b.t.Fatalf("%q is not to be seen on %s; there is: %.2000s", text, s.b.Path(), last)
	}
}

// SeeNot waits until the text can no longer be read.
func (s Scope) SeeNot(text string) {
	s.b.t.Helper()
	if !s.b.wait(func() bool { return !strings.Contains(s.Text(), text) }) {
		s.b.t.Fatalf("%q is still to be seen on %s", text, s.b.Path())
	}
}
