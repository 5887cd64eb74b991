//go:build !race

package app_test

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/app/apptest"
	"rampside/internal/apperr"
	"rampside/internal/clocking"
	"rampside/internal/customer"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/jobcard/cardtest"
	"rampside/internal/money"
	"rampside/internal/roster"
	"rampside/internal/vehicle"
)

// hostileGarage writes payloads into every field that takes words, through the
// services as real use does. It gives the pages that show them first.
type hostileGarage struct {
	*world
	all     []string
	next    int
	stored  int
	refused map[string]int // by what, where a field takes no such text
	pages   []string
}

// p gives the next payload.
func (h *hostileGarage) p() string {
	h.next++
	return h.all[(h.next-1)%len(h.all)]
}

// kept notes whether something was taken. Only a refusal at a field is one.
func (h *hostileGarage) kept(what string, err error) bool {
	h.t.Helper()
	switch {
	case err == nil:
		h.stored++
		return true
	case apperr.Is(err, apperr.Invalid):
		h.refused[what]++
	default:
		h.t.Errorf("%s: %v", what, err)
	}
	return false
}

func (h *hostileGarage) see(format string, args ...any) {
	h.pages = append(h.pages, fmt.Sprintf(format, args...))
}

// checked is the line of such a card that a second person looks at.
const checked = 9

// fillCard books a car with payloads wherever a card, its car and its customer
// have words, and takes it through a day.
func (h *hostileGarage) fillCard(n int) {
	ctx := h.t.Context()
	var lines []jobcard.NewLine
	for i := range 12 {
		l := cardtest.Free(h.p(), time.Hour)
		l.Safety = i == checked
		l.Note = h.p() + "\n" + h.p()
		lines = append(lines, l)
	}
	done, err := h.Cards.Book(ctx, h.Desk, jobcard.Booking{
		NewVehicle:  &vehicle.Input{Mark: fmt.Sprintf("HX%d ZQ", 10+n), Make: short(h.p(), 60), Model: h.p(), Colour: short(h.p(), 40)},
		NewCustomer: &customer.Input{Name: h.p(), Phone: fmt.Sprintf("07700 902%03d", n), Address: h.p() + "\n" + h.p(), Note: h.p()},
		Facts:       []vehicle.FactInput{{Key: "engine_code", Value: short(h.p(), 40), Source: "car"}},
		Here:        true, Lines: lines,
		Visit: jobcard.Visit{BookedFor: h.Day, PromisedAt: h.Now().Add(8 * time.Hour), CustomerWords: h.p() + "\n" + h.p(), KeysNote: h.p(), ContactName: h.p(), ContactPhone: short(h.p(), 40)},
	})
	if apperr.Is(err, apperr.Invalid) { // the fact or the telephone takes no such text: without them, then
		h.refused["contact's telephone or fact"]++
		done, err = h.Cards.Book(ctx, h.Desk, jobcard.Booking{
			NewVehicle:  &vehicle.Input{Mark: fmt.Sprintf("HX%d ZQ", 10+n), Make: short(h.p(), 60), Model: h.p(), Colour: short(h.p(), 40)},
			NewCustomer: &customer.Input{Name: h.p(), Phone: fmt.Sprintf("07700 902%03d", n), Address: h.p(), Note: h.p()},
			Here:        true, Lines: lines,
			Visit: jobcard.Visit{BookedFor: h.Day, PromisedAt: h.Now().Add(8 * time.Hour), CustomerWords: h.p(), KeysNote: h.p(), ContactName: h.p()},
		})
	}
	h.OK(err)
	h.stored += 8 + len(lines)*2
	sh := h.Sheet(done.CardID)
	h.see("/cards/%d", sh.ID)
	h.see("/cards/%d/cost", sh.ID)
	h.see("/vehicles/%d", sh.VehicleID)
	h.see("/customers/%d?do=edit", sh.CustomerID)
	h.see("/customers/%d", sh.CustomerID)
	h.see("/vehicles/%d?do=edit", sh.VehicleID)
	h.see("/book-in?car=%d", sh.VehicleID)
	for _, l := range sh.Lines {
		_, err := h.Cards.AddPart(ctx, h.Desk, jobcard.AddPartInput{CardID: sh.ID, PartTerms: jobcard.PartTerms{
			LineID: l.ID, Name: h.p(), Number: short(h.p(), 60), SupplierID: h.Supplier, Qty: 1000, Cost: 100, Supply: jobcard.Ordered,
		}})
		h.kept("part", err)
	}
	_, err = h.Cards.Answer(ctx, h.Desk, jobcard.ConsentInput{CardID: sh.ID, Answer: jobcard.Agreed, SaidBy: h.p(), How: "by phone"})
	h.kept("who said it", err)
	h.work(h.Sheet(sh.ID))
}

