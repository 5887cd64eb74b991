package jobcard

import (
	"time"

	"rampside/internal/actor"
)

// SnagKind is what got in the way of a line.
type SnagKind string

// The snags.
const (
	WrongPart   SnagKind = "wrong part"
	PartMissing SnagKind = "part missing"
	JobGrown    SnagKind = "job has grown"
	FoundFault  SnagKind = "found a fault"
	Blocked     SnagKind = "blocked"
)

// SnagKinds lists the snags.
var SnagKinds = []SnagKind{WrongPart, PartMissing, JobGrown, FoundFault, Blocked}

// Snag is one thing that got in the way, and what it led to.
type Snag struct {
	ID     int64
	LineID LineID
	PartID PartID
	Kind   SnagKind
	Note   string
	By     actor.StaffID
	At     time.Time
	LedTo  LineID
}

// Severity is the category of a finding: dangerous, major and minor as
// Directive 2014/45/EU article 7(2) has them, and the MOT inspection's advisory.
type Severity string

// The severities.
const (
	Dangerous Severity = "dangerous"
	Major     Severity = "major"
	Minor     Severity = "minor"
	Advisory  Severity = "advisory"
)

// Severities lists the severities, the worst first.
var Severities = []Severity{Dangerous, Major, Minor, Advisory}

// Finding is something seen or measured on the car.
type Finding struct {
	ID       int64
	CardID   CardID
	LineID   LineID // where it was found
	Severity Severity
	What     string
	Measured string
	Limit    string
	Proposed LineID // the line it proposes
	By       actor.StaffID
	At       time.Time
}
