package paper

// Handover is what goes with the car: what was done and found, what was not
// done and why, and what is to be minded.
type Handover struct {
	Top
	// Number is the card's.
	Number string
	// Unsafe stand first, in plain words.
	Unsafe []Unsafe
	Done   []Work
	// NotDone has in Why what kept it.
	NotDone []Work
	// Found is everything seen or measured.
	Found []Finding
	// Returned are old parts that go home with the car.
	Returned []string
	// Next says what is due when.
	Next   []Fact
	Photos []Photo
	Notes  []string
	// Acknowledged is the customer's word that they were told of what is
	// unsafe; nil when nothing is.
	Acknowledged *Acknowledgement
}

// Unsafe is something dangerous or major that was not put right.
type Unsafe struct {
	// Severity is "dangerous" or "major".
	Severity string
	// Words say what it is, and Answer what was said to it.
	Words, Measured, Limit, Answer string
}

// Work is one line of work.
type Work struct {
	Title string
	// Why it was not done; empty where it was.
	Why string
	// Checks are second checks, with the torque.
	Checks []string
	Parts  []string
}

// Finding is something seen or measured.
type Finding struct{ Severity, What, Measured, Limit, Answer string }

// Photo is a picture as JPEG, with what it shows.
type Photo struct {
	JPEG    []byte
	Caption string
}

// Acknowledgement is somebody's word under a text.
type Acknowledgement struct {
	Words, Name, When, How string
	// Drawn is the signature, when there is one.
	Drawn *Drawing
}

// Drawing is a signature as it was drawn: strokes of points in a field of the
// given size, y downwards.
type Drawing struct {
	Width, Height float64
	Strokes       [][]Point
}

// Point is one place of a stroke.
type Point struct{ X, Y float64 }

// JobCard is the card for the workshop, with boxes to tick.
type JobCard struct {
	Top
	// Number is the card's; Promise when the car is to be ready.
	Number, Promise string
	// Words are what the customer asked for.
	Words string
	Lines []JobLine
	// Parts belong to no line.
	Parts []JobPart
	// Cautions are read before the work starts; Decides is who has the last
	// word on them.
	Cautions []Caution
	Decides  string
	// CarFacts are what is known of the car.
	CarFacts []Fact
}

// JobLine is one line of the card. Ticked fills its box.
type JobLine struct {
	Title, Hours, State, Who, After, Note string
	Ticked                                bool
	// Second and Torque leave room for a second person's check and its torque.
	Second, Torque bool
	// Cautions are names of what is in JobCard.Cautions.
	Cautions []string
	Parts    []JobPart
}

// JobPart is one part of the card.
type JobPart struct{ Qty, Name, Number, Supply, Fits string }

// Caution is a caution with its source.
type Caution struct{ Name, Text, Source string }
