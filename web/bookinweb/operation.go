package bookinweb

import (
	"strings"
	"unicode/utf8"

	"rampside/internal/garage"
)

// abbreviated is how many letters stand for an operation when no other begins
// with them.
const abbreviated = 3

// operationOf finds the operation that a line's words mean: the one of that
// name in any case, or the only one that begins with them. Anything else is
// the line's own words.
func operationOf(ops []garage.Operation, words string) (garage.Operation, bool) {
	low := strings.ToLower(strings.Join(strings.Fields(words), " "))
	if low == "" {
		return garage.Operation{}, false
	}
	var begun []garage.Operation
	for _, o := range ops {
		name := strings.ToLower(o.Name)
		if name == low {
			return o, true
		}
		if strings.HasPrefix(name, low) {
			begun = append(begun, o)
		}
	}
	if len(begun) == 1 && utf8.RuneCountInString(low) >= abbreviated {
		return begun[0], true
	}
	return garage.Operation{}, false
}

func names(ops []garage.Operation) []string {
	out := make([]string, len(ops))
	for i, o := range ops {
		out[i] = o.Name
	}
	return out
}
