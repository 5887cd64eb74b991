package handoverweb

import (
	"bytes"
	"net/http"
	"strconv"
	"strings"
	"time"

	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/paper"
	"rampside/web/ui"
)

// cardPDF is the card for the workshop, with its QR code and boxes to tick. It
// has no prices on it: it lies about in the workshop.
func (p pages) cardPDF(w http.ResponseWriter, r *http.Request) error {
	card, err := ui.PathID[jobcard.CardID](r, "card")
	if err != nil {
		return err
	}
	s, err := p.Cards.Sheet(r.Context(), ui.Who(r.Context()), card)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := cardPaper(s, p.kit.Page(r, "", "").Garage, p.kit.PublicURL("/cards/"+ui.Itoa(card)), p.kit.Now()).Write(&b); err != nil {
		return err
	}
	return sendPDF(w, "card-"+ui.Itoa(card)+".pdf", b.Bytes())
}

// cardPaper is a card as it is printed at now.
func cardPaper(s *jobcard.Sheet, garage, link string, now time.Time) paper.JobCard {
	c := paper.JobCard{
		Top: paper.Top{
			At: now, From: paper.Party{Name: garage}, Link: link, LinkSays: "Opens the card on the tablet",
			To: paper.Party{Name: s.Customer.Name, Phone: first(s.ContactPhone, s.Customer.Phone)},
			Facts: []paper.Fact{
				{Label: "Car", Value: s.Vehicle.Name()}, {Label: "Mark", Value: s.Vehicle.Mark}, {Label: "Colour", Value: s.Vehicle.Colour},
				{Label: "VIN", Value: s.Vehicle.VIN}, {Label: "Mileage", Value: miles(s)}, {Label: "Keys", Value: s.KeysNote},
				{Label: "Day", Value: s.BookedFor.Long()}, {Label: "Printed", Value: now.In(s.Zone).Format("2 January 2006, 15:04")},
			},
		},
		Number: ui.Itoa(s.ID), Words: s.CustomerWords, Decides: caution.Sentence,
	}
	if !s.PromisedAt.IsZero() {
		c.Promise = s.PromisedAt.In(s.Zone).Format("Monday 2 January 2006, 15:04")
	}
	var all []caution.Key
	for _, l := range s.Lines {
		if l.Struck() {
			continue
		}
		c.Lines = append(c.Lines, jobLine(s, l))
		all = caution.Merge(all, s.CautionsOf(l))
	}
	for _, k := range caution.Of(all) {
		c.Cautions = append(c.Cautions, paper.Caution{Name: k.Title, Text: k.Text, Source: k.Source})
	}
	for _, part := range s.PartsOf(0) {
		if part.Counts() {
			c.Parts = append(c.Parts, jobPart(part))
		}
	}
	for _, k := range s.Vehicle.Facts {
		c.CarFacts = append(c.CarFacts, paper.Fact{Label: k.Key.Label, Value: k.Key.Shown(k.Best.Value)})
	}
	return c
}

func jobLine(s *jobcard.Sheet, l jobcard.Line) paper.JobLine {
	j := paper.JobLine{
		Title: l.Title, Hours: hours.Format(l.Estimate.Likely), State: string(l.WorkState) + ", " + string(l.Consent), Note: l.Note,
		Ticked: l.WorkState == jobcard.Done, Second: l.Safety || l.WheelsOff, Torque: l.WheelsOff,
	}
	if l.AssignedTo != 0 {
		j.Who = "for " + s.Staff[l.AssignedTo]
	}
	var after []string
	for _, id := range s.After[l.ID] {
		if b, ok := s.Line(id); ok {
			after = append(after, "“"+b.Title+"”")
		}
	}
	if len(after) > 0 {
		j.After = "after " + strings.Join(after, ", ")
	}
	for _, k := range caution.Of(s.CautionsOf(l)) {
		j.Cautions = append(j.Cautions, k.Title)
	}
	for _, part := range s.PartsOf(l.ID) {
		if part.Counts() {
			j.Parts = append(j.Parts, jobPart(part))
		}
	}
	return j
}

func jobPart(p jobcard.Part) paper.JobPart {
	out := paper.JobPart{Qty: money.FormatQuantity(p.Qty), Name: p.Name, Number: p.Number, Supply: string(p.Supply), Fits: string(p.Verdict)}
	if p.Source == jobcard.FromCustomer {
		out.Supply += ", the customer's own"
	}
	return out
}

func miles(s *jobcard.Sheet) string {
	if s.Mileage == nil {
		return ""
	}
	return strconv.Itoa(*s.Mileage) + " " + s.MileageUnit
}
