package post

import (
	"bufio"
	"fmt"
	"net"
	"net/url"
	"strings"
	"sync"
	"testing"
)

// mailbox is a small mail server: enough of RFC 5321 to take letters, and to
// be in a bad mood about them.
type mailbox struct {
	t  *testing.T
	at string
	l  net.Listener

	mu sync.Mutex
	// got are the letters taken, as they came over the wire.
	got []string
	// moods are what is answered to the next RCPT commands instead of 250.
	moods []string
	// rude breaks the connection off after the last dot was answered.
	rude bool
	said []string
}

func openMailbox(t *testing.T) *mailbox {
	t.Helper()
	m := &mailbox{t: t}
	m.listen("127.0.0.1:0")
	t.Cleanup(func() { m.close() })
	return m
}

func (m *mailbox) listen(at string) {
	m.t.Helper()
	var lc net.ListenConfig
	l, err := lc.Listen(m.t.Context(), "tcp", at)
	if err != nil {
		m.t.Fatal(err)
	}
	m.l, m.at = l, l.Addr().String()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go m.talk(c)
		}
	}()
}

func (m *mailbox) close() { _ = m.l.Close() }

func (m *mailbox) mood() string {
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.moods) == 0 {
		return "250 fine"
	}
	s := m.moods[0]
	m.moods = m.moods[1:]
	return s
}

func (m *mailbox) talk(c net.Conn) {
	defer c.Close()
	r := bufio.NewReader(c)
	say := func(s string) { _, _ = fmt.Fprint(c, s+"\r\n") }
	say("220 mail.test")
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return
		}
		m.mu.Lock()
		m.said = append(m.said, strings.TrimSpace(line))
		m.mu.Unlock()
		switch verb := strings.ToUpper(strings.Fields(line + " x")[0]); verb {
		case "EHLO":
			say("250-mail.test\r\n250-8BITMIME\r\n250 ENHANCEDSTATUSCODES")
		case "RCPT":
			say(m.mood())
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
			m.got = append(m.got, b.String())
			rude := m.rude
			m.mu.Unlock()
			say("250 2.0.0 taken")
			if rude {
				return
			}
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
	return append([]string(nil), m.got...)
}

func (m *mailbox) server() *Server {
	m.t.Helper()
	s, err := NewServer(&url.URL{Scheme: "smtp", Host: m.at}, "Saltmarsh Lane <desk@saltmarsh.example>")
	if err != nil {
		m.t.Fatal(err)
	}
	return s
}
