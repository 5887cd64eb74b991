package garage

// The most characters that each field takes.
const (
	nameMax    = 120
	addressMax = 400
	phoneMax   = 80
	emailMax   = 254
)
