package outlookweb

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"sort"
	"strconv"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/jobcard"
	"rampside/internal/outlook"
	"rampside/internal/workday"
	"rampside/web/outlookui"
	"rampside/web/ui"
)

// dayView is the owner's day in one look.
type dayView struct {
	Headline, Age, Basis string
	// Wait says that nothing was worked out yet, Off why nothing can be.
	Wait, Off string
	Axis      outlookui.Axis
	Cars      []carView
	Notes     []string
	Leave     []leaveView
	Order     *orderView
	Costs     []string
	// Sort is the form that sets the order of the day; nil for those who may
	// not.
	Sort    *sortView
	Form    *ui.Form
	Learned bool // links to what was learned and kept
	Book    bool
}

type carView struct {
	Anchor, Path string
	Strip        outlook.Strip
	Sentence     string
	Picture      outlookui.Picture
	Mark         string // the word in the margin
	About        []string
	Pinned       bool
}

// leaveView is something that could be put off.
type leaveView struct{ Words, Path, Label string }

type orderView struct {
	Words string
	Names []string
	Cards []string
	// Pinned are the cars that keep their places.
	Pinned []string
	Day    string
	May    bool
}

type sortView struct {
	Day     string
	Rows    []sortRow
	Ordered bool
}

type sortRow struct {
	Card, Name, Place string
	Pinned            bool
}

func newDayView(r outlook.Read, who actor.Actor, f *ui.Form) *dayView {
	v := &dayView{Form: f, Learned: who.May(actor.SeeMargins), Book: who.May(actor.BookIn)}
	switch {
	case r.None:
		v.Wait = "The outlook of today is being worked out. This page shows it as soon as it is there."
		return v
	case r.Off != "":
		v.Off = r.Off
		return v
	}
	v.Headline, v.Age, v.Basis, v.Axis = r.Headline(), r.Age(), r.Basis(), outlookui.NewAxis(r)
	for _, n := range r.Notes {
		v.Notes = append(v.Notes, ui.Sentence(n)+".")
	}
	for _, c := range r.Cars {
		v.Cars = append(v.Cars, newCarView(r, v.Axis, c))
	}
	for _, l := range r.Leave {
		v.Leave = append(v.Leave, newLeave(r, l, who))
	}
	if o := r.Order; o != nil {
		v.Order = &orderView{Day: r.Day.String(), May: who.May(actor.EditCard), Words: fmt.Sprintf(
			"In this order %s of %d promises would be kept on average instead of %s.", tenth(o.After), r.Promised, tenth(o.Before))}
		for _, id := range o.Cards {
			c, _ := r.Of(id)
			v.Order.Names = append(v.Order.Names, c.Mark+" "+c.Name)
			v.Order.Cards = append(v.Order.Cards, ui.Itoa(id))
			if c.Pinned {
				v.Order.Pinned = append(v.Order.Pinned, ui.Itoa(id))
			}
		}
	}
	for _, c := range r.Costs {
		v.Costs = append(v.Costs, costWords(r, c))
	}
	if who.May(actor.EditCard) && len(r.Cars) > 1 {
		v.Sort = newSort(r, f)
	}
	return v
}

func newCarView(r outlook.Read, a outlookui.Axis, c outlook.Car) carView {
	s := r.Strip(c)
	v := carView{
		Anchor: "car-" + ui.Itoa(c.Card), Path: "/cards/" + ui.Itoa(c.Card), Strip: s, Sentence: s.Sentence(),
		Picture: outlookui.NewPicture(a, s), Pinned: c.Pinned, Mark: "booked",
	}
	switch {
	case c.Finished:
		v.Mark = "done"
	case c.Here && c.Done > 0:
		v.Mark = "in work"
	case c.Here:
		v.Mark = "on site"
	}
	v.About = append(v.About, s.Counts)
	if len(s.Why) > 0 && s.Late+s.Past > 0 {
		v.About = append(v.About, "Late when "+strings.Join(s.Why, "; ")+".")
	}
	about := fmt.Sprintf("%d of %s done", c.Done, lines(c.Lines))
	if c.Over {
		about += ", carried over from an earlier day"
	}
	if c.Pinned {
		about += ", keeps its place in the order"
	}
	v.About = append(v.About, ui.Sentence(about)+".")
	return v
}

func lines(n int) string {
	if n == 1 {
		return "1 line"
	}
	return strconv.Itoa(n) + " lines"
}