// work leaves words on the lines of a card: snags, findings, reasons, checks.
func (h *hostileGarage) work(sh *jobcard.Sheet) {
	ctx, clocks := h.t.Context(), h.Services.Clocks
	line := func(i int) jobcard.LineID { return sh.Lines[i].ID }
	on, err := clocks.ClockOn(ctx, h.Posy, clocking.OnInput{LineID: line(0), Read: nil})
	h.OK(err)
	h.see("/floor/lines/%d", line(0))
	h.see("/floor/lines/%d/snag/found-a-fault", line(1))
	h.see("/floor/clockings/%d", on.ClockingID)
	_, err = clocks.Snag(ctx, h.Posy, jobcard.SnagInput{LineID: line(1), Kind: jobcard.FoundFault, Note: h.p(),
		Found: &jobcard.Found{Title: h.p(), Severity: jobcard.Dangerous, Measured: h.p(), Limit: h.p(), Estimate: hours.One(time.Hour)}})
	h.kept("fault", err)
	_, err = clocks.Snag(ctx, h.Posy, jobcard.SnagInput{LineID: line(2), PartID: sh.PartsOf(line(2))[0].ID, Kind: jobcard.WrongPart, Note: h.p()})
	h.kept("wrong part", err)
	_, err = clocks.Snag(ctx, h.Posy, jobcard.SnagInput{LineID: line(3), Kind: jobcard.Blocked, Note: h.p()})
	h.kept("blocked", err)
	_, err = clocks.Defer(ctx, h.Desk, clocking.DeferInput{LineID: line(4), Reason: h.p(), DecidedBy: h.p()})
	h.kept("reason for putting off", err)
	_, err = clocks.Wait(ctx, h.Posy, clocking.ReasonInput{LineID: line(5), Reason: h.p()})
	h.kept("what it waits for", err)
	_, err = h.Cards.StrikeLine(ctx, h.Desk, jobcard.StrikeInput{LineID: line(6), Version: sh.Lines[6].Version, Reason: h.p()})
	h.kept("reason for striking out", err)
	part := sh.PartsOf(line(7))[0]
	_, err = h.Cards.SetVerdict(ctx, h.Posy, jobcard.VerdictInput{PartID: part.ID, Version: part.Version, Verdict: jobcard.DoesNotFit, Note: h.p()})
	h.kept("why it does not fit", err)
	part = sh.PartsOf(line(8))[0]
	_, err = h.Cards.StrikePart(ctx, h.Desk, jobcard.StrikeInput{PartID: part.ID, Version: part.Version, Reason: h.p()})
	h.kept("reason for striking a part", err)
	for _, p := range sh.PartsOf(line(checked)) {
		_, err = h.Cards.SetVerdict(ctx, h.Posy, jobcard.VerdictInput{PartID: p.ID, Version: p.Version, Verdict: jobcard.Fits, Note: h.p()})
		h.kept("why it fits", err)
	}
	_, err = clocks.Tick(ctx, h.Posy, clocking.LineInput{LineID: line(checked)})
	h.OK(err)
	_, err = h.Cards.SecondCheck(ctx, h.Owner, jobcard.CheckInput{LineID: line(checked), Note: h.p()})
	h.kept("note of a check", err)
	h.Pass(time.Minute)
	_, err = clocks.Correct(ctx, h.Posy, clocking.CorrectInput{ClockingID: on.ClockingID, Version: 1, From: h.Now().Add(-30 * time.Second), Reason: h.p()})
	h.kept("reason for a correction", err)
	h.see("/photos/%d", h.photo(line(0), h.p()))
	h.stored++
}

