package einvoice

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The documents that tests make are right by our rules. With
// RAMPSIDE_EINVOICES=folder they are kept there too, so that the official
// validators can be run over them.
func TestDocumentsOfEveryKindAreMade(t *testing.T) {
	docs := map[string]Invoice{"all-there-is.xml": sample(), "outside-the-scope.xml": outside()}
	for _, p := range examples {
		docs["figures-of-"+p.name] = p.invoice()
	}
	bills := rapid.Custom(func(t *rapid.T) []Invoice {
		sum, h := anyBill(t, anyVAT, false), head()
		if rapid.Bool().Draw(t, "credit note") {
			h.Kind, sum = CreditNote, sum.Credit()
		}
		made, err := From(h, sum)
		if err != nil {
			t.Fatal(err)
		}
		return made
	})
	for i := range 60 {
		for n, in := range bills.Example(i) {
			docs[fmt.Sprintf("bill-%02d-%d.xml", i, n+1)] = in
		}
	}
	folder := os.Getenv("RAMPSIDE_EINVOICES")
	for name, in := range docs {
		b, err := Write(in)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if s := shapes[in.Kind]; !strings.Contains(string(b), "<"+s.root+" xmlns=\""+s.ns+"\"") {
			t.Errorf("%s is no %s", name, s.root)
		}
		if folder == "" {
			continue
		}
		if err := os.WriteFile(filepath.Join(folder, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
