package billweb

import (
	"strings"

	"rampside/internal/paper"
)

// taxed tells whether a document has a column for the rate of VAT.
func taxed(v paper.Bill) bool { return len(v.Rows) > 0 && v.Rows[0].Tax != "" }

func addressLines(p paper.Party) []string {
	if p.Address == "" {
		return nil
	}
	return strings.Split(p.Address, "\n")
}
