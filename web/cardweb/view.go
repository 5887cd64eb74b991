package cardweb

import (
	"fmt"
	"strings"
	"time"

	"github.com/a-h/templ"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/qr"
	"rampside/internal/workday"
	"rampside/web/ui"
)

// view is a whole sheet as the page shows it: every word and figure made.
type view struct {
	ID       jobcard.CardID
	Path     string
	Stage    string
	Version  int64
	Mark     string
	Car      string
	Vehicle  string // its page
	VIN      string
	Customer string
	Person   string // the customer's page; empty for those who may not see it
	Phone    string
	Head     []pair
	Words    string
	Lines    []lineView
	Loose    []partView
	Cautions []caution.Caution
	Sentence string
	Totals   []totalView
	NotReady []string
	Stages   []stageView
	AskCount int
	Money    bool // costs and prices may be shown
	May      bool // the card may be changed
	Do       doing
	Form     *ui.Form
	Lists    garage.Lists
	Staff    []ui.Option
	Asked    []askView
	Names    []string // of operations, to type a line from
	Code     qr.Code
	Printed  string
	// AskedKind is the kind of part whose fields are asked for.
	AskedKind string
	// Extras are charged and given on the card as a whole; Sundries says what
	// small material is, and Limit what the customer's limit is.
	Extras   []extraView
	Sundries string
	Limit    string
	Classes  []string // of tests that have a legal maximum
	cash     money.Currency
	sheet    *jobcard.Sheet
	fit      fitted
	mayWaive bool
}

type pair struct{ Name, Value string }

type stageView struct{ Stage, Label string }

type totalView struct {
	Label, Net, VAT, Gross string
	Steps                  []ui.Step
}

type askView struct {
	ID    string
	Title string
	Price string
	On    bool
}

type lineView struct {
	jobcard.Line
	Path      string
	Anchor    string
	Must      string
	Hours     string
	Range     string
	Worked    string
	Price     string
	Steps     []ui.Step
	Said      string // how the consent came about
	SaidNet   string // and at what price
	After     []afterView
	Others    []ui.Option // lines it could be put after
	Why       string      // why it is deferred, waiting or struck
	Notes     []string    // snags, findings, checks, in words
	Parts     []partView
	Extras    []extraView // discounts, surcharges and fees of its own
	Ahead     string      // why it goes ahead though it is not agreed
	MayAhead  bool
	Photos    []photoView
	Cautions  string
	NeedCheck bool
	Gate      []string // what keeps the old parts on
	CanTick   bool
	CanDefer  bool
	CanReopen bool
}

type afterView struct {
	ID    string
	Title string
}

type photoView struct{ Href, Thumb, Alt string }

type partView struct {
	jobcard.Part
	Path    string
	Anchor  string
	Qty     string
	Cost    string
	Price   string
	Due     string
	Fit     string
	Fitness fitView
	// HandNote is what was said of the fit by hand.
	HandNote string
	Own      bool
	// ExchangeWords say what is charged until the old unit is here.
	ExchangeWords string
	NextOne       string // the supply state that usually comes next
}

func newView(s *jobcard.Sheet, fit fitted, who actor.Actor, d doing, f *ui.Form, lists garage.Lists, url string, now time.Time) (*view, error) {
	v := &view{
		ID: s.ID, Path: cardPath(s.ID), Stage: string(s.Stage), Version: int64(s.Version),
		Mark: s.Vehicle.Mark, Car: carWords(s.Vehicle), Vehicle: "/vehicles/" + ui.Itoa(s.Vehicle.ID), VIN: s.Vehicle.VIN,
		Customer: s.Customer.Name, Words: s.CustomerWords, Sentence: caution.Sentence,
		Money: s.Costs, May: who.May(actor.EditCard) && s.Stage != jobcard.Collected && s.Stage != jobcard.Cancelled,
		Do: d, Form: f, Lists: lists, sheet: s, fit: fit, cash: s.Set.Money, mayWaive: who.May(actor.WaiveFit),
	}
	if who.May(actor.ReadPeople) {
		v.Person = "/customers/" + ui.Itoa(s.Customer.ID)
		v.Phone = firstOf(s.ContactPhone, s.Customer.Phone)
	}
	v.Printed = now.In(s.Zone).Format("2 January 2006, 15:04")
	v.head()
	priced := s.Priced()
	if s.Costs {
		v.Extras, v.Sundries = v.ofCard(priced), v.sundriesWords()
		if s.UpTo != nil {
			v.Limit = v.cash.Format(*s.UpTo)
		}
	}
	var all []caution.Key
	for _, l := range s.Lines {
		lv := v.line(l, priced)
		lv.MayAhead = who.May(actor.RecordConsent) && !l.Struck() && l.Consent == jobcard.Asked && l.WorkState != jobcard.Deferred && l.WorkState != jobcard.Done
		v.Lines = append(v.Lines, lv)
		if !l.Struck() {
			all = caution.Merge(all, s.CautionsOf(l))
		}
		if l.Consent == jobcard.Asked && !l.Struck() {
			v.AskCount++
		}
		if !l.Struck() && l.WorkState != jobcard.Done && l.Consent != jobcard.Agreed || l.Consent == jobcard.Asked && !l.Struck() {
			v.Asked = append(v.Asked, askView{ui.Itoa(l.ID), l.Title, lv.Price, ticked(v, l)})
		}
	}
	v.Cautions = caution.Of(all)
	for _, p := range s.PartsOf(0) {
		v.Loose = append(v.Loose, v.part(p))
	}
	if s.Stage == jobcard.InWork || s.Stage == jobcard.OnSite {
		v.NotReady = s.NotReady()
	}
	if who.May(actor.EditCard) {
		v.stages()
	}
	v.totals()
	v.choices()
	var err error
	v.Code, err = qr.Encode(url)
	return v, err
}

