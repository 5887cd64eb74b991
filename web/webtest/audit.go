package webtest

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"github.com/chromedp/cdproto/emulation"
	cd "github.com/chromedp/chromedp"
)

// Size sets the size of the screen in CSS pixels.
func (b *Browser) Size(w, h int) {
	b.t.Helper()
	b.call(cd.EmulateViewport(int64(w), int64(h)))
}

// Night makes the device ask for dark pages, or for light ones.
func (b *Browser) Night(on bool) {
	b.t.Helper()
	scheme := "light"
	if on {
		scheme = "dark"
	}
	b.media("", scheme)
}

// Paper shows the page as it prints, or on the screen again.
func (b *Browser) Paper(on bool) {
	b.t.Helper()
	media := ""
	if on {
		media = "print"
	}
	b.media(media, "light")
}

func (b *Browser) media(media, scheme string) {
	b.t.Helper()
	_, err := cd.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media:    media,
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}},
	})
	if err != nil {
		b.t.Fatalf("media: %v", err)
	}
}

var axe = sync.OnceValues(func() (string, error) {
	dir, err := root()
	if err != nil {
		return "", err
	}
	src, err := os.ReadFile(filepath.Join(dir, "web", "assets", "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		return "", fmt.Errorf("the accessibility tests need axe-core: run web/assets/build.sh (%w)", err)
	}
	return string(src), nil
})

type violation struct {
	ID, Impact, Help string
	Nodes            []struct {
		HTML           string
		FailureSummary string
	}
}

const axeJS = `(async only => {
	const found = await axe.run(document, { runOnly: only, resultTypes: ["violations", "incomplete"] });
	// Contrast that could not be worked out is contrast that nobody checked;
	// but for a single figure, which axe takes for no text, and for what has
	// scrolled out of sight in a wide table, which it looks at when wide.
	const excused = n => n.any.every(c => c.data?.messageKey === "shortTextContent" ||
		(["bgOverlap", "elmPartiallyObscured"].includes(c.data?.messageKey) && document.querySelector(n.target[0])?.closest(".scroll")));
	const unsure = found.incomplete.filter(v => v.id === "color-contrast")
		.map(v => ({ ...v, nodes: v.nodes.filter(n => !excused(n)) })).filter(v => v.nodes.length);
	return [...found.violations, ...unsure].map(v => ({ ID: v.id, Impact: v.impact ?? "", Help: v.help,
		Nodes: v.nodes.map(n => ({ HTML: n.html.slice(0, 200), FailureSummary: n.failureSummary ?? "" })) }));
})(%s)`

const (
	everyRule    = `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`
	contrastRule = `{ type: "rule", values: ["color-contrast", "link-in-text-block"] }`
)

// Axe fails the test on any violation of WCAG 2.2 AA that axe-core finds on
// the page as it stands now.
func (b *Browser) Axe() {
	b.t.Helper()
	b.axe(everyRule)
}

func (b *Browser) axe(rules string) {
	b.t.Helper()
	src, err := axe()
	if err != nil {
		b.t.Fatalf("%v", err)
	}
	if !Eval[bool](b, "typeof axe === 'object'") {
		Eval[bool](b, src+";true")
	}
	for _, v := range Eval[[]violation](b, fmt.Sprintf(axeJS, rules)) {
		var nodes []string
		for _, n := range v.Nodes {
			nodes = append(nodes, n.HTML+"\n      "+strings.ReplaceAll(n.FailureSummary, "\n", "\n      "))
		}
		b.t.Errorf("axe on %s: %s (%s): %s\n    %s", b.Path(), v.ID, v.Impact, v.Help, strings.Join(nodes, "\n    "))
	}
}

// Links within running text are exempt (WCAG 2.5.8, inline); a box is as large
// as its label makes it.
const smallJS = `(least => {
	const out = [];
	for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")) {
		if (!e.checkVisibility({ visibilityProperty: true })) continue;
		const rects = [e, ...(e.labels ?? [])].map(x => x.getBoundingClientRect());
		const w = Math.max(...rects.map(r => r.right)) - Math.min(...rects.map(r => r.left));
		const h = Math.max(...rects.map(r => r.bottom)) - Math.min(...rects.map(r => r.top));
		if (w === 0 || e.getBoundingClientRect().right < 0) continue;
		const inline = e.matches("a, summary") && getComputedStyle(e).display === "inline" &&
			e.parentElement.innerText.trim().length > e.innerText.trim().length;
		if (!inline && (w < least - 0.5 || h < least - 0.5)) out.push(Math.round(w) + " x " + Math.round(h) + ": " + e.outerHTML.slice(0, 160));
	}
	return out;
})(%d)`

// Targets fails the test on anything to press that is smaller than least CSS
// pixels either way: 24 is WCAG 2.5.8, 48 what a glove needs.
func (b *Browser) Targets(least int) {
	b.t.Helper()
	for _, small := range Eval[[]string](b, fmt.Sprintf(smallJS, least)) {
		b.t.Errorf("smaller than %d px on %s: %s", least, b.Path(), small)
	}
}

const wideJS = `(() => {
	const room = document.documentElement.clientWidth;
	if (document.documentElement.scrollWidth <= room) return [];
	const out = ["the page is " + document.documentElement.scrollWidth + " px wide"];
	for (const e of document.querySelectorAll("body *")) {
		if (out.length > 5) break;
		if (e.getBoundingClientRect().right > room + 1 && !e.closest(".scroll, svg")) out.push(e.outerHTML.slice(0, 120));
	}
	return out;
})()`

// Reflow fails the test when the page is wider than the screen, so that
// somebody would have to scroll sideways (WCAG 1.4.10 asks it at 320).
func (b *Browser) Reflow() {
	b.t.Helper()
	if wide := Eval[[]string](b, wideJS); len(wide) > 0 {
		b.t.Errorf("%s does not fit the screen: %s", b.Path(), strings.Join(wide, "\n    "))
	}
}

// Screens are the sizes every page is looked at in.
var Screens = []struct {
	Name          string
	Width, Height int
}{{"desk", 1280, 800}, {"tablet", 768, 1024}, {"phone", 320, 640}}

// Audit looks at the page at every size, by day and by night: axe, targets of
// least pixels, and nothing to scroll sideways for.
func (b *Browser) Audit(least int) {
	b.t.Helper()
	for _, s := range Screens {
		b.Size(s.Width, s.Height)
		b.Night(false)
		b.axe(everyRule)
		b.Night(true)
		b.axe(contrastRule) // by night only the colours are others
		b.Targets(least)
		b.Reflow()
	}
	b.Night(false)
	b.Size(1280, 800)
}
