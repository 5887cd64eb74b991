package webtest

import (
	"context"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	cd "github.com/chromedp/chromedp"
)

// Patience is how long the harness waits for what should be there.
var Patience = 15 * time.Second

// stuck is how long the browser may take over one order before it is given up.
const stuck = time.Minute

// Browser is one person's browser, with its own cookies. It is not for use
// from several goroutines.
type Browser struct {
	// Scope is the whole page; In gives a part of it.
	Scope

	t    T
	ctx  context.Context
	base string

	keys, taps int

	mu         sync.Mutex
	complaints []string
	allowed    []string
	answered   map[string]int64 // documents by address, with their status
	started    int              // navigations of the page begun
	loaded     int              // and finished
	redirected bool
}

// Open gives a new person's browser, looking at nothing yet. base is the
// server's address. At the end of the test it closes, and fails the test when
// the console complained.
func Open(t T, base string) *Browser {
	t.Helper()
	parent, err := chromium()
	if err != nil {
		t.Fatalf("%v", err)
	}
	ctx, cancel := cd.NewContext(parent, cd.WithNewBrowserContext())
	b := &Browser{t: t, ctx: ctx, base: strings.TrimRight(base, "/"), answered: map[string]int64{}}
	b.Scope = Scope{b: b}
	t.Cleanup(func() {
		if t.Failed() {
			b.shot("failed-" + t.Name())
		}
		cancel()
		for _, c := range b.Complaints() {
			t.Errorf("the browser's console: %s", c)
		}
	})
	if err := cd.Do(ctx); err != nil {
		t.Fatalf("open a tab: %v", err)
	}
	if err := cd.Listen(ctx, b.hear); err != nil {
		t.Fatalf("listen: %v", err)
	}
	b.call(cd.EmulateViewport(1280, 800))
	return b
}

func (b *Browser) call(steps ...cd.Action[cd.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, stuck)
	defer cancel()
	if err := cd.Do(ctx, steps...); err != nil {
		b.t.Fatalf("browser: %v", err)
	}
}

// Go opens a page of the server by its path, and waits until it is there.
func (b *Browser) Go(path string) {
	b.t.Helper()
	b.call(cd.Navigate(b.base + path))
}

// Reload opens the page again.
func (b *Browser) Reload() { b.t.Helper(); b.call(cd.Reload()) }

// Back goes to the page before.
func (b *Browser) Back() { b.t.Helper(); b.call(cd.NavigateBack()) }

// Path tells the address of the page, without the server.
func (b *Browser) Path() string {
	b.t.Helper()
	u, err := url.Parse(Eval[string](b, "location.href"))
	if err != nil {
		b.t.Fatalf("address: %v", err)
	}
	return u.RequestURI()
}

// Title tells the page's title.
func (b *Browser) Title() string { b.t.Helper(); return Eval[string](b, "document.title") }

// Status tells the HTTP status that the page was answered with.
func (b *Browser) Status() int {
	b.t.Helper()
	return Eval[int](b, "performance.getEntriesByType('navigation')[0].responseStatus")
}

// Eval runs JavaScript in the page and gives its value. Acting goes through
// the methods that do as a person does; this is for looking closer.
func Eval[V any](b *Browser, js string) V {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, stuck)
	defer cancel()
	v, err := cd.Run(ctx, cd.Evaluate[V](js, cd.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("evaluate %.80s: %v", js, err)
	}
	return v
}

// wait tries again until it holds, and gives up after Patience.
func (b *Browser) wait(holds func() bool) bool {
	deadline := time.Now().Add(Patience)
	for !holds() {
		if time.Now().After(deadline) {
			return false
		}
		time.Sleep(25 * time.Millisecond)
	}
	return true
}

// Until waits until something holds that only the test knows of; what says it
// in words.
func (b *Browser) Until(what string, holds func() bool) {
	b.t.Helper()
	if !b.wait(holds) {
		b.t.Fatalf("waited %v for %s", Patience, what)
	}
}

// settle waits, after something was pressed, for the page it leads to. Where
// it leads nowhere it waits just long enough to know.
func (b *Browser) settle(before int) {
	b.t.Helper()
	begun := false
	for range 6 {
		time.Sleep(10 * time.Millisecond)
		b.mu.Lock()
		begun = b.started > before || b.redirected
		b.mu.Unlock()
		if begun {
			break
		}
	}
	if !begun {
		return
	}
	b.Until("the next page to load", func() bool {
		b.mu.Lock()
		defer b.mu.Unlock()
		return b.started > before && b.loaded == b.started
	})
}

func (b *Browser) navigations() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.redirected = false
	return b.started
}

// Scripts turns the page's scripts off or on, from the next page.
func (b *Browser) Scripts(on bool) {
	b.t.Helper()
	if _, err := cd.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		b.t.Fatalf("scripts: %v", err)
	}
}

// SetCookie puts a cookie into the browser, for a test that is not about how
// it got there.
func (b *Browser) SetCookie(name, value string) {
	b.t.Helper()
	_, err := cd.Call(b.ctx, network.SetCookie, network.SetCookieParams{Name: name, Value: value, URL: b.base + "/"})
	if err != nil {
		b.t.Fatalf("set cookie %s: %v", name, err)
	}
}
