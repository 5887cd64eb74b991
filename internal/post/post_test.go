package post

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"mime"
	"mime/multipart"
	"net/mail"
	"strings"
	"testing"
	"time"

	"encoding/base64"
	"mime/quotedprintable"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/jobcard/cardtest"
)

type rig struct {
	*cardtest.Garage
	t    *testing.T
	box  *mailbox
	post *Service
	w    *Worker
}

func open(t *testing.T) *rig {
	g := cardtest.Open(t)
	box := openMailbox(t)
	return &rig{g, t, box, New(g.DB, "desk@saltmarsh.example"),
		&Worker{DB: g.DB, Server: box.server(), Log: slog.New(slog.NewTextHandler(t.Output(), nil))}}
}

func plainLetter() Letter {
	return Letter{About: "quote", AboutID: 12, ToName: "Maud Ferris", To: "maud@ferris.example", FromName: "Saltmarsh Lane Garage",
		ReplyTo: "ida@saltmarsh.example", Subject: "Your car: £412.80 for the brakes", Text: "Dear Maud,\n\n.A line that begins with a dot, café, £ and 10 °C.\nFrom the garage"}
}

func (r *rig) put(l Letter) (ID, error) {
	return change.Do(r.t.Context(), r.DB, r.Desk, "send", l.Subject, func(ctx context.Context, tx *change.Tx) (ID, error) { return Put(ctx, tx, l) })
}

func (r *rig) one() bool {
	r.t.Helper()
	done, err := r.w.One(r.t.Context())
	r.OK(err)
	return done
}

func (r *rig) status() Status {
	r.t.Helper()
	all, err := Of(r.t.Context(), r.DB.Pool, "quote", 12)
	r.OK(err)
	if len(all) != 1 {
		r.t.Fatalf("%d letters", len(all))
	}
	return all[0]
}

func TestALetterArrivesAsItWasWritten(t *testing.T) {
	r := open(t)
	l := plainLetter()
	pdf := bytes.Repeat([]byte("%PDF-1.7\n\x00\xff"), 5000)
	l.Files = []File{{"quote-2001-2.pdf", "application/pdf", pdf}}
	_, err := r.put(l)
	r.OK(err)
	if !r.one() || r.one() {
		t.Fatal("one letter is one try")
	}
	got := r.box.letters()
	if len(got) != 1 {
		t.Fatalf("%d letters came", len(got))
	}
	m, err := mail.ReadMessage(strings.NewReader(got[0]))
	r.OK(err)
	var dec mime.WordDecoder
	subject, err := dec.DecodeHeader(m.Header.Get("Subject"))
	r.OK(err)
	from, err := m.Header.AddressList("From")
	r.OK(err)
	to, err := m.Header.AddressList("To")
	r.OK(err)
	reply, err := m.Header.AddressList("Reply-To")
	r.OK(err)
	if subject != l.Subject || from[0].Name != "Saltmarsh Lane Garage" || from[0].Address != "desk@saltmarsh.example" ||
		to[0].Name != "Maud Ferris" || to[0].Address != "maud@ferris.example" || reply[0].Address != "ida@saltmarsh.example" {
		t.Errorf("%q, %v, %v, %v", subject, from, to, reply)
	}
	if date, err := m.Header.Date(); err != nil || !date.Equal(r.Clock) || m.Header.Get("Auto-Submitted") != "auto-generated" {
		t.Errorf("%v, %v, %v", date, err, m.Header)
	}
	kind, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	r.OK(err)
	if kind != "multipart/mixed" {
		t.Fatalf("a letter with a file is %s", kind)
	}
	parts := multipart.NewReader(m.Body, params["boundary"])
	text, err := parts.NextRawPart()
	r.OK(err)
	body, err := io.ReadAll(quotedprintable.NewReader(text))
	r.OK(err)
	if want := strings.ReplaceAll(l.Text, "\n", "\r\n"); strings.TrimSpace(string(body)) != want || text.Header.Get("Content-Type") != "text/plain; charset=UTF-8" {
		t.Errorf("%q as %v", body, text.Header)
	}
	file, err := parts.NextRawPart()
	r.OK(err)
	raw, err := io.ReadAll(base64.NewDecoder(base64.StdEncoding, file))
	r.OK(err)
	if file.FileName() != "quote-2001-2.pdf" || !bytes.Equal(raw, pdf) || !strings.HasPrefix(file.Header.Get("Content-Type"), "application/pdf") {
		t.Errorf("%q, %d bytes, %v", file.FileName(), len(raw), file.Header)
	}
	if s := r.status(); s.State != Sent || s.Tries != 1 || !s.DoneAt.Equal(r.Clock) || s.Trouble != "" {
		t.Errorf("%+v", s)
	}
}

