// Package quote is what a garage asks a customer to agree to: versions of a
// card's quote, frozen as they were issued, how each went out, and what was
// said to it, line by line.
package quote

import (
	"slices"
	"strconv"
	"time"

	"rampside/internal/actor"
	"rampside/internal/customer"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/pricing"
	"rampside/internal/vehicle"
	"rampside/internal/workday"
)

// VersionID names one version of a quote. It never changes once it is there.
type VersionID int64

// Kind says what a quote promises.
type Kind string

// The kinds.
const (
	Estimate Kind = "estimate"
	Fixed    Kind = "fixed quotation"
)

// Kinds lists them.
var Kinds = []Kind{Estimate, Fixed}

// Valid tells whether k is one of the kinds.
func (k Kind) Valid() bool { return slices.Contains(Kinds, k) }

// Title is the kind as a heading.
func (k Kind) Title() string {
	if k == Fixed {
		return "Fixed quotation"
	}
	return "Estimate"
}

// Means says what the kind means for the customer. (What estimate and
// quotation mean in trade with consumers is common usage; the words are ours.)
func (k Kind) Means() string {
	if k == Fixed {
		return "This is a fixed quotation: for the work and the parts listed you pay the prices below and no more. " +
			"Work that is not listed is asked about, and priced, before it is begun."
	}
	return "This is an estimate: our best judgement of what the work comes to before we have had everything apart. " +
		"It may come to less. If it looks like coming to more, we stop and ask you first."
}

// Version is one version of a quote. What stands above Sendings was frozen
// when it was issued; the rest is what became of it.
type Version struct {
	ID         VersionID
	CardID     jobcard.CardID
	Number     int64 // the quote's, in the garage
	No         int   // 1 is the first version
	Kind       Kind
	IssuedAt   time.Time
	IssuedBy   string
	ValidUntil time.Time
	Note       string // the garage's words to the customer
	Garage     Garage
	Customer   Customer
	Car        Car
	Words      string // the customer's, as they were noted on the card
	// Jobs are what is asked about one by one; Rest is what belongs to the
	// card as a whole, with LineID 0 and without a title if there is nothing.
	Jobs []Job
	Rest Job
	// Adjust are discounts and surcharges on the whole, at each VAT rate.
	Adjust   []pricing.CardAdjusted
	Rounding money.Rounding
	whole    whole
	// LineNet less Allowances plus Charges is Totals.Net.
	LineNet, Allowances, Charges money.Minor
	Totals                       money.Totals
	Findings                     []Finding
	Photos                       []Photo

	Sendings  []Sending
	Withdrawn Withdrawal
	Answers   []Given
	// Latest is the newest version of the card's quote.
	Latest     VersionID
	LatestNo   int
	SentCount  int
	OpenedLast time.Time
}

// Garage is the garage as it was when the version was issued.
type Garage struct {
	Name, Address, Phone, Email, VATNumber, TaxName string
	Currency                                        string
	ZoneName                                        string
}

// Registered tells whether the garage charged VAT when the version was issued.
func (g Garage) Registered() bool { return g.VATNumber != "" }

// WithTax are the words behind an amount that has VAT in it: " with VAT", or
// nothing for a garage that charges none.
func (g Garage) WithTax() string {
	if !g.Registered() {
		return ""
	}
	return " with " + g.TaxName
}

// Money writes the version's amounts.
func (g Garage) Money() money.Currency {
	c, err := money.CurrencyOf(g.Currency)
	if err != nil { // the settings it was copied from refuse others
		return money.Currency{}
	}
	return c
}

// Location is the zone the version's times are shown in.
func (g Garage) Location() *time.Location {
	loc, err := workday.Zone(g.ZoneName)
	if err != nil {
		return time.UTC
	}
	return loc
}

// Customer is whom the version is for.
type Customer struct {
	ID                          customer.ID
	Name, Address, Phone, Email string
}

// Car is the car that the version is about.
type Car struct {
	ID          vehicle.ID
	Mark, VIN   string
	Name        string
	Mileage     *int
	MileageUnit string
}

// Job is what the customer says yes or no to: a line of the card with all
// that belongs to it.
type Job struct {
	Position int
	LineID   jobcard.LineID
	Title    string
	MustDo   bool
	IfWaits  string
	Time     time.Duration
	Lines    []pricing.LineSum
	// About tells, for each of Lines, what a price does not.
	About []About
	// Net is what the lines come to. Gross is with the VAT that falls on them,
	// to the penny; what rounding VAT over the whole document makes of it
	// stands with Rest, so that all together come to the version's total.
	Net, Gross money.Minor

	// Severity is that of the worst finding that proposes the job, "" for none.
	Severity jobcard.Severity
	// What the card says of the line now.
	Consent jobcard.Consent
	// AgreedNet is how far the customer's yes reaches, nil without one.
	AgreedNet *money.Minor
	// Begun tells whether work on it has begun: it cannot be declined then.
	Begun bool
	// Struck tells whether it has been struck out on the card since.
	Struck bool
	// Last is the last answer to this line on any version, nil for none.
	Last *Given
}

// About is what else stands beside a price.
type About struct {
	PartID       jobcard.PartID
	Number       string
	CustomersOwn bool
}

