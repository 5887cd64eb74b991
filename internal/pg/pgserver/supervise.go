package pgserver

import (
	"context"
	"fmt"
	"syscall"
	"time"
)

// Delays between restarts: the first is at once, later ones grow while the
// server keeps dying, and a run of a minute counts as good health.
const (
	firstDelay = 100 * time.Millisecond
	longest    = 5 * time.Second
	healthy    = time.Minute
)

// supervise restarts postgres whenever it ends without having been told to.
// The pool above reconnects by itself.
func (s *Server) supervise(life context.Context, p *process) {
	defer close(s.supervised)
	delay := firstDelay
	began := time.Now()
	for {
		<-p.done
		if life.Err() != nil {
			return
		}
		if time.Since(began) > healthy {
			delay = firstDelay
		}
		s.log.Error("the database server ended and is started again",
			"how", fmt.Sprint(p.err), "in", delay, "last_words", p.lastWords())
		for {
			if pause(life, delay) != nil {
				return
			}
			delay = min(2*delay, longest)
			began = time.Now()
			next, err := s.restart(life)
			if err == nil {
				p = next
				break
			}
			if life.Err() != nil {
				return
			}
			s.log.Error("the database server did not start", "error", err, "again_in", delay)
		}
	}
}

// restart launches postgres once the children of the last one are gone. The
// shared-memory check of PostgreSQL itself is the backstop.
func (s *Server) restart(life context.Context) (*process, error) {
	if err := awaitOrphans(life, s.dir); err != nil {
		return nil, err
	}
	next, err := s.launch()
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	s.proc = next
	if s.stopping { // Stop came in between and signalled the old one
		next.signal(syscall.SIGINT)
	}
	s.mu.Unlock()
	return next, nil
}
