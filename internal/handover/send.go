package handover

import (
	"bytes"
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/link"
	"rampside/internal/post"
)

// linkHolds is how long the customer's copy can be opened: until about the
// next service.
const linkHolds = 395 * 24 * time.Hour

// SendInput gives the customer a copy: by mail where there is an address, else
// as a link that somebody passes on.
type SendInput struct {
	ID ID
	// Name is who it is for, Address where a letter goes; empty for no letter.
	Name, Address string
}

// Sent is a copy that was given.
type Sent struct {
	LinkID link.ID
	Mailed bool
}

// Send makes a link to the handover and, with an address, a letter with the
// link and the PDF in it. photos are pictures by photo, as Paper takes them.
// Errors: Invalid at name and address.
func (s *Service) Send(ctx context.Context, who actor.Actor, in SendInput, photos map[int64][]byte) (Sent, error) {
	if err := who.Need(actor.HandOver); err != nil {
		return Sent{}, err
	}
	f := apperr.Fields{}
	in.Name = f.Line("name", in.Name, MaxShort)
	f.Must("name", in.Name, "the name of who it is for")
	if in.Address != "" {
		at, err := post.Address(in.Address)
		if err != nil {
			f.Add("address", "%s", err.Error())
		}
		if in.Address = at; !s.mail.Sends() {
			f.Add("address", "%s Leave it empty, and send the link from there.", s.mail.WhyNot())
		}
	}
	if err := f.Err(); err != nil {
		return Sent{}, err
	}
	h, err := Read(ctx, s.db.Pool, in.ID) // it never changes
	if err != nil {
		return Sent{}, err
	}
	var file bytes.Buffer
	if in.Address != "" {
		if err := h.Paper("", photos).Write(&file); err != nil {
			return Sent{}, fmt.Errorf("set the handover as PDF: %w", err)
		}
	}
	return change.Do(ctx, s.db, who, "send handover", in, func(ctx context.Context, tx *change.Tx) (Sent, error) {
		m, err := link.Mint(ctx, tx, link.NewLink{Purpose: link.Handover, Target: int64(h.ID), CardID: h.CardID, GivenTo: in.Name, Until: tx.At.Add(linkHolds)})
		if err != nil || in.Address == "" {
			return Sent{LinkID: m.ID}, err
		}
		_, err = post.Put(ctx, tx, post.Letter{
			About: "handover", AboutID: int64(h.ID), CardID: h.CardID, ToName: in.Name, To: in.Address, FromName: h.GarageName, ReplyTo: h.GarageEmail,
			Subject: "What was done to your " + joined(" ", h.Car, h.Mark),
			Text:    h.letter(in.Name, s.public(m.Path())),
			Files:   []post.File{{Name: h.FileName(), MediaType: "application/pdf", Content: file.Bytes()}},
		})
		return Sent{LinkID: m.ID, Mailed: true}, err
	})
}

func (h Handover) letter(name, link string) string {
	text := "Dear " + name + ",\n\nwhat was done to your " + joined(" ", h.Car, h.Mark) + ", and what was not, is in the file with this letter and here:\n" + link + "\n"
	if a := h.Acknowledged; a != nil {
		text += "\nPlease mind what was found:\n"
		for _, i := range h.Of(Unsafe) {
			text += "- " + Word(i.Severity) + ": " + i.What + "\n"
		}
	}
	return text + "\n" + h.GarageName + "\n" + h.GaragePhone + "\n"
}

// FileName is what the PDF is called.
func (h Handover) FileName() string {
	return "handover-" + strconv.FormatInt(int64(h.CardID), 10) + ".pdf"
}

// Copies are what the customer was given of a handover, and where mail would
// go.
type Copies struct {
	Email   string
	Links   []link.Link
	Letters []post.Status
	// Mails tells whether letters can be sent at all, WhyNot what is missing.
	Mails  bool
	WhyNot string
}

// Copies reads the copies that were given. Errors: Forbidden.
func (s *Service) Copies(ctx context.Context, who actor.Actor, h Handover) (Copies, error) {
	if err := who.Need(actor.HandOver); err != nil {
		return Copies{}, err
	}
	out := Copies{Mails: s.mail.Sends()}
	if !out.Mails {
		out.WhyNot = s.mail.WhyNot()
	}
	err := s.db.Pool.QueryRow(ctx, `select email from customer where id = $1`, h.CustomerID).Scan(&out.Email)
	if err != nil && err != pgx.ErrNoRows {
		return Copies{}, fmt.Errorf("where mail goes: %w", err)
	}
	if out.Links, err = link.Of(ctx, s.db.Pool, link.Handover, int64(h.ID)); err != nil {
		return Copies{}, err
	}
	out.Letters, err = post.Of(ctx, s.db.Pool, "handover", int64(h.ID))
	return out, err
}
