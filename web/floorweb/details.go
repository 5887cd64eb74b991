package floorweb

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"rampside/internal/jobcard"
	"rampside/web/ui"
)

// severities are the categories of a finding, in words for whoever chooses.
var severities = []ui.Option{
	{Value: string(jobcard.Dangerous), Label: "Dangerous", Hint: "a direct and immediate risk: do not drive"},
	{Value: string(jobcard.Major), Label: "Major", Hint: "may put safety at risk: mend it now"},
	{Value: string(jobcard.Minor), Label: "Minor", Hint: "no great risk: mend it soon"},
	{Value: string(jobcard.Advisory), Label: "Advisory", Hint: "keep an eye on it"},
}

// firstPart is the part to begin with: the first there is.
func firstPart(parts []ui.Option) string {
	if len(parts) > 1 {
		return parts[1].Value
	}
	return ""
}

// grownOr is a figure for a job that has grown, and nothing for a fault whose
// operation may bring its own.
func grownOr(d detailsView, s string) string {
	if d.Grown {
		return s
	}
	return ""
}

func pathWord(r *http.Request, name string) string { return chi.URLParam(r, name) }
