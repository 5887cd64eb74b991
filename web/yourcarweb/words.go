package yourcarweb

import "rampside/internal/jobcard"

// means says in plain words what a finding's category means for whoever
// drives. The categories are those of Directive 2014/45/EU, article 7(2); what
// they mean follows the explanation of MOT results on GOV.UK ("Getting an
// MOT", from memory), in shorter words.
func means(s jobcard.Severity) string {
	switch s {
	case jobcard.Dangerous:
		return "A direct and immediate risk to safety. Do not drive the car until it is put right."
	case jobcard.Major:
		return "It may affect the car's safety or put others at risk. It should be put right at once."
	case jobcard.Minor:
		return "No great effect on safety yet. Have it put right as soon as you can."
	case jobcard.Advisory:
		return "Nothing to do today. It may become serious later: keep an eye on it."
	}
	return ""
}