func TestNothingInALetterCanBeginAHeader(t *testing.T) {
	r := open(t)
	for field, spoil := range map[string]func(*Letter){
		"to":        func(l *Letter) { l.To = "maud@ferris.example\r\nBcc: all@ferris.example" },
		"to, again": func(l *Letter) { l.To = "maud@ferris.example, all@ferris.example" },
		"to, named": func(l *Letter) { l.To = "Maud <maud@ferris.example>" },
		"to, none":  func(l *Letter) { l.To = "" },
		"reply_to":  func(l *Letter) { l.ReplyTo = "ida@saltmarsh.example\nBcc: x@y.example" },
		"to_name":   func(l *Letter) { l.ToName = "Maud\r\nBcc: x@y.example" },
		"from_name": func(l *Letter) { l.FromName = "Garage\nX: y" },
		"subject":   func(l *Letter) { l.Subject = "Hello\r\nBcc: x@y.example" },
		"text":      func(l *Letter) { l.Text = "a\x00b" },
		"files":     func(l *Letter) { l.Files = []File{{"a\"\r\nX: y.pdf", "application/pdf", []byte("x")}} },
	} {
		l := plainLetter()
		spoil(&l)
		_, err := r.put(l)
		name, _, _ := strings.Cut(field, ",")
		var e *apperr.Error
		if !errors.As(err, &e) || e.Fields[name] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	// What only looks like one is text.
	l := plainLetter()
	l.ToName, l.Subject, l.Text = `Bcc: "x" <x@y.example>`, "Bcc: x@y.example =?utf-8?q?=0D=0ABcc:_x?=", "Bcc: x@y.example\n\n.\nQUIT"
	_, err := r.put(l)
	r.OK(err)
	r.one()
	m, err := mail.ReadMessage(strings.NewReader(r.box.letters()[0]))
	r.OK(err)
	to, err := m.Header.AddressList("To")
	r.OK(err)
	if len(to) != 1 || to[0].Address != "maud@ferris.example" || m.Header.Get("Bcc") != "" {
		t.Errorf("%v, %v", to, m.Header)
	}
	r.box.mu.Lock()
	defer r.box.mu.Unlock()
	n := 0
	for _, s := range r.box.said {
		if strings.HasPrefix(s, "RCPT") {
			n++
		}
	}
	if n != 1 {
		t.Errorf("it went to %d people", n)
	}
}

// The schedule is that of RFC 5321, 4.5.4.1: "two connection attempts during
// the first hour the message is in the queue, and then backing off to one
// every two or three hours", and giving up after "at least 4-5 days"; the
// early try is for greylisting, RFC 6647. (The figures are quoted from memory.)
func TestTheScheduleOfTriesIsThatOfTheStandard(t *testing.T) {
	var firstHour, n int
	var at time.Duration
	for at < GiveUp {
		n++
		wait := Retry(n)
		if at += wait; at <= time.Hour {
			firstHour++
		} else if n > 3 && (wait < 2*time.Hour || wait > 3*time.Hour) {
			t.Errorf("try %d comes after %v", n+1, wait)
		}
	}
	if firstHour < 2 || GiveUp < 4*24*time.Hour {
		t.Errorf("%d tries more within the hour, %v in all", firstHour, GiveUp)
	}
}

func TestAServerThatSendsStrangersAwayAtFirstGetsTheLetterLater(t *testing.T) {
	r := open(t)
	_, err := r.put(plainLetter())
	r.OK(err)
	r.box.moods = []string{"451 4.7.1 greylisted, come back later", "450 4.2.0 mailbox busy"}
	r.one()
	s := r.status()
	if s.State != Waiting || s.Tries != 1 || !strings.Contains(s.Trouble, "greylisted") || s.NextTry.Sub(r.Clock) != Retry(1) {
		t.Fatalf("%+v", s)
	}
	if r.one() {
		t.Error("it was tried again at once")
	}
	r.Clock = r.Clock.Add(Retry(1))
	r.one()
	r.Clock = r.Clock.Add(Retry(2))
	r.one()
	if s := r.status(); s.State != Sent || s.Tries != 3 || len(r.box.letters()) != 1 {
		t.Errorf("%+v, %d letters", s, len(r.box.letters()))
	}
}

func TestARefusalForGoodIsShownAndNotTriedAgain(t *testing.T) {
	r := open(t)
	id, err := r.put(plainLetter())
	r.OK(err)
	r.box.moods = []string{"550 5.1.1 no such user here"}
	r.one()
	s := r.status()
	if s.State != Failed || !strings.Contains(s.Trouble, "no such user here") || s.DoneAt.IsZero() {
		t.Fatalf("%+v", s)
	}
	r.Clock = r.Clock.Add(48 * time.Hour)
	if r.one() {
		t.Error("it was tried again")
	}
	_, err = r.post.Again(t.Context(), r.Desk, id)
	r.OK(err)
	r.one()
	if s := r.status(); s.State != Sent {
		t.Errorf("after another go: %+v", s)
	}
	if _, err := r.post.Again(t.Context(), r.Desk, id); !apperr.Is(err, apperr.Conflict) {
		t.Errorf("a letter that was sent is sent again: %v", err)
	}
}

func TestALetterOfAChangeThatFailedIsNeverSent(t *testing.T) {
	r := open(t)
	_, err := change.Do(t.Context(), r.DB, r.Desk, "send", nil, func(ctx context.Context, tx *change.Tx) (ID, error) {
		if _, err := Put(ctx, tx, plainLetter()); err != nil {
			return 0, err
		}
		return 0, errors.New("and then the rest went wrong")
	})
	if err == nil || r.one() {
		t.Errorf("%v, and there was something to send", err)
	}
}

func TestALetterThatWaitsCanBeWithdrawn(t *testing.T) {
	r := open(t)
	id, err := r.put(plainLetter())
	r.OK(err)
	_, err = r.post.Withdraw(t.Context(), r.Desk, id)
	r.OK(err)
	if s := r.status(); s.State != Withdrawn || r.one() {
		t.Errorf("%+v", s)
	}
	for name, who := range map[string]actor.Actor{"a technician": r.Posy, "a customer": actor.CustomerOf("Maud", "test")} {
		_, e1 := r.post.List(t.Context(), who, "")
		_, e2 := r.post.Again(t.Context(), who, id)
		_, e3 := r.post.Withdraw(t.Context(), who, id)
		if !apperr.Is(e1, apperr.Forbidden) || !apperr.Is(e2, apperr.Forbidden) || !apperr.Is(e3, apperr.Forbidden) {
			t.Errorf("%s: %v, %v, %v", name, e1, e2, e3)
		}
	}
	for state, n := range map[State]int{"": 1, Withdrawn: 1, Waiting: 0} {
		all, err := r.post.List(t.Context(), r.Desk, state)
		r.OK(err)
		if len(all) != n {
			t.Errorf("%q: %d letters", state, len(all))
		}
	}
}

// The addresses are those of RFC 6068, 6: blanks are %20, a line break is
// %0D%0A, and a plus sign is itself.
func TestALinkThatOpensAMailIsThatOfRFC6068(t *testing.T) {
	got := Mailto("maud+car@ferris.example", "Quote 2001/2 & more?", "Dear Maud,\nyes = 100 %")
	want := "mailto:maud%2Bcar@ferris.example?subject=Quote%202001%2F2%20%26%20more%3F&body=Dear%20Maud%2C%0D%0Ayes%20%3D%20100%20%25"
	if got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}

func TestTheServerIsSpokenToBeforeAnythingIsSent(t *testing.T) {
	r := open(t)
	r.OK(r.box.server().Check(t.Context()))
	r.box.close()
	if err := r.box.server().Check(t.Context()); err == nil {
		t.Error("a server that is away is fine")
	}
}
