package ui_test

import (
	"net"
	"net/http"
	"testing"
	"time"

	"rampside/web/webtest"
)

func TestAFormWorksWithoutAnyScript(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.URL)
	b.SetCookie("rampside", "desk")
	b.Scripts(false)
	b.Go("/record")
	b.Fill("Ready by", "never")
	b.Click("Promise it")
	b.See("That is no time to promise")
	if got := b.Value("Ready by"); got != "never" {
		t.Errorf("what was typed is now %q", got)
	}
	b.Fill("Ready by", "16:40")
	b.Click("Promise it")
	b.See("Promised: 16:40")
	if got := b.Path(); got != "/record" {
		t.Errorf("ended at %s", got)
	}
	b.See("Promise noted")
	b.Click("Night")
	if got := webtest.Eval[string](b, "document.documentElement.dataset.light"); got != "night" {
		t.Errorf("the light is %q", got)
	}
}

func TestAnImpatientFingerSendsAFormOnce(t *testing.T) {
	s := newSite(t)
	s.record.slow = 400 * time.Millisecond
	b := webtest.Open(t, s.URL)
	b.SetCookie("rampside", "desk")
	b.Go("/record")
	b.Fill("Ready by", "16:40")
	b.DoubleClick("Promise it")
	b.See("Promised: 16:40")
	if posts, writes := s.record.postCount(), s.record.writeCount(); posts != 1 || writes != 1 {
		t.Errorf("sent %d times, written %d times", posts, writes)
	}
	// Back at the form, it can be sent again.
	b.Back()
	b.Fill("Ready by", "17:00")
	b.Click("Promise it")
	b.Until("the second promise to arrive", func() bool { return s.record.postCount() == 2 })
}

func TestALivePageChangesAroundWhoeverIsTyping(t *testing.T) {
	s := newSite(t)
	typing, other := webtest.Open(t, s.URL), webtest.Open(t, s.URL)
	typing.SetCookie("rampside", "desk")
	other.SetCookie("rampside", "owner")
	typing.Go("/record")
	typing.Until("the page to listen", func() bool { return s.hub.listening() == 1 })
	typing.Click("as it was (promise: how it came about)")
	typing.See("Said at the desk.")
	typing.Fill("Ready by", "16:40, she s")

	other.Go("/record")
	other.Fill("Ready by", "15:00")
	other.Click("Promise it")
	other.See("Promised: 15:00")

	typing.See("15:00")
	typing.See("Said at the desk.") // what was opened stays open
	if got := typing.Focused(); got != "Ready by" {
		t.Errorf("the cursor is now in %q", got)
	}
	typing.Type("ays") // and the typing goes on where it was
	if got := typing.Value("Ready by"); got != "16:40, she says" {
		t.Errorf("the half-typed words are now %q", got)
	}
	// The form still knows which version it was made from, so that the other's
	// change is not overwritten unseen.
	typing.Press("Enter")
	typing.See("Somebody changed this note while you had it open")
	typing.In("Ready by").See("15:00")
	typing.Click("Save mine over it")
	typing.See("Promised: 16:40, she says")
	other.See("16:40, she says")
	if got := other.Value("Ready by"); got != "16:40, she says" {
		t.Errorf("a form that nobody touched still shows %q", got)
	}
}

func TestABrokenLineIsSaidAndCaughtUpWith(t *testing.T) {
	s := newSite(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := l.Addr().String()
	first := &http.Server{Handler: s.router, ReadHeaderTimeout: time.Second}
	go func() { _ = first.Serve(l) }()

	b := webtest.Open(t, "http://"+addr)
	b.Allow("net::ERR")
	b.SetCookie("rampside", "desk")
	b.Go("/record")
	b.Until("the page to listen", func() bool { return s.hub.listening() == 1 })
	_ = first.Close()
	b.See("Not connected.")
	if err := s.record.write(noKey, 1, "changed meanwhile"); err != nil {
		t.Fatal(err)
	}
	l, err = net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	second := &http.Server{Handler: s.router, ReadHeaderTimeout: time.Second}
	go func() { _ = second.Serve(l) }()
	t.Cleanup(func() { _ = second.Close() })
	b.See("changed meanwhile")
	b.SeeNot("Not connected.")
}

func TestAPageThatIsSignedOutSaysSo(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.URL)
	b.Allow("401")
	b.SetCookie("rampside", "desk")
	b.Go("/record")
	b.Until("the page to listen", func() bool { return s.hub.listening() == 1 })
	b.SetCookie("rampside", "ended")
	s.hub.say("card:1")
	b.See("You are signed out.")
}

func TestWhatIsFoundAppearsWhileItIsTyped(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.URL)
	b.SetCookie("rampside", "desk")
	b.Go("/book-in")
	b.See("No car of that mark")
	b.Recount()
	b.Fill("Find", "RS65")
	b.See("Nothing is called RS65")
	if got := b.Focused(); got != "Find" {
		t.Errorf("the cursor is now in %q", got)
	}
	if b.Keys() != 4 || b.Taps() != 1 {
		t.Errorf("%d keys and %d taps", b.Keys(), b.Taps())
	}
}

func TestThePageIsWalkedByKeyboardFromItsHead(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.URL)
	b.SetCookie("rampside", "owner")
	b.Go("/card")
	b.Press("Tab")
	if got := b.Focused(); got != "Skip to the page" {
		t.Fatalf("first comes %q", got)
	}
	b.Press("Enter", "Tab")
	if got := webtest.Eval[bool](b, `document.querySelector("main").contains(document.activeElement)`); !got {
		t.Errorf("after skipping comes %q", b.Focused())
	}
	// Every control is reached, is seen when it has the focus, and is not
	// covered by anything (WCAG 2.1.1, 2.4.7, 2.4.11).
	want := webtest.Eval[int](b, `[...document.querySelectorAll("main a[href], main button, main input:not([type=hidden]), main select, main textarea, main summary")].length`)
	seen := map[string]bool{}
	for range want + 6 {
		seen[webtest.Eval[string](b, `(() => { const e = document.activeElement; return e.tagName + (e.id || e.textContent) })()`)] = true
		if bad := webtest.Eval[string](b, `(() => {
			const e = document.activeElement, r = e.getBoundingClientRect();
			if (getComputedStyle(e).outlineStyle === "none") return "no outline: " + e.outerHTML;
			const top = document.elementFromPoint(r.left + r.width / 2, r.top + Math.min(r.height / 2, 10));
			return top && (e.contains(top) || top.contains(e)) ? "" : "covered: " + e.outerHTML;
		})()`); bad != "" {
			t.Error(bad)
		}
		b.Press("Tab")
	}
	// A group of radio buttons is one stop.
	if len(seen) < want-2 {
		t.Errorf("%d stops for %d controls: %v", len(seen), want, seen)
	}
}

func TestARefusedFormBeginsWithWhatIsWrong(t *testing.T) {
	s := newSite(t)
	b := webtest.Open(t, s.URL)
	b.SetCookie("rampside", "desk")
	b.Go("/record")
	b.Fill("Ready by", "never")
	b.Press("Enter")
	b.See("One field needs another look")
	if got := webtest.Eval[string](b, "document.activeElement.className"); got != "problems" {
		t.Errorf("the reader begins at %q", got)
	}
	b.Click("At: that is no time to promise")
	if got := b.Focused(); got != "Ready by" {
		t.Errorf("the list leads to %q", got)
	}
}
