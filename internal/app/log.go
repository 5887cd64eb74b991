package app

import (
	"context"
	"io"
	"log"
	"log/slog"
	"os"
	"strings"
)

// newLogger writes to w: for a person when that is a terminal, as JSON for
// programs otherwise.
func newLogger(w io.Writer, level slog.Level) *slog.Logger {
	opt := &slog.HandlerOptions{Level: level}
	if f, ok := w.(*os.File); ok {
		if st, err := f.Stat(); err == nil && st.Mode()&os.ModeCharDevice != 0 {
			return slog.New(slog.NewTextHandler(w, opt))
		}
	}
	return slog.New(slog.NewJSONHandler(w, opt))
}

// quiet takes what net/http logs, nearly all of it about clients that went
// away or spoke no HTTP.
func quiet(l *slog.Logger) *log.Logger {
	return log.New(writerFunc(func(p []byte) (int, error) {
		level := slog.LevelDebug
		if strings.HasPrefix(string(p), "http: panic") {
			level = slog.LevelError
		}
		l.Log(context.Background(), level, strings.TrimSpace(string(p)))
		return len(p), nil
	}), "", 0)
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }
