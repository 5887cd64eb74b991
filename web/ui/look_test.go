package ui_test

import (
	"testing"

	"rampside/web/webtest"
)

func TestMain(m *testing.M) { webtest.Main(m) }

// looked are the pages that show every part, with the least size of a target.
var looked = []struct {
	path  string
	least int
}{{"/card", 24}, {"/card-wrong", 24}, {"/book-in", 24}, {"/floor", 48}, {"/marks", 24}, {"/stale", 24}, {"/not-found", 24}}

func TestEveryPartOfThePageIsFitForEverybody(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.URL)
	b.SetCookie("rampside", "owner")
	for _, p := range looked {
		b.Go(p.path)
		b.Audit(p.least)
		b.Dump(p.path[1:])
	}
}
