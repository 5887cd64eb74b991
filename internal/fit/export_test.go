package fit

// Decide is the truth of a rule without its proof.
func Decide(r Rule, known Known) Truth { return truthOf(r, known) }
