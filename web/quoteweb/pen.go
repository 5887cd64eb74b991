package quoteweb

import (
	"fmt"
	"strings"
	"time"

	"rampside/internal/garage"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/quote"
	"rampside/internal/signature"
	"rampside/internal/workday"
)

// pen writes figures and times as a version has them.
type pen struct {
	cur money.Currency
	loc *time.Location
	tax string
	// with are the words behind an amount that has VAT in it: " with VAT", or
	// nothing where none is charged; without those behind one that has none.
	with, without string
}

func penOf(v *quote.Version) pen {
	return newPen(v.Garage)
}

func newPen(g quote.Garage) pen {
	p := pen{cur: g.Money(), loc: g.Location(), tax: g.TaxName, with: g.WithTax()}
	if g.Registered() {
		p.without = " without " + g.TaxName
	}
	return p
}

// penOfSettings writes as the garage does now.
func penOfSettings(s garage.Settings) pen {
	return newPen(quote.Garage{VATNumber: s.VATNumber, TaxName: s.TaxName, Currency: s.Currency, ZoneName: s.ZoneName})
}

func (p pen) money(m money.Minor) string { return p.cur.Format(m) }

// when writes a moment with its day.
func (p pen) when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return workday.Of(t, p.loc).Short() + " " + workday.FormatClock(workday.ClockOf(t, p.loc))
}

// full writes a moment for the record, with the year.
func (p pen) full(t time.Time) string { return t.In(p.loc).Format("2 January 2006, 15:04") }

func (p pen) day(t time.Time) string { return workday.Of(t, p.loc).Long() }

// by writes how much more something is, or less.
func (p pen) by(m money.Minor) string {
	switch {
	case m > 0:
		return p.money(m) + " more"
	case m < 0:
		return p.money(-m) + " less"
	}
	return "no more and no less"
}

// sittingView is what was said at one time.
type sittingView struct {
	Head   string
	Lines  []string
	Notes  []string
	Signed signature.Drawn
	Name   string
}

func (p pen) sitting(v *quote.Version, given []quote.Given) sittingView {
	g := given[0]
	out := sittingView{Name: g.SaidBy, Head: g.SaidBy + ", " + g.How + ", " + p.full(g.SaidAt)}
	if g.TakenBy != "" {
		out.Notes = append(out.Notes, "taken down by "+g.TakenBy+" "+p.full(g.At))
	}
	if g.Device != "" {
		out.Notes = append(out.Notes, "from "+g.Device)
	}
	if g.UpTo != nil {
		out.Notes = append(out.Notes, "up to "+p.money(*g.UpTo)+p.with)
	}
	if g.Note != "" {
		out.Notes = append(out.Notes, "“"+g.Note+"”")
	}
	for _, g := range given {
		j, _ := v.Job(g.LineID)
		out.Lines = append(out.Lines, fmt.Sprintf("%s: %s, %s%s", j.Title, answerWord(g.Answer), p.money(g.Gross), p.with))
		if g.Acknowledged != "" {
			out.Notes = append(out.Notes, "understood: "+g.Acknowledged)
		}
	}
	if d, err := signature.Parse(g.Signature); err == nil {
		out.Signed = d
	}
	return out
}

func answerWord(c jobcard.Consent) string {
	if c == jobcard.Agreed {
		return "yes"
	}
	return "no"
}

// sendingWords says how a version went out and what became of it.
func (p pen) sendingWords(s quote.Sending) (head string, notes []string) {
	switch s.Way {
	case quote.ByMail:
		head = "By e-mail to " + s.ToName + ", " + s.Address
	case quote.ByLink:
		head = "As a link to " + s.ToName
		if s.Address != "" {
			head += ", " + s.Address
		}
	default:
		head = "On paper to " + s.ToName
	}
	head += ", " + p.full(s.At)
	if s.By != "" {
		head += ", by " + s.By
	}
	switch {
	case s.LetterState == "sent":
		notes = append(notes, "the mail server took it "+p.when(s.LetterDone))
	case s.LetterState == "waiting" && s.Trouble != "":
		notes = append(notes, "not sent yet, it is tried again: "+s.Trouble)
	case s.LetterState == "waiting":
		notes = append(notes, "waits to be sent")
	case s.LetterState != "":
		notes = append(notes, strings.TrimSpace("the letter "+s.LetterState+" "+s.Trouble))
	}
	switch {
	case s.Opened == 1:
		notes = append(notes, "opened "+p.when(s.FirstOpened))
	case s.Opened > 1:
		notes = append(notes, fmt.Sprintf("opened %d times, first %s, last %s", s.Opened, p.when(s.FirstOpened), p.when(s.LastOpened)))
	case s.LinkID != 0:
		notes = append(notes, "not opened yet")
	}
	if !s.LinkOver.IsZero() {
		notes = append(notes, "its link was withdrawn "+p.when(s.LinkOver))
	}
	return head, notes
}

// stateWords says how a version stands.
func stateWords(s quote.State, open, agreed, declined int) string {
	if s == quote.Answered || s == quote.Waiting && agreed+declined > 0 {
		return fmt.Sprintf("%s: %d yes, %d no, %d open", s, agreed, declined, open)
	}
	return string(s)
}
