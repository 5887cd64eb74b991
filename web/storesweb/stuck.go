package storesweb

import (
	"net/http"

	"rampside/internal/jobcard"
	"rampside/internal/stores"
	"rampside/web/ui"
)

type stuckView struct {
	Tabs    []tab
	Lead    string
	Rows    []stuckRow
	Printed string
}

type stuckRow struct {
	Mark, Title, Path, Plate, Car string
	Notes                         []string
	Parts                         []stuckPart
}

type stuckPart struct {
	Mark, Words, Number string
	Why                 string
	Next, Path          string // what to do about it, and where
}

func (p pages) stuck(w http.ResponseWriter, r *http.Request) error {
	s, err := p.stores.Stuck(r.Context(), ui.Who(r.Context()))
	if err != nil {
		return err
	}
	pen := newPen(s.Garage, s.Now)
	v := &stuckView{Tabs: tabs(stuckPath), Printed: s.Now.In(pen.loc).Format("2 January 2006, 15:04")}
	for _, l := range s.Lines {
		v.Rows = append(v.Rows, pen.stuckRow(l))
	}
	return p.kit.Render(w, r, http.StatusOK, stuckPage(p.frame(r, "What is stuck"), v))
}

func (p pen) stuckRow(l stores.Stuck) stuckRow {
	row := stuckRow{Mark: string(l.WorkState), Title: l.Title, Path: linePath(l.CardID, l.LineID), Plate: l.Mark, Car: l.Car}
	if l.LineID == 0 {
		row.Mark, row.Title = string(l.Stage), "Parts for the card as a whole"
	}
	row.Notes = append(row.Notes, "card "+ui.Itoa(l.CardID))
	if l.Stage == jobcard.Booked {
		row.Notes = append(row.Notes, "booked for "+p.day(l.BookedFor))
	}
	if !l.PromisedAt.IsZero() {
		row.Notes = append(row.Notes, "promised "+p.when(l.PromisedAt))
	}
	if l.Reason != "" {
		row.Notes = append(row.Notes, l.Reason)
	}
	for _, part := range l.Parts {
		row.Parts = append(row.Parts, p.stuckPart(part))
	}
	if len(l.Parts) == 0 {
		row.Parts = append(row.Parts, stuckPart{Mark: "look", Words: "No part is outstanding", Why: "the line can be opened again on the card", Next: "Open the card", Path: row.Path})
	}
	return row
}

// stuckPart says where a part is, and whose move it is.
func (p pen) stuckPart(x stores.StuckPart) stuckPart {
	out := stuckPart{Mark: string(x.Supply), Words: qty(x.Qty) + " × " + x.Name, Number: x.Number}
	switch {
	case x.Own:
		out.Why, out.Mark = "the customer's own, to be brought", "customer's own"
	case x.Supply == jobcard.Needed:
		out.Why, out.Next, out.Path = "not ordered yet", "Order it", Path
	case x.Late:
		out.Mark = "late"
		out.Why = "from " + x.Supplier + ", was due " + p.when(x.DueAt) + ", " + p.since(x.DueAt) + " ago"
		out.Next, out.Path = "Ring them, and note what they say", orderPath(x.OrderID)
	case x.DueAt.IsZero():
		out.Why, out.Next, out.Path = "ordered, no time given", "Book it in when it comes", arrivalsPath
	default:
		out.Why, out.Next, out.Path = "from "+x.Supplier+", due "+p.when(x.DueAt), "Book it in when it comes", arrivalsPath
	}
	if x.Supply == jobcard.Ordered && x.OrderID == 0 {
		out.Next, out.Path = "", ""
	}
	if x.AfterPromise {
		out.Why += ", after the promise"
	}
	if x.Came > 0 {
		out.Why += "; " + qty(x.Came) + " of them are here"
	}
	return out
}
