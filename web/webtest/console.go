package webtest

import (
	"fmt"
	"slices"
	"strings"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
)

// hear runs on the goroutine that reads from the browser: it only notes.
func (b *Browser) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *page.EventFrameStartedNavigating:
		b.started++
	case *page.EventFrameRequestedNavigation:
		b.redirected = true
	case *page.EventLoadEventFired:
		b.loaded = b.started
		b.redirected = false
	case *network.EventResponseReceived:
		if e.Type == network.ResourceTypeDocument {
			b.answered[e.Response.URL] = e.Response.Status
		}
	case *runtime.EventExceptionThrown:
		b.complain("exception: " + e.ExceptionDetails.Text + " " + describe(e.ExceptionDetails.Exception))
	case *runtime.EventConsoleAPICalled:
		if slices.Contains([]runtime.ConsoleAPICalledType{"error", "warning", "assert"}, e.Type) {
			var parts []string
			for _, a := range e.Args {
				parts = append(parts, string(a.Value)+a.Description)
			}
			b.complain(string(e.Type) + ": " + strings.Join(parts, " "))
		}
	case *log.EventEntryAdded:
		b.hearLog(e.Entry)
	}
}

// hearLog takes the browser's own complaints, a broken security policy among
// them. That a page answered 4xx is what a test may be about, and not one.
func (b *Browser) hearLog(e *log.Entry) {
	if e.Level != log.EntryLevelError && e.Level != log.EntryLevelWarning {
		return
	}
	if e.Source == log.EntrySourceNetwork && b.answered[e.URL] >= 400 && b.answered[e.URL] < 500 {
		return
	}
	b.complain(fmt.Sprintf("%s %s: %s %s", e.Source, e.Level, e.Text, e.URL))
}

func (b *Browser) complain(text string) {
	for _, a := range b.allowed {
		if strings.Contains(text, a) {
			return
		}
	}
	b.complaints = append(b.complaints, text)
}

// Complaints gives what the console complained of so far.
func (b *Browser) Complaints() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]string(nil), b.complaints...)
}

// Allow expects complaints that contain text, such as the broken connection
// of a test that stops the server.
func (b *Browser) Allow(text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.allowed = append(b.allowed, text)
}

func describe(o *runtime.RemoteObject) string {
	if o == nil {
		return ""
	}
	return string(o.Value) + o.Description
}