func carWords(c jobcard.SheetVehicle) string {
	return strings.TrimSpace(c.Name() + " " + c.Colour)
}

func firstOf(ss ...string) string {
	for _, s := range ss {
		if s != "" {
			return s
		}
	}
	return ""
}

func hasValue(f *ui.Form, name, value string) bool {
	for _, v := range f.Values[name] {
		if v == value {
			return true
		}
	}
	return false
}

func (v *view) head() {
	s := v.sheet
	add := func(name, value string) {
		if value != "" {
			v.Head = append(v.Head, pair{name, value})
		}
	}
	add("Day", s.BookedFor.Long())
	add("Comes in", v.clock(s.ArrivesAt))
	add("Promised", v.clock(s.PromisedAt))
	if s.Mileage != nil {
		add("Mileage", thousands(*s.Mileage)+" "+s.MileageUnit)
	}
	add("Keys", s.KeysNote)
	if s.ContactName != s.Customer.Name {
		add("Contact", s.ContactName)
	}
	add("Telephone", v.Phone)
	add("VIN", s.Vehicle.VIN)
	for _, k := range s.Vehicle.Facts {
		value := k.Key.Shown(k.Best.Value)
		if k.Contradicted {
			value += ", contradicted"
		}
		add(k.Key.Label, value)
	}
	add("Cancelled", s.CancelReason)
}

// clock writes a time on the garage's clocks: the time alone on the card's own
// day, else with its day.
func (v *view) clock(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	t = t.In(v.sheet.Zone)
	at := t.Format("15:04")
	if day := workday.Of(t, v.sheet.Zone); day != v.sheet.BookedFor {
		return day.Short() + " " + at
	}
	return at
}

func thousands(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", thousands(n/1000), n%1000)
}

func (v *view) stages() {
	label := map[jobcard.Stage]string{
		jobcard.OnSite: "The car is here", jobcard.Booked: "Not here after all", jobcard.InWork: "Back to work",
		jobcard.Ready: "Ready for the customer", jobcard.Collected: "Collected", jobcard.Cancelled: "Cancel…",
	}
	for _, st := range v.sheet.Stage.Next() {
		if st == jobcard.InWork && v.sheet.Stage == jobcard.OnSite {
			continue // the first clocking does that
		}
		l := label[st]
		if st == jobcard.Ready && v.sheet.Stage == jobcard.Collected {
			l = "Not collected after all"
		}
		v.Stages = append(v.Stages, stageView{string(st), l})
	}
}

func (v *view) totals() {
	s := v.sheet
	if !s.Costs {
		return
	}
	all := v.total("Agreed and asked", s.Quote.All)
	v.Totals = []totalView{v.total("Agreed", s.Quote.Agreed), all}
}

func (v *view) total(label string, t money.Totals) totalView {
	tv := totalView{Label: label, Net: v.cash.Format(t.Net), VAT: v.cash.Format(t.VAT), Gross: v.cash.Format(t.Gross)}
	for _, r := range t.ByRate {
		what := r.Code.Label()
		if r.Code != money.Outside {
			what = money.FormatRate(r.Rate) + " of " + v.cash.Format(r.Net) + ", " + what
		} else {
			what = v.cash.Format(r.Net) + " " + what
		}
		tv.Steps = append(tv.Steps, ui.Step{Label: what, Value: v.cash.Format(r.VAT)})
	}
	tv.Steps = append(tv.Steps, ui.Step{Label: v.sheet.Set.TaxName + ", rounded " + v.sheet.Rounding.Label(), Value: v.cash.Format(t.VAT), Sum: true})
	return tv
}

func (v *view) choices() {
	for _, o := range v.Lists.Operations {
		v.Names = append(v.Names, o.Name)
	}
	v.Staff = append(v.Staff, ui.Option{Value: "", Label: "anybody"})
	for _, id := range sortedStaff(v.sheet.Staff) {
		v.Staff = append(v.Staff, ui.Option{Value: ui.Itoa(id), Label: v.sheet.Staff[id]})
	}
}

// rangeWords writes from the low to the high, where they differ.
func rangeWords(e hours.Estimate) string {
	if e.Low == e.High {
		return ""
	}
	return hours.FormatBare(e.Low) + " to " + hours.FormatBare(e.High)
}

// Component is a card's page with nothing of it open, for whoever measures
// what the page itself costs.
func Component(page ui.PageData, s *jobcard.Sheet, fit *fitment.CardFit, who actor.Actor, url string, now time.Time) (templ.Component, error) {
	page.OwnHead, page.Wide = true, true
	v, err := newView(s, fitted{card: fit}, who, doing{}, nil, garage.Lists{}, url, now)
	if err != nil {
		return nil, err
	}
	return sheetPage(page, v), nil
}
