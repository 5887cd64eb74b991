package fitment

import (
	"rampside/internal/change"
	"rampside/internal/jobcard"
)

// Service is what the bench, the desk and the API do about the fit of parts.
type Service struct {
	db    *change.DB
	cards *jobcard.Service
}

// New makes the service.
func New(db *change.DB) *Service { return &Service{db: db, cards: jobcard.New(db)} }
