package dayendweb

import (
	"rampside/internal/dayend"
	"rampside/internal/hours"
	"rampside/internal/variance"
	"rampside/web/ui"
)

// hoursRow is how one of the technicians, or all together, used the day.
type hoursRow struct {
	Name                                  string
	Sold, Worked, Attended                fig
	Efficiency, Utilisation, Productivity fig
	Sum                                   bool
}

func (r hoursRow) figures() []fig {
	return []fig{r.Sold, r.Worked, r.Attended, r.Efficiency, r.Utilisation, r.Productivity}
}

// hours writes the hours of the day into the page.
func (p pen) hours(d dayend.Day, v *dayView) {
	for _, t := range d.Hours.Technicians {
		v.Hours = append(v.Hours, p.person(t))
	}
	if len(v.Hours) > 0 {
		h := d.Hours
		gather := func(pick func(hoursRow) fig) []ui.Step {
			var steps []ui.Step
			for _, r := range v.Hours {
				steps = append(steps, step(r.Name, pick(r).Value))
			}
			return steps
		}
		row := ratios("The technicians", h.Ratios)
		row.Sum = true
		row.Sold = added(hours.Format(h.Sold), "hours the technicians sold", gather(func(r hoursRow) fig { return r.Sold }))
		row.Worked = added(hours.Format(h.Worked), "hours the technicians worked", gather(func(r hoursRow) fig { return r.Worked }))
		row.Attended = added(hours.Format(h.Attended), "hours the technicians attended", gather(func(r hoursRow) fig { return r.Attended }))
		v.Hours = append(v.Hours, row)
	}
	for _, o := range d.Hours.Others {
		v.HoursNote = append(v.HoursNote, o.Name+", "+string(o.Role)+", worked "+hours.Format(o.Worked)+" and sold "+hours.Format(o.Sold)+
			": not in the figures above, which are the technicians' alone.")
	}
	if d.Hours.Nobody > 0 {
		v.HoursNote = append(v.HoursNote, hours.Format(d.Hours.Nobody)+" were sold by lines that nobody on the staff clocked on to or ticked.")
	}
}

func (p pen) person(t dayend.PersonHours) hoursRow {
	row := ratios(t.Name, t.Ratios)
	var sold, worked []ui.Step
	for _, s := range t.Shares {
		label := cardWords(s.Card) + ", “" + s.Title + "”"
		if s.Of != s.Sold {
			label += ", a share of " + hours.Format(s.Sold)
		}
		sold = append(sold, step(label, hours.Format(s.Of)))
	}
	for _, w := range t.Pieces {
		worked = append(worked, step(p.span(w.Span)+goingOn(w), hours.Format(w.Time)))
	}
	row.Sold = added(hours.Format(t.Sold), "hours "+t.Name+" sold", sold)
	row.Worked = added(hours.Format(t.Worked), "hours "+t.Name+" worked", worked)
	in := []ui.Step{}
	for _, s := range t.Spells {
		in = append(in, step("in from "+p.span(s), hours.Format(s.Elapsed())))
	}
	if t.In > 0 {
		in = append(in, step("less breaks", hours.Format(-t.Break)), sum("attended", hours.Format(t.Attended)))
	}
	row.Attended = fig{Value: hours.Format(t.Attended), What: "hours " + t.Name + " attended", Steps: in}
	return row
}

func ratios(name string, r variance.LabourRatios) hoursRow {
	return hoursRow{
		Name:         name,
		Efficiency:   ratio(r.Efficiency, "efficiency of "+name, "sold", "worked"),
		Utilisation:  ratio(r.Utilisation, "utilisation of "+name, "worked", "attended"),
		Productivity: ratio(r.Productivity, "productivity of "+name, "sold", "attended"),
	}
}

func ratio(r variance.Ratio, what, part, whole string) fig {
	value := "not available"
	if p, ok := r.Percent(); ok {
		value = p.String()
	}
	return fig{Value: value, Note: r.Fraction(), What: what, Steps: []ui.Step{
		step(part, hours.Format(r.Part)), step("over "+whole, hours.Format(r.Whole)), sum("comes to", value),
	}}
}
