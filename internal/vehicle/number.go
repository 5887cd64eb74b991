package vehicle

import "rampside/internal/vin"

// readVIN gives a VIN as it is kept, and what is unusual about it: a check
// digit that does not fit is a note, since outside North America makers need
// not use one.
func readVIN(s string) (text string, notes []string, err error) {
	v, err := vin.Parse(s)
	if err != nil {
		return "", nil, err
	}
	for _, n := range v.Notes {
		notes = append(notes, "VIN: "+n)
	}
	return v.Text, notes, nil
}