// fillHouse puts payloads into the garage's own lists and its people.
func (h *hostileGarage) fillHouse() {
	ctx := h.t.Context()
	for range len(h.all) / 8 {
		op, err := h.Settings.SaveOperation(ctx, h.Owner, garage.OperationInput{
			Name: h.p(), LabourTypeID: h.Labour, Low: time.Hour, Likely: time.Hour, High: time.Hour, VATCode: money.Standard, Active: true,
		})
		if h.kept("operation", err) {
			h.see("/garage/operations/%d", op.ID)
		}
		su, err := h.Settings.SaveSupplier(ctx, h.Owner, garage.SupplierInput{Name: h.p(), Active: true})
		if h.kept("supplier", err) {
			h.see("/garage/suppliers/%d", su.ID)
		}
		_, err = h.Settings.SaveSupplier(ctx, h.Owner, garage.SupplierInput{Name: h.p(), Phone: short(h.p(), 80), Active: true})
		h.kept("supplier's telephone", err)
		_, err = h.Settings.SaveSupplier(ctx, h.Owner, garage.SupplierInput{Name: h.p(), Email: h.p(), Active: true})
		h.kept("supplier's e-mail", err)
		la, err := h.Settings.SaveLabourType(ctx, h.Owner, garage.LabourTypeInput{Name: h.p(), Rate: 5000, Active: true})
		if h.kept("labour", err) {
			h.see("/garage/labour/%d", la.ID)
		}
		id, err := h.Accounts.CreateUser(ctx, h.Owner, account.NewStaff{Name: short(h.p(), 80), Role: actor.Technician, PIN: cardtest.PIN, CostRate: 1000})
		if h.kept("staff", err) {
			h.see("/staff/%d", id)
		}
		_, err = h.Accounts.EnrolTablet(ctx, h.Desk, short(h.p(), 60))
		h.kept("tablet", err)
		_, err = h.Accounts.CreateToken(ctx, h.Owner, account.NewToken{Name: short(h.p(), 60), StaffID: h.Spare.StaffID})
		h.kept("token", err)
	}
	for i := range 6 {
		day := h.Day.AddDays(10 + i)
		h.kept("absence", h.Services.Roster.AddAbsence(ctx, h.Owner, roster.AbsenceInput{StaffID: h.Bram.StaffID, From: day, To: day, Reason: h.p()}))
	}
}

// Text that does harm where it is taken for markup, in every field that takes
// words: on no page is any of it more than text.
func TestNoTextIsEverTakenForMarkup(t *testing.T) {
	w := openWorld(t)
	h := &hostileGarage{world: w, all: payloads(), refused: map[string]int{}}
	if n := len(h.all); n < 200 {
		t.Fatalf("only %d payloads", n)
	}
	h.fillHouse()
	for n := range 8 {
		h.fillCard(n)
		w.Pass(time.Minute)
	}
	t.Logf("%d payloads, %d texts stored; refused at their field: %v", len(h.all), h.stored, h.refused)
	seen := map[string]bool{}
	pages := w.crawl(w.browser(""), append(append(w.allPages(), h.pages...), "/garage/record", "/diary?view=week"), 700, func(path string, a apptest.Answer) {
		if a.Status != http.StatusOK && a.Status != http.StatusSeeOther && a.Status != http.StatusNotFound && a.Status != http.StatusForbidden {
			t.Errorf("%s: %d %s", path, a.Status, a.Says())
		}
		if strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
			plain(t, path, a.Page(), seen)
		}
	})
	for _, path := range []string{"/floor", "/floor/clockings", "/my-sessions"} {
		plain(t, path+" of a technician", w.browser("posy").Get(path).Page(), seen)
	}
	tablet := w.browser("tablet")
	plain(t, "the names on a tablet", tablet.Get("/sign-in").Page(), seen)
	shown := 0
	for _, p := range h.all {
		if seen[p[:len("zq100 ")]] {
			shown++
		} else {
			t.Errorf("%q is on no page: is the crawl right?", p)
		}
	}
	t.Logf("%d pages opened, %d of the payloads stood on them as text", pages, shown)
	if pages < 400 {
		t.Errorf("only %d pages were opened", pages)
	}
	h.answersOfTheInterface()
	h.everyGarageName()
}

// answersOfTheInterface reads all that a program can read: JSON that is said
// to be nothing else, with no markup that anything could take for a page.
func (h *hostileGarage) answersOfTheInterface() {
	program := h.Program(h.Owner)
	read := 0
	for _, d := range h.App.Handler().DeclaredToPrograms() {
		if d.Method != http.MethodGet || strings.Contains(d.Pattern, "/photos/") || strings.HasSuffix(d.Pattern, "/pdf") {
			continue
		}
		path := h.path(d.Pattern)
		if asks(d.Pattern) {
			path += "?text=zq1"
		}
		a := program.Get(path)
		read++
		kind := a.Header.Get("Content-Type")
		if a.Status == http.StatusOK && kind == "application/xml" {
			if err := wellFormed(a.Body); err != nil || strings.Contains(a.Body, "<script") || strings.Contains(a.Body, "<img") {
				h.t.Errorf("GET %s: %v: %.300s", path, err, a.Body)
			}
			continue
		}
		if a.Status == http.StatusOK && kind != "application/json" && kind != "application/openapi+json" && kind != "application/problem+json" {
			h.t.Errorf("GET %s is said to be %s", path, kind)
		}
		if !json.Valid([]byte(a.Body)) || strings.ContainsAny(a.Body, "<>") && !strings.HasSuffix(path, ".json") {
			h.t.Errorf("GET %s: %.300s", path, a.Body)
		}
	}
	if read < 35 {
		h.t.Errorf("only %d answers were read", read)
	}
	h.t.Logf("%d answers of the interface read", read)
}

