package ui

// Col is one head of a Table; Num sets it to the right, above figures.
type Col struct {
	Label string
	Num   bool
}

// Step is one step of a computation. Sum marks a result, ruled above as on
// paper.
type Step struct {
	Label string
	Value string
	Sum   bool
}

func (s Step) class() string {
	if s.Sum {
		return "sum"
	}
	return "step"
}
