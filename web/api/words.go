package api

import (
	"reflect"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"rampside/internal/actor"
	"rampside/internal/assembly"
	"rampside/internal/caution"
	"rampside/internal/dayend"
	"rampside/internal/diary"
	"rampside/internal/fact"
	"rampside/internal/fitment"
	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/link"
	"rampside/internal/money"
	"rampside/internal/post"
	"rampside/internal/quote"
	"rampside/internal/tyre"
	"rampside/internal/vehicle"
)

// The words that a field may take are taken from where the rules are, so that
// the document cannot say otherwise.

// FactName names one thing that may be known of a car.
type FactName string

// MileageUnit is miles or km.
type MileageUnit string

// Way is how a customer answered.
type Way string

// Weekday is a day of the week in English, in small letters.
type Weekday string

// wordList is a named list of words in the document; as is the type that
// stands for theirs.
type wordList struct {
	name, about string
	words       []any
	of, as      reflect.Type
}

var wordLists = map[reflect.Type]wordList{}

// wordsOf stands for T in the document.
type wordsOf[T ~string] struct{}

// Schema puts the list among the document's components and refers to it.
func (wordsOf[T]) Schema(r huma.Registry) *huma.Schema {
	l := wordLists[reflect.TypeFor[T]()]
	if r.Map()[l.name] == nil {
		s := &huma.Schema{Type: huma.TypeString, Description: l.about, Enum: l.words}
		s.PrecomputeMessages()
		r.Map()[l.name] = s
	}
	return &huma.Schema{Ref: "#/components/schemas/" + l.name}
}

func words[T ~string](name, about string, all ...T) {
	l := wordList{name: name, about: about, of: reflect.TypeFor[T](), as: reflect.TypeFor[wordsOf[T]]()}
	for _, w := range all {
		l.words = append(l.words, string(w))
	}
	wordLists[l.of] = l
}

// nameWords tells a document every list of words.
func nameWords(r huma.Registry) {
	for _, l := range wordLists {
		r.RegisterTypeAlias(l.of, l.as)
	}
}

func init() {
	words("Stage", "How far a visit has come.", jobcard.Booked, jobcard.OnSite, jobcard.InWork, jobcard.Ready, jobcard.Collected, jobcard.Cancelled)
	words("WorkState", "How far the work on a line has come; apart from whether the customer agreed.",
		jobcard.Open, jobcard.InHand, jobcard.Done, jobcard.Deferred, jobcard.Waiting)
	words("Consent", "What the customer said to a line.", jobcard.Asked, jobcard.Agreed, jobcard.Declined)
	words("Supply", "Where a part is.", jobcard.Supplies...)
	words("PartSource", "Who brings a part.", jobcard.FromGarage, jobcard.FromCustomer)
	words("FitVerdict", "Whether a part fits this very car.", jobcard.Verdicts...)
	words("FitHow", "How a verdict came about.", jobcard.ByHand, jobcard.Reasoned)
	words("Truth", "What can be said of a condition.", Truth("true"), "false", "unknown")
	words("PartKind", "What a part is, as far as the checks of a set go.",
		list(assembly.Kinds(), func(k assembly.Kind) PartKind { return PartKind(k) })...)
	words("NumberLinkKind", "How two part numbers belong together.", fitment.LinkKinds...)
	words("SnagKind", "What got in the way of a line.", jobcard.SnagKinds...)
	words("AppliesTo", "What a discount or surcharge is taken of.", jobcard.AppliesTos()...)
	words("SundriesOn", "What small material is a percentage of.", garage.SundriesOns()...)
	words("Severity", "The category of a finding: dangerous, major and minor of Directive 2014/45/EU, and the MOT inspection's advisory.", jobcard.Severities...)
	words("Way", "How the customer answered.", list(append(slices.Clone(jobcard.Ways), jobcard.ByLink), func(s string) Way { return Way(s) })...)
	words("QuoteKind", "What a quote promises.", quote.Kinds...)
	words("QuoteWay", "How a version of a quote goes out.", quote.Ways...)
	words("QuoteState", "What a version of a quote has come to.", quote.Waiting, quote.Answered, quote.Expired, quote.Superseded, quote.Withdrawn)
	words("QuoteChange", "What became of a line from one version to another.", quote.Same, quote.Added, quote.Gone, quote.Dearer, quote.Cheaper, quote.Reworded)
	words("VATCode", "The category of a supply for VAT.", money.VATCodes()...)
	words("VATRounding", "Where VAT is rounded to the penny, and how. The last three only where prices are set without VAT.", money.Roundings()...)
	words("CautionKey", "Names a caution; see choices for what each says.", list(caution.All(), func(c caution.Caution) caution.Key { return c.Key })...)
	words("FactSource", "Where a fact comes from, the most trusted first.", vehicle.Sources()...)
	words("FactName", "What a fact is about; see choices for what each means and where on the car it is found.",
		list(fact.Vocabulary(), func(k fact.Key) FactName { return FactName(k.Key) })...)
	words("MileageUnit", "What a mileage is read in.", MileageUnit("miles"), "km")
	words("Fits", "Whether something fits.", Fits("fits"), "does not fit", "cannot tell")
	words("RimStanding", "How a rim stands to the range that a tyre usually takes.", rimStandings...)
	words("WearKind", "What wears.", WearKind("disc"), "pad", "drum")
	words("TyreForm", "The system in which a tyre's size is written.", tyre.Metric, tyre.Flotation, tyre.InchForm)
	words("Role", "What somebody is in the garage.", actor.Owner, actor.Desk, actor.Technician)
	words("Weekday", "A day of the week.", weekdays...)
	words("WaitFor", "Whom or what a card waits for.",
		diary.ForCar, diary.ForAnswer, diary.ForParts, diary.ForCheck, diary.ForWord, diary.ForCustomer, diary.ForNothing)
	words("Standing", "Where a car stood at the end of the time looked at; empty when it was not here.",
		dayend.Collected, dayend.Ready, dayend.StillHere, dayend.DidNotCome, dayend.Elsewhere)
	words("Ending", "How a line ended; empty while it has not.", dayend.Going, dayend.EndDone, dayend.EndStruck, dayend.EndDeferred, dayend.EndDeclined)
	words("Via", "By which door a change came in.", actor.ViaPage, actor.ViaAPI, actor.ViaCommand, actor.ViaLink)
	words("LinkPurpose", "What a customer's link is for.", link.Purposes()...)
	words("LetterState", "How far a letter has come.", post.Waiting, post.Sent, post.Failed, post.Withdrawn)
}

// weekdays begin with Monday, as ISO 8601 has it.
var weekdays = []Weekday{"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"}

func weekday(d time.Weekday) Weekday { return weekdays[(d+6)%7] }

func (w Weekday) day() time.Weekday {
	for i, name := range weekdays {
		if name == w {
			return time.Weekday((i + 1) % 7)
		}
	}
	return -1
}
