package webtest

import (
	"context"
	"strings"

	cd "github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Keys of the keyboard by name, for Press.
var named = map[string]string{
	"Enter": kb.Enter, "Tab": kb.Tab, "Escape": kb.Escape, "Space": " ", "Backspace": kb.Backspace,
	"ArrowUp": kb.ArrowUp, "ArrowDown": kb.ArrowDown, "ArrowLeft": kb.ArrowLeft, "ArrowRight": kb.ArrowRight,
	"Home": kb.Home, "End": kb.End, "PageUp": kb.PageUp, "PageDown": kb.PageDown, "Delete": kb.Delete,
}

// place is where an element can be touched, and what is in the way.
type place struct {
	X, Y    float64
	Covered string
}

// An element may be touched where it is itself on top, or where its label is.
const placeJS = `function () {
	this.scrollIntoView({ block: "center", inline: "nearest", behavior: "instant" });
	const r = this.getClientRects()[0];
	if (!r || r.width === 0 || r.height === 0) return { X: 0, Y: 0, Covered: "nothing: it is not drawn" };
	const x = r.left + r.width / 2, y = r.top + r.height / 2;
	const top = document.elementFromPoint(x, y);
	const ok = top && (this === top || this.contains(top) || [...(this.labels ?? [])].some(l => l.contains(top)));
	return { X: x, Y: y, Covered: ok ? "" : (top ? top.outerHTML.slice(0, 120) : "the edge of the screen") };
}`

func (s Scope) touch(e element, how func(x, y float64) cd.Action[cd.Void]) {
	s.b.t.Helper()
	at, ok := on[place](s.b, e, placeJS)
	if !ok {
		s.b.t.Fatalf("%s %s went away before it could be touched", e.role, quote(e.name))
	}
	if at.Covered != "" {
		s.b.t.Fatalf("%s %s cannot be touched: in the way is %s", e.role, quote(e.name), at.Covered)
	}
	before := s.b.navigations()
	s.b.taps++
	s.b.call(how(at.X, at.Y))
	s.b.settle(before)
}

func click(x, y float64) cd.Action[cd.Void] { return cd.MouseClickXY(x, y) }

// Click presses the button, link, box or fold of that name with the mouse.
func (s Scope) Click(name string) {
	s.b.t.Helper()
	s.touch(s.find(pressable, name), click)
}

// DoubleClick presses twice at once, as an impatient finger does.
func (s Scope) DoubleClick(name string) {
	s.b.t.Helper()
	s.touch(s.find(pressable, name), func(x, y float64) cd.Action[cd.Void] {
		return func(ctx context.Context, t *cd.Target) (cd.Void, error) {
			if v, err := cd.MouseClickXY(x, y)(ctx, t); err != nil {
				return v, err
			}
			return cd.MouseClickXY(x, y, cd.ClickCount(2))(ctx, t)
		}
	})
	s.b.taps++
}

// Tap touches it with a finger.
func (s Scope) Tap(name string) {
	s.b.t.Helper()
	s.touch(s.find(pressable, name), cd.TapXY)
}

// Fill types into the field with that label, over what was there. A date or a
// time is entered as its field takes it, 2026-10-05 or 16:40.
func (s Scope) Fill(label, value string) {
	s.b.t.Helper()
	e := s.find(fillable, label)
	s.touch(e, click)
	if kind, _ := on[string](s.b, e, `function () { return this.type ?? "" }`); strings.HasPrefix(kind, "date") || kind == "time" || kind == "month" {
		s.b.keys += len(value)
		s.set(e, value)
		return
	}
	s.b.call(cd.KeyEvent("a", cd.KeyModifiers(cd.ModifierCtrl)), cd.KeyEvent(kb.Backspace))
	s.b.Type(value)
}

// Choose picks an option by its words.
func (s Scope) Choose(label, option string) {
	s.b.t.Helper()
	e := s.find([]string{"combobox", "listbox"}, label)
	s.touch(e, click)
	s.b.Press("Escape")
	s.b.taps++
	value, ok := on[string](s.b, e, `function (words) {
		const o = [...this.options].find(o => o.label.replace(/\s+/g, " ").trim() === words);
		return o ? o.value : "\u0000";
	}`, option)
	if !ok || value == "\x00" {
		s.b.t.Fatalf("%s has no option %q", quote(label), option)
	}
	s.set(e, value)
}

func (s Scope) set(e element, value string) {
	s.b.t.Helper()
	_, ok := on[bool](s.b, e, `function (value) {
		this.value = value;
		this.dispatchEvent(new Event("input", { bubbles: true }));
		this.dispatchEvent(new Event("change", { bubbles: true }));
		return true;
	}`, value)
	if !ok {
		s.b.t.Fatalf("%s %s could not be set", e.role, quote(e.name))
	}
}

// Attach puts files into the file field with that label.
func (s Scope) Attach(label string, files ...string) {
	s.b.t.Helper()
	e := s.find([]string{"button", "textbox"}, label)
	mark, ok := on[string](s.b, e, `function () { this.setAttribute("data-webtest-file", "1"); return this.type }`)
	if !ok || mark != "file" {
		s.b.t.Fatalf("%s takes no files", quote(label))
	}
	s.b.taps++
	s.b.call(cd.SetUploadFiles(cd.CSS("[data-webtest-file]"), files))
	_, _ = on[bool](s.b, e, `function () { this.removeAttribute("data-webtest-file"); return true }`)
}

// Value tells what stands in the field with that label.
func (s Scope) Value(label string) string {
	s.b.t.Helper()
	v, ok := on[string](s.b, s.find(fillable, label), `function () { return this.value }`)
	if !ok {
		s.b.t.Fatalf("%s has no value", quote(label))
	}
	return v
}

// Ticked tells whether the box or choice with that label is ticked.
func (s Scope) Ticked(label string) bool {
	s.b.t.Helper()
	v, ok := on[bool](s.b, s.find([]string{"checkbox", "radio", "switch"}, label), `function () { return this.checked }`)
	if !ok {
		s.b.t.Fatalf("%s cannot be ticked", quote(label))
	}
	return v
}

// Has tells whether something to press or fill has that very name now.
func (s Scope) Has(name string) bool {
	s.b.t.Helper()
	for _, e := range s.tree(append(append([]string{}, pressable...), fillable...)) {
		if e.name == name {
			return true
		}
	}
	return false
}

// Type types text into whatever has the focus.
func (b *Browser) Type(text string) {
	b.t.Helper()
	// A page puts the cursor where it belongs a moment after it has loaded,
	// as a person sees it do before typing.
	b.wait(func() bool {
		return Eval[bool](b, `!document.querySelector("[autofocus]") || document.activeElement !== document.body`)
	})
	b.keys += len([]rune(text))
	b.call(cd.KeyEvent(text))
}

// Press presses keys by name, one after another: "Tab", "Enter", "ArrowDown".
func (b *Browser) Press(keys ...string) {
	b.t.Helper()
	for _, k := range keys {
		code, ok := named[k]
		if !ok {
			b.t.Fatalf("there is no key %q", k)
		}
		before := b.navigations()
		b.keys++
		b.call(cd.KeyEvent(code))
		if k == "Enter" || k == "Space" {
			b.settle(before)
		}
	}
}

// Focused tells the name of what has the focus, or what it looks like where
// it has none.
func (b *Browser) Focused() string {
	b.t.Helper()
	return Eval[string](b, `(() => {
		const e = document.activeElement;
		if (!e || e === document.body) return "";
		const flat = s => (s ?? "").replace(/\s+/g, " ").trim();
		return flat(e.labels?.[0]?.innerText) || flat(e.getAttribute("aria-label")) || flat(e.innerText) || e.outerHTML.slice(0, 120);
	})()`)
}

// Keys and Taps tell how many keys were pressed and things touched since the
// last Recount: the price of a task.
func (b *Browser) Keys() int { return b.keys }

// Taps is described at Keys.
func (b *Browser) Taps() int { return b.taps }

// Recount begins to count keys and taps anew.
func (b *Browser) Recount() { b.keys, b.taps = 0, 0 }
