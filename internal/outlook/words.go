package outlook

import (
	"fmt"
	"strings"
	"time"

	"rampside/internal/forecast"
	"rampside/internal/jobcard"
	"rampside/internal/workday"
)

// Dots is how many days a chance is counted out in.
const Dots = 20

// Strip is one car's outlook in words and dots, for any page that shows the
// car. The words and the dots count the same.
type Strip struct {
	Card     jobcard.CardID
	Mark     string
	Name     string
	Promised string // "promised 16:50", or "no promise"
	// Days says how often: "on time 16 days in 20", "hardly ever on time".
	Days string
	// Likely and Sure say when: "about 15:25", "Mon 30 Nov 09:20".
	Likely, Sure string
	// Counts says what the dots show, for whoever does not see them.
	Counts string
	// Why says what it is late for when it is, the most frequent first.
	Why []string
	// Kept, Late and Past are the dots: by the promise, later on the day, and
	// after closing. They are Dots together.
	Kept, Late, Past int
	HasPromise       bool
	Finished         bool
	Dots             []Dot
	PromiseAt        time.Time
}

// Dot is one of twenty days like this one.
type Dot struct {
	At     time.Time
	Kept   bool
	Past   bool // after closing, or beyond the days that were read
	Beyond bool
}

// InTwenty says how many days of twenty something happens, without ever
// claiming none or all: what did not happen in twenty days may on the next.
func InTwenty(n int) string {
	switch {
	case n <= 0:
		return "hardly ever"
	case n >= Dots:
		return "nearly always"
	case n == 1:
		return "1 day in 20"
	}
	return fmt.Sprintf("%d days in 20", n)
}

// Twentieths turns a chance into days of twenty.
func Twentieths(chance float64) int { return int(chance*Dots + 0.5) }

// When writes a time as it is said on the day: alone when it is of today, with
// its day else. Beyond is later than the days that were read.
func (r Read) When(m Moment) string {
	if m.Beyond {
		return fmt.Sprintf("not within %d days", ahead)
	}
	loc := r.Garage.Location()
	at := m.At.Round(5 * time.Minute)
	clock := workday.FormatClock(workday.ClockOf(at, loc))
	if d := workday.Of(at, loc); d != r.Day {
		if r.Day.AddDays(1) == d {
			return "tomorrow " + clock
		}
		return d.Short() + " " + clock
	}
	return clock
}

// Exact writes a time to the minute, as promises are.
func (r Read) Exact(t time.Time) string {
	loc := r.Garage.Location()
	clock := workday.FormatClock(workday.ClockOf(t, loc))
	if d := workday.Of(t, loc); d != r.Day {
		return d.Short() + " " + clock
	}
	return clock
}

// Strip says what is to be said of a car.
func (r Read) Strip(c Car) Strip {
	s := Strip{Card: c.Card, Mark: c.Mark, Name: c.Name, Promised: "no promise", HasPromise: !c.Promise.IsZero(), Finished: c.Finished, PromiseAt: c.Promise}
	for _, d := range c.Dots {
		dot := Dot{At: d.At, Beyond: d.Beyond, Past: d.Beyond || d.At.After(r.Close)}
		dot.Kept = !dot.Past // without a promise it is closing that counts
		if s.HasPromise {
			dot.Kept = !d.Beyond && !d.At.After(c.Promise)
		}
		switch {
		case dot.Kept:
			s.Kept++
		case dot.Past:
			s.Past++
		default:
			s.Late++
		}
		s.Dots = append(s.Dots, dot)
	}
	s.Likely, s.Sure = r.When(c.Half), r.When(c.Ninety)
	if c.Finished {
		s.Likely, s.Sure = "now", "now"
	}
	if !s.HasPromise {
		s.Days = fmt.Sprintf("done by closing %s", InTwenty(s.Kept))
		s.Counts = fmt.Sprintf("%s by closing, %s after.", ofTwenty(s.Kept), some(s.Past))
		return s
	}
	s.Promised = "promised " + r.Exact(c.Promise)
	s.Days = "on time " + InTwenty(s.Kept)
	if s.Kept == 0 {
		s.Days = "hardly ever on time"
	} else if s.Kept == Dots {
		s.Days = "nearly always on time"
	}
	s.Counts = fmt.Sprintf("%s on time; %s late the same day, %s after closing.", ofTwenty(s.Kept), some(s.Late), some(s.Past))
	if c.Stuck != "" {
		s.Why = append(s.Why, c.Stuck+" is not coming")
	}
	late := Dots - s.Kept
	for _, x := range c.Causes {
		n := int(x.Share*float64(late) + 0.5)
		if w := x.Words(); n > 0 && x.Kind != forecast.NotComing {
			s.Why = append(s.Why, w+" "+InTwenty(n))
		}
		if len(s.Why) == 3 {
			break
		}
	}
	return s
}

