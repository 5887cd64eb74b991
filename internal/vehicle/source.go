package vehicle

// Source says where a fact came from.
type Source string

// The sources, the most trusted first. What somebody read or measured on the
// car itself outranks the maker's plate, since engines, axles and wheels get
// changed; the plate outranks the logbook, which is typed by hand; a
// supplier's catalogue speaks of cars like this one; the rest is assumed.
const (
	FromCar      Source = "car"
	FromPlate    Source = "plate"
	FromLogbook  Source = "logbook"
	FromSupplier Source = "supplier"
	Assumed      Source = "assumed"
)

// Sources lists the sources, the most trusted first.
func Sources() []Source { return []Source{FromCar, FromPlate, FromLogbook, FromSupplier, Assumed} }

var sourceWords = map[Source]string{
	FromCar:      "read off the car",
	FromPlate:    "maker's plate",
	FromLogbook:  "logbook",
	FromSupplier: "supplier",
	Assumed:      "assumed",
}

// Valid tells whether s is a source.
func (s Source) Valid() bool { return sourceWords[s] != "" }

// Words is the source as a page says it.
func (s Source) Words() string { return sourceWords[s] }

// rank is 0 for the most trusted.
func (s Source) rank() int {
	for i, o := range Sources() {
		if o == s {
			return i
		}
	}
	return len(sourceWords)
}
