package app_test

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/app/apptest"
)

// filled is a form that somebody has in front of them, filled in.
type filled struct {
	c     *apptest.Client
	path  string
	v     url.Values
	names []string // what a person could type into, in the form's order
	file  bool
}

// open sets the stage, opens the page and fills the form in. It fails the test
// where there is no such form.
func (w *world) open(pattern string, e entry) (filled, bool) {
	w.t.Helper()
	if e.anew != nil {
		e.anew(w)
	}
	f, why := w.find(pattern, e)
	if why != "" {
		w.t.Error(why)
	}
	return f, why == ""
}

// find is open on the stage as it stands. It says why where there is no form.
func (w *world) find(pattern string, e entry) (f filled, why string) {
	w.t.Helper()
	w.n++
	f = filled{c: w.browser(e.by), path: w.path(pattern), v: url.Values{}, file: e.file}
	words := strings.NewReplacer("{n}", strconv.Itoa(10+w.n%50), "{day}", w.Day.String(), "{tomorrow}", w.Day.AddDays(1).String())
	put := func(s string) string { return words.Replace(w.path(s)) }
	fields := make([]string, len(e.put)) // a field's name may hold the number of a line
	for i, s := range e.put {
		fields[i] = put(s)
	}
	if !e.loose {
		a := f.c.Get(put(e.on))
		form := formTo(a.Page(), strings.SplitN(put(e.on), "?", 2)[0], f.path, fields)
		if form == nil {
			return f, fmt.Sprintf("no form to %s on %s: %d %s", f.path, put(e.on), a.Status, a.Says())
		}
		f.v = values(form)
		form.Find("input, select, textarea").Each(func(_ int, in *goquery.Selection) {
			if name := in.AttrOr("name", ""); name != "" && name != "key" {
				f.names = append(f.names, name)
			}
		})
	}
	for i := 0; i < len(fields); i += 2 {
		f.v.Set(fields[i], fields[i+1])
		if e.loose {
			f.names = append(f.names, fields[i])
		}
	}
	if e.unkeyed == "" {
		f.v.Set("key", apptest.Key())
	}
	f.names = unique(f.names)
	return f, ""
}

func unique(in []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, s := range in {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// formTo finds the form of a page that posts to a path and has the fields that
// are to be filled in; of several, the first.
func formTo(doc *goquery.Document, page, path string, put []string) (found *goquery.Selection) {
	doc.Find(`form[method="post"]`).EachWithBreak(func(_ int, form *goquery.Selection) bool {
		if form.AttrOr("action", page) != path {
			return true
		}
		for i := 0; i < len(put); i += 2 {
			if form.Find(`[name="`+put[i]+`"]`).Length() == 0 {
				return true
			}
		}
		found = form
		return false
	})
	return found
}

// values are what a browser sends when the form's first button is pressed.
func values(form *goquery.Selection) url.Values {
	v := url.Values{}
	form.Find("input, select, textarea").Each(func(_ int, in *goquery.Selection) {
		name, value := in.AttrOr("name", ""), in.AttrOr("value", "")
		if name == "" {
			return
		}
		switch goquery.NodeName(in) {
		case "select":
			option := in.Find("option[selected]")
			if option.Length() == 0 {
				option = in.Find("option").First()
			}
			v.Add(name, option.AttrOr("value", option.Text()))
			return
		case "textarea":
			v.Add(name, in.Text())
			return
		}
		switch in.AttrOr("type", "text") {
		case "file":
		case "radio", "checkbox":
			if _, on := in.Attr("checked"); on {
				v.Add(name, in.AttrOr("value", "on"))
			}
		default:
			v.Add(name, value)
		}
	})
	button := form.Find("button").First()
	if name, ok := button.Attr("name"); ok {
		v.Set(name, button.AttrOr("value", ""))
	}
	return v
}

// send posts the form as it is filled in.
func (f filled) send(t testing.TB, v url.Values) apptest.Answer {
	if f.file {
		return f.c.PostMultipart(f.path, v, apptest.File{Field: "photo", Name: "leak.jpg", Content: smallJPEG(t)})
	}
	return f.c.Post(f.path, v)
}
