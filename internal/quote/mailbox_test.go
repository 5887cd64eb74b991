package quote_test

import (
	"bufio"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net"
	"net/mail"
	"net/url"
	"strings"
	"sync"
	"testing"
)

// mailbox is a mail server on this machine (RFC 5321) that takes every letter.
type mailbox struct {
	at *url.URL

	mu   sync.Mutex
	data []string
}

func newMailbox(t *testing.T) *mailbox {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	m := &mailbox{at: &url.URL{Scheme: "smtp", Host: l.Addr().String()}}
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go m.talk(c)
		}
	}()
	return m
}

func (m *mailbox) talk(c net.Conn) {
	defer c.Close()
	r := bufio.NewReader(c)
	say := func(s string) { _, _ = io.WriteString(c, s+"\r\n") }
	say("220 mail.test ready")
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return
		}
		switch verb := strings.ToUpper(strings.Fields(line + " x")[0]); verb {
		case "EHLO", "HELO":
			say("250 mail.test")
		case "DATA":
			say("354 go on")
			var b strings.Builder
			for {
				line, err := r.ReadString('\n')
				if err != nil {
					return
				}
				if line == ".\r\n" {
					break
				}
				b.WriteString(strings.TrimPrefix(line, "."))
			}
			m.mu.Lock()
			m.data = append(m.data, b.String())
			m.mu.Unlock()
			say("250 taken")
		case "QUIT":
			say("221 bye")
			return
		default:
			say("250 fine")
		}
	}
}

func (m *mailbox) letters() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]string(nil), m.data...)
}

// letter is a mail taken apart: its text and the files that came with it.
type letter struct {
	head  mail.Header
	text  string
	files map[string][]byte
}

func takeApart(t *testing.T, raw string) letter {
	t.Helper()
	m, err := mail.ReadMessage(strings.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	out := letter{head: m.Header, files: map[string][]byte{}}
	_, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	if err != nil {
		t.Fatal(err)
	}
	parts := multipart.NewReader(m.Body, params["boundary"])
	for {
		p, err := parts.NextRawPart()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		var body io.Reader = p
		switch strings.ToLower(p.Header.Get("Content-Transfer-Encoding")) {
		case "base64":
			body = base64.NewDecoder(base64.StdEncoding, p)
		case "quoted-printable":
			body = quotedprintable.NewReader(p)
		}
		b, err := io.ReadAll(body)
		if err != nil {
			t.Fatal(err)
		}
		if name := p.FileName(); name != "" {
			out.files[name] = b
		} else {
			out.text = strings.ReplaceAll(string(b), "\r\n", "\n")
		}
	}
}
