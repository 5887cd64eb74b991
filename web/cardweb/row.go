package cardweb

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/hours"
	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/web/ui"
)

func sortedStaff(m map[actor.StaffID]string) []actor.StaffID {
	return slices.SortedFunc(maps.Keys(m), func(a, b actor.StaffID) int { return cmp.Compare(m[a], m[b]) })
}

// line makes the row of one line.
func (v *view) line(l jobcard.Line, priced jobcard.Priced) lineView {
	s := v.sheet
	id := ui.Itoa(l.ID)
	r := lineView{
		Line: l, Path: v.Path + "/lines/" + id, Anchor: "line-" + id,
		Must: "must do", Hours: hours.Format(l.Estimate.Likely), Range: rangeWords(l.Estimate),
		NeedCheck: l.Safety || l.WheelsOff,
	}
	if !l.MustDo {
		r.Must = "if there is time"
	}
	clocked := s.Clocked[l.ID]
	if clocked.Worked > 0 {
		r.Worked = hours.Format(clocked.Worked.Round(60e9)) + " so far"
		if l.WorkState == jobcard.Done {
			r.Worked = hours.Format(clocked.Worked.Round(60e9)) + " taken"
		}
	}
	if len(clocked.On) > 0 {
		var names []string
		for _, on := range clocked.On {
			names = append(names, s.Staff[on])
		}
		r.Notes = append(r.Notes, strings.Join(names, " and ")+" on it now")
	}
	r.Why = v.why(l)
	v.price(&r, priced)
	v.history(&r)
	for _, a := range s.After[l.ID] {
		if b, ok := s.Line(a); ok {
			r.After = append(r.After, afterView{ui.Itoa(a), b.Title})
		}
	}
	for _, o := range s.Lines {
		if o.ID != l.ID && !o.Struck() && !slices.Contains(s.After[l.ID], o.ID) {
			r.Others = append(r.Others, ui.Option{Value: ui.Itoa(o.ID), Label: o.Title})
		}
	}
	for _, p := range s.PartsOf(l.ID) {
		r.Parts = append(r.Parts, v.part(p))
	}
	if !l.Struck() && l.WorkState != jobcard.Deferred {
		for _, h := range s.HoldsOf(l.ID) {
			r.Gate = append(r.Gate, h.Words())
		}
	}
	for _, p := range s.Photos {
		if p.LineID == l.ID {
			href := "/photos/" + ui.Itoa(p.ID)
			r.Photos = append(r.Photos, photoView{href, href + "/small", firstOf(p.Caption, "Photo of "+l.Title+" at "+v.clock(p.At))})
		}
	}
	var titles []string
	for _, c := range caution.Of(s.CautionsOf(l)) {
		titles = append(titles, c.Title)
	}
	r.Cautions = strings.Join(titles, ", ")
	live := !l.Struck() && s.Stage.Workable()
	r.CanTick = live && l.MayBeWorkedOn() && (l.WorkState == jobcard.Open || l.WorkState == jobcard.InHand)
	r.CanDefer = !l.Struck() && l.WorkState != jobcard.Done && l.WorkState != jobcard.Deferred
	r.CanReopen = !l.Struck() && (l.WorkState == jobcard.Done || l.WorkState == jobcard.Deferred || l.WorkState == jobcard.Waiting)
	return r
}

// why says why a line is as it is.
func (v *view) why(l jobcard.Line) string {
	switch {
	case l.Struck():
		return "Struck out: " + l.StruckWhy
	case l.WorkState == jobcard.Deferred:
		return "Deferred: " + l.StateReason + ". Decided by " + l.DecidedBy + "."
	case l.WorkState == jobcard.Waiting:
		return "Waiting: " + l.StateReason
	case l.WorkState == jobcard.Done:
		return "Ticked by " + v.sheet.Staff[l.DoneBy] + " at " + v.clock(l.DoneAt)
	}
	return ""
}

// price writes what a line comes to and how.
func (v *view) price(r *lineView, priced jobcard.Priced) {
	s := v.sheet
	if r.Consent == jobcard.Asked && r.AheadWhy != "" {
		r.Ahead = "Not agreed, goes ahead because " + r.AheadWhy + " (" + s.Staff[r.AheadBy] + ", " + v.clock(r.AheadAt) + ")"
	}
	if !s.Costs {
		return
	}
	r.Price = v.cash.Format(s.Quote.ByLine[r.ID].Net())
	r.Extras, r.Steps = v.ofLine(r.Line, priced)
}

