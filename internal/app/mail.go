package app

import (
	"context"
	"errors"
	"fmt"
	"net"

	"rampside/internal/change"
	"rampside/internal/config"
	"rampside/internal/post"
)

// sendLetters starts what sends the letters that wait, until the server stops.
// Without a mail server set they are left alone.
func sendLetters(d Deps, db *change.DB) error {
	if d.Config.Mail == nil {
		return nil
	}
	server, err := post.NewServer(d.Config.Mail, d.Config.MailFrom)
	if err != nil {
		return fmt.Errorf("RAMPSIDE_SMTP: %w", err)
	}
	w := &post.Worker{DB: db, Server: server, Log: d.Log}
	d.background.Go(func() { w.Run(d.Closing) })
	return nil
}

// checkMail speaks to the mail server that is set, and signs in there.
func checkMail(ctx context.Context, cfg config.Config) finding {
	if cfg.Mail == nil {
		return finding{"mail", note, "RAMPSIDE_SMTP is not set: letters are sent from people's own mail programs"}
	}
	server, err := post.NewServer(cfg.Mail, cfg.MailFrom)
	if err == nil {
		err = server.Check(ctx)
	}
	var away net.Error
	switch {
	case errors.As(err, &away):
		return finding{"mail", wrong, "the mail server does not answer: " + err.Error()}
	case err != nil:
		return finding{"mail", wrong, fmt.Sprintf("the mail server %s answers and does not let us in: %v", cfg.Mail.Host, err)}
	}
	return finding{"mail", good, cfg.Mail.Host + " takes our letters"}
}
