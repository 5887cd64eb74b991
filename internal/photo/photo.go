// Package photo keeps the photos of a line: what came off the tablet's camera
// is made fit to be kept by package picture, goes to the blob store, and is
// then noted on the line.
package photo

import (
	"context"
	"fmt"
	"io"
	"time"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/blob"
	"rampside/internal/change"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/internal/picture"
)

// ID names one photo.
type ID int64

// MaxPhotos is how many photos one card holds.
const MaxPhotos = 200

// Photo is a photo as it is kept.
type Photo struct {
	ID     ID
	CardID jobcard.CardID
	LineID jobcard.LineID
	Blob   blob.Key // the picture
	Thumb  blob.Key // the small one
	Width  int
	Height int
	// Caption is what the technician wrote beneath it.
	Caption string
	At      time.Time
}

// Service is what pages and API do with photos.
type Service struct {
	db    *change.DB
	blobs blob.Store
}

// New makes the service.
func New(db *change.DB, blobs blob.Store) *Service { return &Service{db, blobs} }

// AddInput is one photo for a line.
type AddInput struct {
	LineID  jobcard.LineID
	Caption string
}

// Added is the photo that was kept.
type Added struct {
	ID     ID
	CardID jobcard.CardID
	LineID jobcard.LineID
}

// kept is what a repeat of the same request must agree with.
type kept struct {
	AddInput
	Blob, Thumb   blob.Key
	Width, Height int
	Bytes         int
}

// Add makes the photo fit to be kept, stores it and notes it on the line.
// Errors: those of picture.Process at field photo, and Conflict when the card
// is finished. The files are stored before the row that names them.
func (s *Service) Add(ctx context.Context, who actor.Actor, in AddInput, r io.Reader) (Added, error) {
	if err := who.Need(actor.Work); err != nil {
		return Added{}, err
	}
	f := apperr.Fields{}
	in.Caption = f.Line("caption", in.Caption, jobcard.MaxShort)
	if err := f.Err(); err != nil {
		return Added{}, err
	}
	p, err := picture.Process(ctx, r)
	if err != nil {
		return Added{}, err
	}
	k := kept{AddInput: in, Width: p.Width, Height: p.Height, Bytes: len(p.JPEG)}
	if k.Blob, err = s.blobs.Put(ctx, p.JPEG); err != nil {
		return Added{}, fmt.Errorf("keep the photo: %w", err)
	}
	if k.Thumb, err = s.blobs.Put(ctx, p.Thumb); err != nil {
		return Added{}, fmt.Errorf("keep the small photo: %w", err)
	}
	return change.Do(ctx, s.db, who, "add photo", k, func(ctx context.Context, tx *change.Tx) (Added, error) {
		c, l, err := jobcard.LockLine(ctx, tx, in.LineID)
		if err != nil {
			return Added{}, err
		}
		if !c.Stage.Live() {
			return Added{}, apperr.New(apperr.Conflict, "this card is %s: no photo can be added any more", c.Stage)
		}
		var n int
		if err := tx.QueryRow(ctx, `select count(*) from photo where card_id = $1`, c.ID).Scan(&n); err != nil {
			return Added{}, fmt.Errorf("count photos: %w", err)
		}
		if n >= MaxPhotos {
			return Added{}, apperr.Field(picture.Field, "a card holds at most %d photos", MaxPhotos)
		}
		a := Added{CardID: c.ID, LineID: l.ID}
		err = tx.QueryRow(ctx, `
			insert into photo (card_id, line_id, blob, thumb, width, height, bytes, caption, by_staff, at)
			values ($1, $2, $3, $4, $5, $6, $7, $8, nullif($9::bigint, 0), $10) returning id`,
			c.ID, l.ID, k.Blob, k.Thumb, k.Width, k.Height, k.Bytes, in.Caption, who.StaffID, tx.At).Scan(&a.ID)
		if err != nil {
			return Added{}, fmt.Errorf("note the photo: %w", err)
		}
		tx.Record("photo added", int64(c.ID), l.Title, map[string]any{"line": l.ID, "photo": a.ID, "sha256": k.Blob})
		return a, nil
	})
}

// Get reads what is noted of a photo. A struck photo is not found.
func (s *Service) Get(ctx context.Context, who actor.Actor, id ID) (Photo, error) {
	if err := who.Need(actor.ReadCards); err != nil {
		return Photo{}, err
	}
	return one(ctx, s.db.Pool, id)
}

// Of is Get for the customer behind a link. Whether the photo is theirs to see
// is for whoever asks: the version of a quote says which belong to it.
func (s *Service) Of(ctx context.Context, who actor.Actor, id ID) (Photo, error) {
	if err := who.Need(actor.AnswerQuote); err != nil {
		return Photo{}, err
	}
	return one(ctx, s.db.Pool, id)
}

func one(ctx context.Context, q pg.Querier, id ID) (Photo, error) {
	return pg.One[Photo](ctx, q, "photo", `
		select id, card_id, line_id, blob, thumb, width, height, caption, at from photo where id = $1 and struck_at is null`, id)
}

// Open gives the file of a photo, or of its small version, and its size in
// bytes. The caller closes it.
func (s *Service) Open(ctx context.Context, p Photo, small bool) (io.ReadCloser, int64, error) {
	key := p.Blob
	if small {
		key = p.Thumb
	}
	return s.blobs.Open(ctx, key)
}

// Strike takes a photo off the card; it stays on record. The technician who
// took it may, and whoever edits cards.
func (s *Service) Strike(ctx context.Context, who actor.Actor, id ID) (Added, error) {
	if err := who.Need(actor.Work); err != nil {
		return Added{}, err
	}
	return change.Do(ctx, s.db, who, "strike photo", id, func(ctx context.Context, tx *change.Tx) (Added, error) {
		a := Added{ID: id}
		var by actor.StaffID
		err := tx.QueryRow(ctx, `select line_id, coalesce(by_staff, 0) from photo where id = $1 and struck_at is null`, id).
			Scan(&a.LineID, &by)
		if err != nil {
			return Added{}, pg.Explain(err, "photo", nil)
		}
		if by != who.StaffID {
			if err := who.Need(actor.EditCard); err != nil {
				return Added{}, err
			}
		}
		c, l, err := jobcard.LockLine(ctx, tx, a.LineID)
		if err != nil {
			return Added{}, err
		}
		a.CardID = c.ID
		if !c.Stage.Live() {
			return Added{}, apperr.New(apperr.Conflict, "this card is %s: its photos stay", c.Stage)
		}
		tag, err := tx.Exec(ctx, `update photo set struck_at = $2 where id = $1 and struck_at is null`, id, tx.At)
		if err != nil {
			return Added{}, fmt.Errorf("strike the photo: %w", err)
		}
		if tag.RowsAffected() == 0 {
			return Added{}, apperr.NoSuch("photo")
		}
		tx.Record("photo struck out", int64(c.ID), l.Title, map[string]any{"line": l.ID, "photo": id})
		return a, nil
	})
}
