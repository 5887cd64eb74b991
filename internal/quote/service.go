package quote

import (
	"context"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/garage"
	"rampside/internal/link"
	"rampside/internal/pg"
)

// Mail tells whether this server sends letters.
type Mail interface {
	Sends() bool
	WhyNot() string
}

// Service is what pages and programs do with quotes.
type Service struct {
	db *change.DB
	// public gives the address of a path as the customer's browser has it.
	public func(path string) string
	mail   Mail
	links  *link.Service
}

// New makes the service. public turns a path into the address that a customer
// can open, for the links in letters.
func New(db *change.DB, public func(path string) string, mail Mail) *Service {
	return &Service{db: db, public: public, mail: mail, links: link.New(db, nil)}
}

// Read reads a version for whoever sends quotes, or for the customer behind a
// link that was given for it. Errors: NotFound, Forbidden.
func (s *Service) Read(ctx context.Context, who actor.Actor, id VersionID) (*Version, error) {
	if err := mayRead(who); err != nil {
		return nil, err
	}
	v, err := ReadVersion(ctx, s.db.Pool, id)
	if err == nil && !v.openTo(who) {
		return nil, apperr.NoSuch("version of a quote")
	}
	return v, err
}

// openTo tells whether somebody may see the version: staff with the right see
// all, a customer the one that their link was made for, and the newest of the
// same card once it was sent to them.
func (v *Version) openTo(who actor.Actor) bool {
	if who.Role != actor.Customer {
		return true
	}
	l := who.Opens
	return l.Purpose == string(link.Quote) && (int64(v.ID) == l.Target || int64(v.CardID) == l.Card && l.Card != 0 && v.ID == v.Latest && v.SentCount > 0)
}

// mayRead lets staff through who see prices, and the customer; which version
// that one sees is openTo's to say.
func mayRead(who actor.Actor) error {
	if who.Role == actor.Customer {
		return who.Need(actor.AnswerQuote)
	}
	return who.Need(actor.SendQuote)
}

// Address is where the link of a sending leads, for whoever passes it on.
// Errors: NotFound, and a Conflict when the link is over.
func (s *Service) Address(ctx context.Context, who actor.Actor, id link.ID) (string, error) {
	m, err := s.links.Token(ctx, who, id)
	if err != nil {
		return "", err
	}
	return s.public(m.Path()), nil
}

// Now is the time that states are told at.
func (s *Service) Now() time.Time { return s.db.Now() }

// Garage reads the settings, for the day and the currency of a form.
func (s *Service) Garage(ctx context.Context, who actor.Actor) (garage.Settings, error) {
	if err := who.Need(actor.SendQuote); err != nil {
		return garage.Settings{}, err
	}
	return garage.Load(ctx, s.db.Pool)
}

// VersionWithPhoto tells whether a photo belongs to a version, and so may be
// shown to whoever may see the version.
func VersionWithPhoto(ctx context.Context, q pg.Querier, id VersionID, photo int64) (bool, error) {
	var there bool
	err := q.QueryRow(ctx, `select exists (select from quote_photo where version_id = $1 and photo_id = $2)`, id, photo).Scan(&there)
	return there, err
}