// wellFormed reads XML to its end.
func wellFormed(text string) error {
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// everyGarageName gives the garage every payload for a name in turn.
func (h *hostileGarage) everyGarageName() {
	owner := h.browser("")
	for _, name := range h.all {
		set, err := h.Settings.Settings(h.t.Context(), h.Owner)
		h.OK(err)
		set.Name, set.Address = name, name+"\n"+h.p()
		if _, err := h.Settings.SaveSettings(h.t.Context(), h.Owner, set); !h.kept("the garage's name", err) {
			continue
		}
		h.Pass(20 * time.Second) // pages may go by the old name for a while
		seen := map[string]bool{}
		doc := owner.Get("/garage/settings").Page()
		plain(h.t, "/garage/settings of "+name, doc, seen)
		if !strings.Contains(doc.Find("header").Text(), strings.Join(strings.Fields(name), " ")) {
			h.t.Errorf("the page of the garage called %q does not say so", name)
		}
	}
}

// inert are the elements of the pages that load or run something, each with
// what it may have.
var inert = map[string]func(el *goquery.Selection) bool{
	"script": func(el *goquery.Selection) bool {
		return strings.HasPrefix(el.AttrOr("src", ""), "/static/") && el.Text() == ""
	},
	"link": func(el *goquery.Selection) bool { return strings.HasPrefix(el.AttrOr("href", ""), "/static/") },
	"img":  func(el *goquery.Selection) bool { return ours(el.AttrOr("src", ""), "/photos/", "/static/") },
	"a":    func(el *goquery.Selection) bool { return ours(el.AttrOr("href", ""), "/", "#", "tel:+", "mailto:") },
	"form": func(el *goquery.Selection) bool { return ours(el.AttrOr("action", "/"), "/") },
	"meta": func(el *goquery.Selection) bool { _, bad := el.Attr("http-equiv"); return !bad },
}

func ours(address string, prefixes ...string) bool {
	return !strings.HasPrefix(address, "//") && !strings.HasPrefix(address, `/\`) &&
		slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(address, p) })
}

// never are elements that no page of ours has.
var never = []string{"iframe", "object", "embed", "applet", "base", "style", "math", "video", "audio", "source", "marquee", "template", "slot", "animate", "frame", "frameset", "noscript", "image", "track", "portal"}

// plain holds a page to its own markup, and notes which payloads it shows.
func plain(t *testing.T, path string, doc *goquery.Document, seen map[string]bool) {
	t.Helper()
	bad := func(el *goquery.Selection, why string) {
		html, _ := goquery.OuterHtml(el)
		t.Errorf("%s: %s in %.200s", path, why, html)
	}
	doc.Find("*").Each(func(_ int, el *goquery.Selection) {
		name := goquery.NodeName(el)
		if slices.Contains(never, name) || strings.Contains(name, "zq") || strings.Contains(name, "-") {
			bad(el, "an element "+name)
		}
		if ok := inert[name]; ok != nil && !ok(el) {
			bad(el, "an address")
		}
		for _, a := range el.Get(0).Attr {
			if strings.HasPrefix(a.Key, "on") || strings.Contains(a.Key, "zq") || a.Key == "style" || a.Key == "srcdoc" || a.Key == "ping" || strings.ContainsAny(a.Key, "\"'<>`={}\\") {
				bad(el, "an attribute "+a.Key)
			}
			if (a.Key == "formaction" || a.Key == "href" || a.Key == "src" || a.Key == "action") && !ours(a.Val, "/", "#", "tel:+", "mailto:") {
				bad(el, "an address "+a.Val)
			}
			note(a.Val, seen)
		}
	})
	if strings.Contains(doc.Find("svg").Text(), "zq") {
		t.Errorf("%s: text in a drawing", path)
	}
	note(doc.Find("body").Text(), seen)
}

// note finds the numbers of payloads in a text.
func note(text string, seen map[string]bool) {
	for rest := text; ; {
		i := strings.Index(rest, "zq")
		if i < 0 || len(rest) < i+6 {
			return
		}
		word := rest[i : i+6]
		if word[2] >= '1' && word[2] <= '9' && word[5] == ' ' {
			seen[word] = true
		}
		rest = rest[i+2:]
	}
}