// Agreed tells whether a yes stands for the job at this version's price.
func (j Job) Agreed() bool {
	return j.Consent == jobcard.Agreed && j.AgreedNet != nil && *j.AgreedNet >= j.Net
}

// Declined tells whether a no stands for it.
func (j Job) Declined() bool { return j.Consent == jobcard.Declined }

// Open tells whether the job waits for an answer.
func (j Job) Open() bool { return j.LineID != 0 && !j.Struck && !j.Agreed() && !j.Declined() }

// Dangerous tells whether leaving the job leaves a danger.
func (j Job) Dangerous() bool { return j.Severity == jobcard.Dangerous }

// Understand is what the customer has to have been told before a dangerous
// job is left.
func (j Job) Understand() string {
	return "I have been told that this was found to be dangerous: the car is not safe on the road until it is put right. " +
		"I leave “" + j.Title + "” undone knowing that."
}

// Finding is something that was found on the car, as it stood in the version.
type Finding struct {
	ID       int64
	JobLine  jobcard.LineID // the job that it proposes, 0 for none
	FoundOn  jobcard.LineID // 0 when on none
	Severity jobcard.Severity
	What     string
	Measured string
	Limit    string
}

// Photo is a photo that belongs to the version.
type Photo struct {
	ID      int64
	LineID  jobcard.LineID
	Caption string
}

// Way is how a version went out.
type Way string

// The ways.
const (
	ByLink  Way = "link" // shown as a link, for a text message or a code
	ByMail  Way = "e-mail"
	OnPaper Way = "paper" // printed and handed over or posted
)

// Sending is one time that a version went out.
type Sending struct {
	ID      int64
	Way     Way
	ToName  string
	Address string
	LinkID  int64 // 0 for none
	Letter  int64 // 0 for none
	At      time.Time
	By      string
	// What became of it: how often the link was opened, where the letter is.
	Opened                  int
	FirstOpened, LastOpened time.Time
	LinkOver                time.Time // when the link was withdrawn
	LetterState, Trouble    string
	LetterDone              time.Time
	LetterText              string
}

// Withdrawal is the garage taking a version back; At is zero when it did not.
type Withdrawal struct {
	At     time.Time
	By     string
	Reason string
}

// Given is one answer to one job, as it was given.
type Given struct {
	Sitting      int64 // answers that were given together
	VersionID    VersionID
	VersionNo    int
	LineID       jobcard.LineID
	Answer       jobcard.Consent
	Net, Gross   money.Minor
	SaidBy       string
	How          string
	SaidAt       time.Time
	At           time.Time
	UpTo         *money.Minor
	Acknowledged string
	Signature    string // strokes, as package signature reads them
	Note         string
	Device       string
	TakenBy      string
	TakenByID    actor.StaffID
}

// State is what a version has come to.
type State string

// The states. A version can be answered while it waits or is answered and its
// time is not over: a mind may be changed.
const (
	Waiting    State = "waiting for an answer"
	Answered   State = "answered"
	Expired    State = "expired"
	Superseded State = "superseded"
	Withdrawn  State = "withdrawn"
)

// State tells what the version has come to at a time. It follows from what is
// on record and is kept nowhere.
func (v *Version) State(now time.Time) State {
	switch {
	case !v.Withdrawn.At.IsZero():
		return Withdrawn
	case v.Latest != v.ID:
		return Superseded
	case !v.AnyOpen():
		return Answered
	case now.After(v.ValidUntil):
		return Expired
	}
	return Waiting
}

// AnyOpen tells whether any job still waits for an answer.
func (v *Version) AnyOpen() bool { return slices.ContainsFunc(v.Jobs, Job.Open) }

// Answerable tells whether the version can still be answered at a time; if
// not, why says so in words for whoever holds it.
func (v *Version) Answerable(now time.Time) (why string, ok bool) {
	switch {
	case !v.Withdrawn.At.IsZero():
		return "This version was withdrawn by the garage. Please ask us for a new one.", false
	case v.Latest != v.ID:
		return "There is a newer version of this quote, number " + strconv.Itoa(v.LatestNo) + ". Please answer that one; the prices here hold no more.", false
	case now.After(v.ValidUntil):
		return "This version could be agreed to until " + v.LastDay().Long() + ". Please ask us for a new one; the prices may have changed.", false
	}
	return "", true
}

// LastDay is the last day on which it can be agreed to, in the garage's zone.
func (v *Version) LastDay() workday.Day {
	return workday.Of(v.ValidUntil.Add(-time.Second), v.Garage.Location())
}

// Name is the version as people call it: "2001/2".
func (v *Version) Name() string { return versionName(v.Number, v.No) }

func versionName(number int64, no int) string {
	return strconv.FormatInt(number, 10) + "/" + strconv.Itoa(no)
}

// Title is the version as a heading: "Estimate 2001/2".
func (v *Version) Title() string { return v.Kind.Title() + " " + v.Name() }

// Job finds a job by its line.
func (v *Version) Job(id jobcard.LineID) (Job, bool) {
	i := slices.IndexFunc(v.Jobs, func(j Job) bool { return j.LineID == id })
	if i < 0 || id == 0 {
		return Job{}, false
	}
	return v.Jobs[i], true
}
