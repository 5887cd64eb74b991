package quote

import (
	"time"

	"rampside/internal/jobcard"
	"rampside/internal/money"
)

// AnswerInput is what the customer said to a version, at one time.
type AnswerInput struct {
	VersionID VersionID
	Jobs      []JobAnswer
	SaidBy    string
	// How is in person, by phone or in writing. A customer at a link answers
	// by link, whatever stands here.
	How string
	// SaidAt is when, where that was before now; zero for now.
	SaidAt time.Time
	// UpTo is how far a yes by telephone reaches, with VAT: needed there.
	UpTo *money.Minor
	// Signature is what the customer drew, as package signature reads it; empty
	// for none.
	Signature string
	Note      string
}

// JobAnswer is the answer to one job.
type JobAnswer struct {
	LineID jobcard.LineID
	Answer jobcard.Consent // Agreed or Declined
	// Understood tells that the customer was told what leaving a dangerous
	// job means: see Job.Understand. Without it such a job cannot be declined.
	Understood bool
}

// Done is what came of an answer.
type Done struct {
	VersionID VersionID
	CardID    jobcard.CardID
	// Sitting is the record that was made; 0 when all of it was said before.
	Sitting int64 `json:",omitempty"`
	Agreed  int
	Refused int
	// Same counts the jobs whose answer stood already.
	Same int
}