// history writes what was said, found and checked on a line.
func (v *view) history(r *lineView) {
	s := v.sheet
	for _, c := range s.Consents {
		if c.LineID != r.ID {
			continue
		}
		r.Said = string(c.Answer) + " by " + c.SaidBy + " " + c.How + ", " + v.clock(c.At)
		r.SaidNet = ""
		if s.Costs && c.Answer == jobcard.Agreed {
			r.SaidNet = ", at " + v.cash.Format(c.Net) + " net"
			if c.UpTo != nil {
				r.SaidNet += ", up to " + v.cash.Format(*c.UpTo) + " with " + s.Set.TaxName
			}
		}
		if r.Consent == jobcard.Asked {
			r.Said = "Dearer than what was agreed, so to be asked again. Last: " + r.Said
		}
	}
	for _, f := range s.Findings {
		if f.Proposed == r.ID {
			note := "Found (" + string(f.Severity) + "): " + f.What
			if f.Measured != "" {
				note += ", measured " + f.Measured
			}
			if f.Limit != "" {
				note += ", limit " + f.Limit
			}
			r.Notes = append(r.Notes, note)
		}
	}
	if r.FoundOn != 0 {
		if on, ok := s.Line(r.FoundOn); ok {
			r.Notes = append(r.Notes, "Came up during “"+on.Title+"”")
		}
	}
	for _, g := range s.Snags {
		if g.LineID == r.ID {
			note := "Snag, " + string(g.Kind)
			if g.Note != "" {
				note += ": " + g.Note
			}
			r.Notes = append(r.Notes, note+" ("+s.Staff[g.By]+", "+v.clock(g.At)+")")
		}
	}
	if r.Stripped() && r.WorkState != jobcard.Done {
		r.Notes = append(r.Notes, "Old parts off since "+v.clock(r.StrippedAt))
	}
	if r.AssignedTo != 0 {
		r.Notes = append(r.Notes, "For "+s.Staff[r.AssignedTo])
	}
	if r.CarriedFrom != 0 {
		r.Notes = append(r.Notes, "Left over from an earlier visit")
	}
	if r.Note != "" {
		r.Notes = append(r.Notes, r.Note)
	}
	if c, ok := s.Checks[r.ID]; ok {
		note := "Checked by " + s.Staff[c.By] + " at " + v.clock(c.At)
		if c.TorqueNm > 0 {
			note += ", wheel fastenings at " + trimFloat(c.TorqueNm) + " Nm"
		}
		r.Notes = append(r.Notes, note)
	} else if r.NeedCheck && !r.Struck() {
		r.Notes = append(r.Notes, "Needs a second person's check")
	}
}

// part makes the row of one part.
func (v *view) part(p jobcard.Part) partView {
	id := ui.Itoa(p.ID)
	r := partView{
		Part: p, Path: v.Path + "/parts/" + id, Anchor: "part-" + id, Qty: money.FormatQuantity(p.Qty), Due: v.clock(p.DueAt),
		Own: p.Source == jobcard.FromCustomer,
	}
	if v.sheet.Costs {
		r.Cost = v.cash.Format(p.Cost)
		r.Price = v.cash.Format(p.Net())
		if p.Exchange != nil && *p.Exchange > 0 && !r.Own {
			r.ExchangeWords = "exchange surcharge " + v.cash.Format(*p.Exchange) + " each"
			if p.ExchangeBack > 0 {
				r.ExchangeWords += ", given back for " + money.FormatQuantity(p.ExchangeBack)
			} else {
				r.ExchangeWords += " until the old one is here"
			}
		}
	}
	if p.VerdictBy != 0 && p.VerdictHow == jobcard.ByHand {
		r.Fit, r.HandNote = "checked by "+v.sheet.Staff[p.VerdictBy], p.VerdictNote
		if p.VerdictNote != "" {
			r.Fit += ": " + p.VerdictNote
		}
	}
	r.Fitness = v.fitOfPart(p)
	switch p.Supply {
	case jobcard.Needed:
		r.NextOne = string(jobcard.Ordered)
	case jobcard.Ordered:
		r.NextOne = string(jobcard.Arrived)
	case jobcard.GoingBack:
		r.NextOne = string(jobcard.Credited)
	}
	return r
}
