package reckonerweb

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"rampside/internal/plate"
	"rampside/internal/vin"
	"rampside/web/ui"
)

func vinTool(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{{In: f.Field("vin", "VIN").Must().Max(40).Say("17 characters; blanks and the stars at its ends do not matter")}}}}
	}
	v.Formulas = []string{
		"Check digit: each character's value times the weight of its place (8 7 6 5 4 3 2 10 0 9 8 7 6 5 4 3 2), summed, modulo 11; 10 is X. It stands in place 9.",
		"Model year: place 10, in cycles of thirty years.",
	}
	v.Sources = []string{"ISO 3779 and 3780 for its parts; 49 CFR 565.15 of the United States for check digit and model year."}
	v.Limits = []string{
		"Check digit and year are required in North America only. Elsewhere a maker may put something else there: what comes out is a hint, never a fact about the car.",
		"The plate, the logbook and what is stamped into the body have to agree; where they do not, ask.",
	}
	if !sent(f, "vin") {
		return nil
	}
	f.Required("vin")
	n := ui.Read(f, "vin", vin.Parse)
	if n.Text == "" || f.Err() != nil {
		return nil
	}
	region := string(n.Region)
	if region == "" {
		region = "none: no maker's code begins with 0"
	}
	res := &result{Facts: []figure{
		{Name: "VIN", Value: n.Text}, {Name: "Maker (WMI)", Value: n.WMI}, {Name: "Vehicle (VDS)", Value: n.VDS}, {Name: "Which one (VIS)", Value: n.VIS},
		{Name: "Region of the maker", Value: region}, {Name: "Check digit would be", Value: n.CheckExpected + ", and there is " + n.Text[8:9]}, {Name: "Model year may be", Value: years(n.YearCandidates)},
	}}
	res.Says = "Right in form, and character 9 fits as a check digit."
	if !n.CheckOK {
		res.Says = "Right in form; character 9 does not fit as a check digit."
	}
	for _, note := range n.Notes {
		res.Notes = append(res.Notes, sentence(note))
	}
	v.Result = res
	return nil
}

func years(list []int) string {
	if len(list) == 0 {
		return "none: character 10 stands for no year"
	}
	var t []string
	for _, y := range list {
		t = append(t, strconv.Itoa(y))
	}
	return strings.Join(t, " or ")
}

// sentence begins with a capital and ends with a stop.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

func markTool(_ pages, _ context.Context, f *ui.Form, v *view) error {
	v.Fields = func() []group {
		return []group{{Entries: []entry{{In: f.Field("mark", "Registration mark").Must().Short().Max(40).Say("in any spelling")}}}}
	}
	v.Formulas = []string{"An O is taken for a 0, and an I for a 1, where the layout leaves no choice; otherwise what else it may be is listed."}
	v.Sources = []string{
		"Layouts: Road Vehicles (Display of Registration Marks) Regulations 2001, schedule 3, part 1, table A. Age: DVLA, INF104; years of the older letters as dealers in marks publish them, from memory in part.",
	}
	v.Limits = []string{"A mark tells how old a car may be at most, not how old it is: it may be put on a newer one. Marks of other countries are kept as they are typed."}
	if !sent(f, "mark") {
		return nil
	}
	f.Required("mark")
	m := ui.Read(f, "mark", plate.Parse)
	if m.Compact == "" || f.Err() != nil {
		return nil
	}
	res := &result{Says: m.Display, Facts: []figure{{Name: "Written", Value: m.Display}, {Name: "Kept as", Value: m.Compact}, {Name: "Layout", Value: string(m.Layout)}}}
	if age, ok := m.Age(); ok {
		since := strconv.Itoa(age.Year)
		if age.Month > 0 {
			since = age.Month.String() + " " + since
		}
		res.Says += ", first issued in " + since + "."
		res.Facts = append(res.Facts, figure{Name: "First issued", Value: since})
	} else {
		res.Says += ": it tells no age."
	}
	if m.Note != "" {
		res.Notes = append(res.Notes, sentence(m.Note))
	}
	if len(m.Alternatives) > 0 {
		res.Notes = append(res.Notes, fmt.Sprintf("It may also be %s.", strings.Join(m.Alternatives, " or ")))
	}
	v.Result = res
	return nil
}
