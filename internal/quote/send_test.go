package quote_test

import (
	"bytes"
	"log/slog"
	"strings"
	"testing"
	"time"

	"rampside/internal/apperr"
	"rampside/internal/link"
	"rampside/internal/post"
	"rampside/internal/quote"
)

func TestALetterArrivesWithTheVersionAndALinkThatOpensIt(t *testing.T) {
	r := open(t)
	box := newMailbox(t)
	server, err := post.NewServer(box.at, "Saltmarsh Lane Garage <jobs@garage.test>")
	r.OK(err)
	worker := &post.Worker{DB: r.DB, Server: server, Log: slog.New(slog.NewTextHandler(t.Output(), nil))}
	v := r.make(r.card().ID)
	who := r.Desk.WithKey("one-key-one-letter-1")
	in := quote.SendInput{VersionID: v.ID, Way: quote.ByMail, ToName: "Odette Marlowe", Address: "odette@example.org"}
	sent, err := r.quotes.Send(t.Context(), who, in)
	r.OK(err)
	again, err := r.quotes.Send(t.Context(), who, in)
	r.OK(err)
	if sent != again || sent.LinkID == 0 {
		t.Errorf("%+v and %+v", sent, again)
	}
	for {
		more, err := worker.One(t.Context())
		r.OK(err)
		if !more {
			break
		}
	}
	got := box.letters()
	if len(got) != 1 {
		t.Fatalf("%d letters arrived", len(got))
	}
	l := takeApart(t, got[0])
	if to := l.head.Get("To"); !strings.Contains(to, "odette@example.org") || !strings.Contains(l.head.Get("Subject"), "Estimate 2001/1") {
		t.Errorf("to %s, %s", to, l.head.Get("Subject"))
	}
	for _, want := range []string{"Dear Odette Marlowe,", "£", v.Garage.Money().Format(v.Totals.Gross), "until Monday 19 October 2026", "This is an estimate"} {
		if !strings.Contains(l.text, want) {
			t.Errorf("the letter does not say %q:\n%s", want, l.text)
		}
	}
	pdf := l.files["quote-2001-1.pdf"]
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("files: %d, the quote has %d bytes", len(l.files), len(pdf))
	}
	_, rest, ok := strings.Cut(l.text, "https://jobs.garage.test/your-car/")
	if !ok {
		t.Fatalf("no link in\n%s", l.text)
	}
	token, _, _ := strings.Cut(rest, "\n")
	links := link.New(r.DB, nil)
	k, over, err := links.Open(t.Context(), token)
	r.OK(err)
	if over != "" || k.Purpose != link.Quote || k.Target != int64(v.ID) || k.GivenTo != "Odette Marlowe" {
		t.Errorf("%+v, %s", k, over)
	}
	s := r.read(v.ID).Sendings
	if len(s) != 1 || s[0].Opened != 1 || s[0].LetterState != "sent" || s[0].Address != "odette@example.org" || s[0].By != "Ida Fairweather" {
		t.Errorf("%+v", s)
	}
	// What was agreed can be read for some weeks after the last day.
	if want := v.ValidUntil.Add(quote.ReadOn); !k.Until.Equal(want) {
		t.Errorf("the link is open until %v, want %v", k.Until, want)
	}
	// Taken back, the link opens nothing, and what still waits does not go out.
	_, err = r.quotes.Send(t.Context(), r.Desk, quote.SendInput{VersionID: v.ID, Way: quote.ByMail, ToName: "Odette Marlowe", Address: "odette@example.org"})
	r.OK(err)
	_, err = r.quotes.Withdraw(t.Context(), r.Desk, quote.WithdrawInput{VersionID: v.ID, Reason: "wrong pads"})
	r.OK(err)
	if _, over, err = links.Look(t.Context(), token); err != nil || over != link.Withdrawn {
		t.Errorf("%s, %v", over, err)
	}
	if s := r.read(v.ID).Sendings; s[0].LetterState != "sent" || s[1].LetterState != "withdrawn" {
		t.Errorf("the letters are %s and %s", s[0].LetterState, s[1].LetterState)
	}
}

func TestWhatCannotGoOutIsSaid(t *testing.T) {
	r := open(t)
	c := r.card()
	v := r.make(c.ID)
	send := func(in quote.SendInput) error {
		in.VersionID = v.ID
		_, err := r.quotes.Send(t.Context(), r.Desk, in)
		return err
	}
	r.field(send(quote.SendInput{ToName: "x"}), "way")
	r.field(send(quote.SendInput{Way: quote.OnPaper}), "to_name")
	r.field(send(quote.SendInput{Way: quote.ByMail, ToName: "x", Address: "nobody"}), "address")
	r.field(send(quote.SendInput{Way: quote.ByMail, ToName: "x", Address: "a@b.test\r\nBcc: c@d.test"}), "address")
	r.mail.off = true
	r.field(send(quote.SendInput{Way: quote.ByMail, ToName: "x", Address: "a@b.test"}), "way")
	_, err := r.quotes.Send(t.Context(), r.Posy, quote.SendInput{VersionID: v.ID, Way: quote.OnPaper, ToName: "x"})
	r.kind(err, apperr.Forbidden)
	r.Clock = v.ValidUntil.Add(time.Second)
	r.kind(send(quote.SendInput{Way: quote.OnPaper, ToName: "x"}), apperr.Conflict)
	if n := len(r.read(v.ID).Sendings); n != 0 {
		t.Errorf("%d sendings on record", n)
	}
}

func TestTheRecordTellsAllInOrderOfTime(t *testing.T) {
	r := open(t)
	c := r.card()
	first := r.make(c.ID)
	tick := func() { r.Clock = r.Clock.Add(time.Minute) }
	tick()
	sent, err := r.quotes.Send(t.Context(), r.Desk, quote.SendInput{VersionID: first.ID, Way: quote.ByLink, ToName: "Odette Marlowe"})
	r.OK(err)
	links := link.New(r.DB, nil)
	m, err := links.Token(t.Context(), r.Desk, sent.LinkID)
	r.OK(err)
	for range 2 {
		tick()
		_, _, err = links.Open(t.Context(), m.Token)
		r.OK(err)
	}
	tick()
	_, err = r.quotes.Answer(t.Context(), customer(first), quote.AnswerInput{VersionID: first.ID, Jobs: yes(first, 0)})
	r.OK(err)
	tick()
	second := r.make(c.ID)
	tick()
	_, err = r.answer(second, no(second, 1))
	r.OK(err)
	tick()
	_, err = r.quotes.Withdraw(t.Context(), r.Desk, quote.WithdrawInput{VersionID: second.ID, Reason: "the car goes elsewhere"})
	r.OK(err)
	rec, err := r.quotes.Record(t.Context(), r.Owner, c.ID)
	r.OK(err)
	var got []string
	for i, e := range rec.Entries {
		got = append(got, string(e.Deed))
		if i > 0 && e.At.Before(rec.Entries[i-1].At) {
			t.Errorf("entry %d is earlier than the one before it", i)
		}
	}
	if s := strings.Join(got, ", "); s != "issued, sent, opened, opened, answered, issued, answered, withdrawn" {
		t.Error(s)
	}
	_, err = r.quotes.Record(t.Context(), r.Posy, c.ID)
	r.kind(err, apperr.Forbidden)
	_, err = r.quotes.Record(t.Context(), r.Owner, 999)
	r.kind(err, apperr.NotFound)
}
