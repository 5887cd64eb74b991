package webtest

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/runtime"
	cd "github.com/chromedp/chromedp"
)

// Scope is the whole page or the part of it that somebody looks at.
type Scope struct {
	b *Browser
	// near is text that the part holds; empty for the whole page.
	near string
}

// In looks only at the smallest row, list entry, form, section or box that
// holds the text: In("Thermostat housing").Click("Done").
func (s Scope) In(text string) Scope { return Scope{b: s.b, near: text} }

const scopeJS = `(near => {
	if (!near) return document.body;
	const all = [...document.querySelectorAll("li, tr, section, fieldset, form, article, details, dialog, nav, header, .row, .field, .together")];
	const flat = s => s.replace(/\s+/g, " ").trim();
	const found = all.filter(e => e.getClientRects().length && flat(e.innerText).includes(near));
	found.sort((a, b) => a.innerText.length - b.innerText.length);
	return found[0] ?? null;
})(%s)`

// element is something found on the page.
type element struct {
	id   cdp.BackendNodeID
	role string
	name string
}

// roles that each kind of search looks for, as the accessibility tree names
// them.
var (
	pressable = []string{"button", "link", "checkbox", "radio", "DisclosureTriangle", "tab", "menuitem", "option", "switch"}
	fillable  = []string{"textbox", "searchbox", "combobox", "spinbutton", "Date", "DateTime", "InputTime", "slider"}
)

// find waits until exactly one thing of the roles has the name: exactly, or
// failing that as a part of its name.
func (s Scope) find(roles []string, name string) element {
	s.b.t.Helper()
	deadline := time.Now().Add(Patience)
	for {
		all := s.tree(roles)
		found := matching(all, name)
		if len(found) == 1 {
			return found[0]
		}
		if time.Now().After(deadline) {
			var names []string
			for _, e := range all {
				names = append(names, e.role+" "+quote(e.name))
			}
			if len(found) > 1 {
				s.b.t.Fatalf("%d things are called %q on %s: say In which part; there are: %s", len(found), name, s.b.Path(), strings.Join(names, ", "))
			}
			s.b.t.Fatalf("nothing to use is called %q on %s; there are: %s", name, s.b.Path(), strings.Join(names, ", "))
		}
		time.Sleep(30 * time.Millisecond)
	}
}

func matching(all []element, name string) []element {
	exact := slices.DeleteFunc(slices.Clone(all), func(e element) bool { return e.name != name })
	if len(exact) > 0 {
		return exact
	}
	low := strings.ToLower(name)
	return slices.DeleteFunc(slices.Clone(all), func(e element) bool { return !strings.Contains(strings.ToLower(e.name), low) })
}

func quote(s string) string { return "“" + s + "”" }

// tree reads the accessibility tree: what a person who cannot see would be
// told is there.
func (s Scope) tree(roles []string) []element {
	s.b.t.Helper()
	ctx, cancel := context.WithTimeout(s.b.ctx, stuck)
	defer cancel()
	near, _ := json.Marshal(s.near)
	res, err := cd.Call(ctx, runtime.Evaluate, runtime.EvaluateParams{Expression: strings.Replace(scopeJS, "%s", string(near), 1)})
	if err != nil || res.Result == nil || res.Result.ObjectID == "" {
		return nil // between two pages, or not there yet
	}
	ax, err := cd.Call(ctx, accessibility.QueryAXTree, accessibility.QueryAXTreeParams{ObjectID: res.Result.ObjectID})
	if err != nil {
		return nil
	}
	var out []element
	for _, n := range ax.Nodes {
		role := text(n.Role)
		if n.Ignored || !slices.Contains(roles, role) {
			continue
		}
		out = append(out, element{id: n.BackendDOMNodeID, role: role, name: strings.Join(strings.Fields(text(n.Name)), " ")})
	}
	return out
}

func text(v *accessibility.Value) string {
	if v == nil {
		return ""
	}
	var s string
	if json.Unmarshal([]byte(v.Value), &s) != nil {
		return ""
	}
	return s
}

// resolve turns an element into one that JavaScript can be called on; empty
// when it has gone meanwhile.
func (b *Browser) resolve(e element) runtime.RemoteObjectID {
	res, err := cd.Call(b.ctx, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: e.id})
	if err != nil || res.Object == nil {
		return ""
	}
	return res.Object.ObjectID
}

// on calls a JavaScript function on an element.
func on[V any](b *Browser, e element, function string, args ...any) (V, bool) {
	var v V
	id := b.resolve(e)
	if id == "" {
		return v, false
	}
	yes := true
	p := runtime.CallFunctionOnParams{FunctionDeclaration: function, ObjectID: id, ReturnByValue: &yes}
	for _, a := range args {
		raw, _ := json.Marshal(a)
		p.Arguments = append(p.Arguments, &runtime.CallArgument{Value: raw})
	}
	res, err := cd.Call(b.ctx, runtime.CallFunctionOn, p)
	if err != nil || res.ExceptionDetails != nil {
		return v, false
	}
	if len(res.Result.Value) == 0 {
		return v, true
	}
	return v, json.Unmarshal(res.Result.Value, &v) == nil
}