func newLeave(r outlook.Read, l outlook.Leave, who actor.Actor) leaveView {
	c, _ := r.Of(l.Card)
	v := leaveView{Path: "/cards/" + ui.Itoa(l.Card)}
	var what, wins string
	if l.Move {
		what = fmt.Sprintf("Take the %s (%s) on another day", c.Name, c.Mark)
		wins = fmt.Sprintf("%s more promises of the other cars would be kept on average", tenth(l.Gain))
		v.Label = "Change the promise of the " + c.Name
		v.Path += "?do=visit"
	} else {
		what = fmt.Sprintf("Leave off %s on the %s (%s)", strings.Join(quoted(l.Titles), " and "), c.Name, c.Mark)
		wins = fmt.Sprintf("the %s would be on time %s instead of %s", c.Name, outlook.InTwenty(outlook.Twentieths(l.After)), outlook.InTwenty(outlook.Twentieths(l.Before)))
		if outlook.Twentieths(l.After) == outlook.Twentieths(l.Before) {
			wins = fmt.Sprintf("%s more promises would be kept on average", tenth(l.Gain))
		}
		v.Label = "Put it off on the card"
		if len(l.Lines) > 0 {
			v.Label = "Put off " + l.Titles[0] + " on the card of the " + c.Name
			v.Path += fmt.Sprintf("?do=defer-%d#line-%d", l.Lines[0], l.Lines[0])
		}
	}
	v.Words = what + ": " + wins
	if l.Sales > 0 && who.May(actor.SeeMargins) {
		v.Words += ", for " + r.Currency().Format(l.Sales) + " of sales, net"
	}
	v.Words += "."
	return v
}

func quoted(titles []string) []string {
	out := make([]string, len(titles))
	for i, t := range titles {
		out[i] = "“" + t + "”"
	}
	return out
}

// tenth writes an average of promises; what is below a tenth says so.
func tenth(x float64) string {
	if x > 0 && x < 0.05 {
		return "less than 0.1"
	}
	return strconv.FormatFloat(x, 'f', 1, 64)
}

func costWords(r outlook.Read, c outlook.Cost) string {
	var what string
	if c.Staff != 0 {
		what = "If " + c.Name + " went home now"
	} else {
		car, _ := r.Of(c.Card)
		what = fmt.Sprintf("If “%s” for the %s came %s only", c.Name, car.Name, r.When(outlook.Moment{At: c.Until}))
	}
	out := fmt.Sprintf("%s, %s fewer promises would be kept on average", what, tenth(c.Lost))
	if w, ok := r.Of(c.Worst.Card); ok {
		before, after := outlook.Twentieths(c.Worst.Before), outlook.Twentieths(c.Worst.After)
		if before != after {
			out += fmt.Sprintf("; most of it the %s, on time %s instead of %s", w.Name, outlook.InTwenty(after), outlook.InTwenty(before))
		}
	}
	return out + "."
}

func newSort(r outlook.Read, f *ui.Form) *sortView {
	v := &sortView{Day: r.Day.String(), Ordered: r.Ordered}
	for i, c := range r.Cars {
		row := sortRow{Card: ui.Itoa(c.Card), Name: c.Mark + " " + c.Name, Place: strconv.Itoa(i + 1), Pinned: c.Pinned}
		if f != nil {
			row.Place, row.Pinned = f.Get("place."+row.Card), f.Get("pin."+row.Card) != ""
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

// order sets the order of the day: the one that was suggested, the usual one,
// or one of the desk's own.
func (p pages) order(w http.ResponseWriter, r *http.Request) error {
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	f := ui.ReadForm(r)
	in := outlook.OrderInput{Day: ui.Read(f, "day", workday.Parse)}
	how := f.OneOf("how", "suggested", "usual", "own")
	done := "The cars are taken in this order now"
	switch how {
	case "suggested":
		in.Cards = cardIDs(f.IDs("card", 200))
		in.Pinned = cardIDs(f.IDs("pinned", 200))
	case "usual":
		done = "The cars are taken by promise again"
	case "own":
		in.Cards, in.Pinned = ownOrder(f)
	}
	if f.Err() == nil {
		err := p.looks.SetOrder(r.Context(), who, in)
		if err == nil {
			p.kit.Flash(w, done)
			return ui.SeeOther(w, r, Path)
		}
		if !f.Take(err) {
			return err
		}
	}
	if how != "own" {
		for _, m := range f.Fields {
			f.Summary = m
		}
	}
	return p.showDay(w, r, http.StatusUnprocessableEntity, f)
}

func cardIDs(ids []int64) []jobcard.CardID {
	out := make([]jobcard.CardID, len(ids))
	for i, id := range ids {
		out[i] = jobcard.CardID(id)
	}
	return out
}

// ownOrder reads places that were typed: any whole numbers, the lowest first.
func ownOrder(f *ui.Form) (cards, pinned []jobcard.CardID) {
	type placed struct {
		id    jobcard.CardID
		place int
	}
	var all []placed
	for _, name := range placeFields(f.Values) {
		id, err := strconv.ParseInt(strings.TrimPrefix(name, "place."), 10, 64)
		if err != nil || id < 1 {
			continue
		}
		all = append(all, placed{jobcard.CardID(id), f.Int(name, 1, 999)})
		if f.Bool("pin." + strconv.FormatInt(id, 10)) {
			pinned = append(pinned, jobcard.CardID(id))
		}
	}
	slices.SortStableFunc(all, func(a, b placed) int { return a.place - b.place })
	for _, x := range all {
		cards = append(cards, x.id)
	}
	return cards, pinned
}

func placeFields(values url.Values) []string {
	var out []string
	for name := range values {
		if strings.HasPrefix(name, "place.") && len(out) < 200 {
			out = append(out, name)
		}
	}
	sort.Strings(out)
	return out
}
