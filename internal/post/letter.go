// Package post is the mail that goes out: a letter is written down in the
// same transaction as what it is about, and sent afterwards by whichever
// server takes it in hand first. It is tried again while that may help, with
// the same Message-ID, so that a repeat is one mail to whoever reads it.
package post

import (
	"net/mail"
	"regexp"
	"strings"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/jobcard"
)

// ID names one letter.
type ID int64

// State is how far a letter has come.
type State string

// The states.
const (
	Waiting   State = "waiting" // for its next try
	Sent      State = "sent"    // a server has taken it
	Failed    State = "failed"  // given up
	Withdrawn State = "withdrawn"
)

// Letter is one mail to one person.
type Letter struct {
	// About and AboutID say what it is about, such as quote 12, and find it
	// again; CardID is 0 for none.
	About   string
	AboutID int64
	CardID  jobcard.CardID

	// ToName may be empty.
	ToName, To string
	// FromName is shown beside the server's own address, and answers go to
	// ReplyTo; both may be empty.
	FromName, ReplyTo string
	Subject           string
	Text              string
	Files             []File
}

// File goes with a letter.
type File struct {
	// Name is letters, digits, spaces, dots, dashes: what every mail program shows.
	Name      string
	MediaType string
	Content   []byte
}

// The most that a letter may hold.
const (
	MaxSubject  = 200
	MaxText     = 20_000
	MaxFiles    = 5
	MaxFileSize = 5_000_000 // bytes
)

var fileName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}$`)

// Address reads a mail address as somebody types it: the bare address of one
// person. The error is for the field that it stands in.
func Address(s string) (string, error) {
	s = strings.TrimSpace(s)
	a, err := mail.ParseAddress(s)
	if err != nil || a.Address != s || a.Name != "" || len(s) > 254 || strings.ContainsAny(s, " \"\r\n\t<>,;:") {
		return "", apperr.New(apperr.Invalid, "a mail address looks like name@example.org")
	}
	return s, nil
}

// check makes a letter fit to be written down. Nothing of it can begin a
// header of its own: what would is refused, at its field.
func (l Letter) check() (Letter, error) {
	f := apperr.Fields{}
	f.Must("to", l.To, "the address that it goes to")
	for _, a := range []struct {
		field string
		value *string
	}{{"to", &l.To}, {"reply_to", &l.ReplyTo}} {
		if *a.value == "" {
			continue
		}
		at, err := Address(*a.value)
		if err != nil {
			f.Add(a.field, "%s", err.Error())
		}
		*a.value = at
	}
	l.ToName = f.Line("to_name", l.ToName, 120)
	l.FromName = f.Line("from_name", l.FromName, 120)
	l.Subject = f.Line("subject", l.Subject, MaxSubject)
	f.Must("subject", l.Subject, "the subject")
	l.Text = f.Prose("text", l.Text, MaxText)
	f.Must("text", l.Text, "what the letter says")
	if len(l.Files) > MaxFiles {
		f.Add("files", "at most %d files go with a letter", MaxFiles)
	}
	for _, x := range l.Files {
		switch {
		case !fileName.MatchString(x.Name):
			f.Add("files", "a file that goes with a letter needs a plain name, such as quote-12.pdf")
		case len(x.Content) == 0 || len(x.Content) > MaxFileSize:
			f.Add("files", "%s must hold something and be at most %d MB", x.Name, MaxFileSize/1_000_000)
		}
	}
	return l, f.Err()
}

// Status is how things stand with one letter.
type Status struct {
	ID      ID
	About   string
	AboutID int64
	CardID  jobcard.CardID
	ToName  string
	To      string
	Subject string
	State   State
	// Tries is how often it was tried; Trouble what went wrong the last time.
	Tries   int
	Trouble string
	// NextTry is set while it waits.
	NextTry time.Time
	// At is when it was written, DoneAt when it was sent or given up; zero before.
	At, DoneAt time.Time
}

// Retry says when a letter that could not be sent is tried again: after the
// n-th try, counted from 1. Twice within the first hour and then every two or
// three hours is the schedule of RFC 5321, 4.5.4.1; a server that sends
// strangers away at first (RFC 6647) wants a few minutes, so there is one
// early try.
func Retry(n int) time.Duration {
	switch n {
	case 1:
		return 5 * time.Minute
	case 2:
		return 30 * time.Minute
	case 3:
		return 2 * time.Hour
	}
	return 3 * time.Hour
}

// GiveUp is how long a letter is tried, from the first time on: RFC 5321, 4.5.4.1 says at least four
// to five days.
const GiveUp = 4 * 24 * time.Hour
