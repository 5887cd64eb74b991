package webtest_test

import (
	"strings"
	"testing"
	"time"

	"rampside/web/webtest"
)

func TestWhatIsNotThereFailsTheTestAndSaysWhatIs(t *testing.T) {
	defer webtest.SetPatience(300 * time.Millisecond)()
	url := pages(t, map[string]string{"/": `<p><button>Start</button> <button>Stop the clock</button> <button>Stop the clock</button> <button disabled>Later</button></p>
		<form><label>Ramp <select><option>One</option></select></label></form>`})
	for name, c := range map[string]struct {
		act  func(b *webtest.Browser)
		want string
	}{
		"no such button":  {func(b *webtest.Browser) { b.Click("Finish") }, "nothing to use is called"},
		"lists the rest":  {func(b *webtest.Browser) { b.Click("Finish") }, "button “Start”"},
		"two of them":     {func(b *webtest.Browser) { b.Click("Stop the clock") }, "2 things are called"},
		"no such text":    {func(b *webtest.Browser) { b.See("Finished") }, `"Finished" is not to be seen`},
		"text that stays": {func(b *webtest.Browser) { b.SeeNot("Ramp") }, `"Ramp" is still to be seen`},
		"no such option":  {func(b *webtest.Browser) { b.Choose("Ramp", "Nine") }, "has no option"},
		"no such key":     {func(b *webtest.Browser) { b.Press("Any") }, "there is no key"},
		"no such part":    {func(b *webtest.Browser) { b.In("Wipers").Click("Start") }, "nothing to use is called"},
		"never":           {func(b *webtest.Browser) { b.Until("the end of the day", func() bool { return false }) }, "for the end of the day"},
	} {
		got := watch(t, url, func(b *webtest.Browser) { b.Go("/"); c.act(b) })
		if !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}
