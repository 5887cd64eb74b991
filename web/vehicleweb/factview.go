package vehicleweb

import (
	"strconv"
	"strings"
	"time"

	"rampside/internal/caution"
	"rampside/internal/fact"
	"rampside/internal/vehicle"
)

// hintView is what mark or VIN suggests, and how far that goes.
type hintView struct{ Label, Says, Why string }

// factView is one fact with every source's word on it.
type factView struct {
	Label string
	// Doubt says which source outranks which when they contradict one another,
	// and Look where to go and look, with what to mind there.
	Doubt, Look, Mind string
	Values            []valueView
}

type valueView struct {
	Key, Value, Shown, Source, From, Noted string
	Best                                   bool
	// Standing is how it stands to the value to go by; empty for one that
	// stands alone.
	Standing   string
	Edit, What string
}

// placeView is what is to be read at one place on the car.
type placeView struct {
	Place, Mind string
	Keys        []unknownView
}

type unknownView struct{ Label, How, Mind, Link string }

func (v *carView) facts(rec *vehicle.Record, zone *time.Location) {
	for _, h := range rec.Hints {
		v.Hints = append(v.Hints, hintView(h))
	}
	for _, k := range rec.Facts {
		v.Facts = append(v.Facts, newFact(k, v.Path, zone))
	}
	v.UnknownCount = factCount(len(rec.Unknown))
	for _, k := range rec.Unknown {
		if n := len(v.Unknown); n == 0 || v.Unknown[n-1].Place != capital(string(k.Where)) {
			v.Unknown = append(v.Unknown, placeView{Place: capital(string(k.Where)), Mind: titles(k.Where.Cautions())})
		}
		at := &v.Unknown[len(v.Unknown)-1]
		at.Keys = append(at.Keys, unknownView{
			Label: k.Titled(), How: capital(k.How) + ".", Mind: titles(beyond(k)), Link: v.Path + "?do=fact&fact=" + k.Key + "#fact-form",
		})
	}
}

// factCount counts facts in words; none is no words.
func factCount(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "one fact"
	}
	return strconv.Itoa(n) + " facts"
}

// beyond are the cautions of reading a fact that its place does not call for
// already.
func beyond(k fact.Key) []caution.Key {
	var out []caution.Key
	at := caution.Of(k.Where.Cautions())
	for _, c := range k.Cautions() {
		known := false
		for _, a := range at {
			known = known || a.Key == c
		}
		if !known {
			out = append(out, c)
		}
	}
	return out
}

// titles names cautions in a few words.
func titles(keys []caution.Key) string {
	var out []string
	for _, c := range caution.Of(keys) {
		out = append(out, strings.ToLower(c.Title))
	}
	return strings.Join(out, ", ")
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func newFact(k vehicle.Known, path string, zone *time.Location) factView {
	f := factView{Label: k.Key.Label}
	var against []string
	for _, x := range k.All {
		standing := k.Standing(x)
		if standing == vehicle.Contradicts {
			against = append(against, x.Source.Words())
		}
		value := valueView{
			Key: x.Key, Value: x.Value, Shown: k.Key.Shown(x.Value), Source: string(x.Source), From: x.Source.Words(),
			Noted: noted(x, zone), Best: standing == vehicle.GoneBy,
			Edit: path + "?do=fact&fact=" + x.Key + "&source=" + string(x.Source) + "#fact-form",
			What: k.Key.Label + ", " + k.Key.Shown(x.Value) + ", " + x.Source.Words(),
		}
		if len(k.All) > 1 {
			value.Standing = string(standing)
		}
		f.Values = append(f.Values, value)
	}
	if k.Contradicted {
		f.Doubt = "Sources differ."
		if len(against) > 0 {
			f.Doubt = "Sources differ: " + k.Best.Source.Words() + " outranks " + strings.Join(against, ", ") + "."
		}
		f.Look = "Go and look " + k.Key.Where.At() + ". " + capital(k.Key.How) + "."
		f.Mind = titles(k.Key.Cautions())
	}
	return f
}

func noted(f vehicle.Fact, zone *time.Location) string {
	s := f.NotedAt.In(zone).Format("2 Jan 2006")
	if f.NotedBy != "" {
		s += ", " + f.NotedBy
	}
	return s
}