// ofTwenty writes the count that a picture of twenty dots shows.
func ofTwenty(n int) string { return fmt.Sprintf("Of twenty days like this one, %s", some(n)) }

var small = []string{"none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
	"thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "all twenty"}

func some(n int) string {
	switch {
	case n <= 0:
		return "hardly any"
	case n >= Dots:
		return "nearly all"
	}
	return small[n]
}

// Words say what a cause is, in the words of the garage.
func (c Cause) Words() string {
	switch c.Kind {
	case forecast.OverHours:
		return lower(c.Title) + " takes longer"
	case forecast.LatePart:
		return "waiting for a part of " + lower(c.Title)
	case forecast.FoundWork:
		return "found while in there (" + lower(c.Title) + ")"
	case forecast.Unanswered:
		return "waiting for the customer's word on " + lower(c.Title)
	case forecast.NotComing:
		return "a part of " + lower(c.Title) + " does not come"
	case forecast.Turn:
		return "other cars are in the way"
	case forecast.Booked:
		return "more is booked than there is time for"
	}
	return string(c.Kind)
}

// lower begins a title in the middle of a sentence, but for what is written in
// capitals or begins with a figure.
func lower(s string) string {
	if len(s) < 2 || s[1] < 'a' || s[1] > 'z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// Sentence is the whole of it, as one would say it at the desk.
func (s Strip) Sentence() string {
	if s.Finished {
		return fmt.Sprintf("The %s, %s: nothing is left to be done; say that it is ready.", s.Name, s.Promised)
	}
	if s.Likely == s.Sure {
		return fmt.Sprintf("The %s, %s: %s. %s.", s.Name, s.Promised, s.Days, upper(s.likely()))
	}
	return fmt.Sprintf("The %s, %s: %s. %s; nearly sure %s.", s.Name, s.Promised, s.Days, upper(s.likely()), by(s.Sure))
}

func (s Strip) likely() string {
	if strings.HasPrefix(s.Likely, "not ") {
		return s.Likely
	}
	return "most likely about " + s.Likely
}

func by(when string) string {
	if strings.HasPrefix(when, "not ") {
		return when
	}
	return "by " + when
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// Headline says the day in one sentence.
func (r Read) Headline() string {
	if len(r.Cars) == 0 {
		return "No car is in the garage or booked for today."
	}
	if r.Promised == 0 {
		return "Nothing is promised for the cars that are here."
	}
	likely, unsure, not := 0, 0, 0
	for _, c := range r.Cars {
		if c.Promise.IsZero() {
			continue
		}
		switch n := r.Strip(c).Kept; {
		case n >= 15:
			likely++
		case n >= 6:
			unsure++
		default:
			not++
		}
	}
	var parts []string
	if likely > 0 {
		parts = append(parts, small[min(likely, 19)]+" will most likely be kept")
	}
	if unsure > 0 {
		parts = append(parts, small[min(unsure, 19)]+" may or may not")
	}
	if not > 0 {
		parts = append(parts, small[min(not, 19)]+" most likely not")
	}
	return fmt.Sprintf("Of %s, %s. All done by closing: %s.", count(r.Promised, "promise", "promises"), strings.Join(parts, ", "), InTwenty(Twentieths(r.AllDone)))
}

// Age says how old the outlook is, and whether something happened since.
func (r Read) Age() string {
	old := r.Now.Sub(r.At)
	out := "Worked out at " + r.Exact(r.At)
	switch {
	case old >= time.Hour:
		out += fmt.Sprintf(", %d h %d min ago", int(old.Hours()), int(old.Minutes())%60)
	case old >= time.Minute:
		out += ", " + count(int(old.Minutes()), "minute", "minutes") + " ago"
	}
	if r.Newer > 0 {
		out += "; something has happened since, and it is being worked out anew"
	}
	return out + "."
}

// Basis says what the outlook rests on.
func (r Read) Basis() string {
	out := fmt.Sprintf("%d days were played through", r.Draws)
	if r.Young {
		return out + ". It is still going on your estimates: fewer than thirty lines have been worked on."
	}
	out += fmt.Sprintf(", by what %s of this garage took", count(r.Lines, "line", "lines"))
	if r.Corrected > 0 {
		out += fmt.Sprintf(", corrected by what became of %s", count(r.Corrected, "earlier forecast", "earlier forecasts"))
	}
	return out + "."
}

// Short is the line that stands beside a car elsewhere.
func (s Strip) Short() string {
	return upper(s.Days) + "; " + s.likely()
}
