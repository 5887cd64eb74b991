package main

import (
	"context"
	"net"
	"net/http"
	"sync"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/actor"
	"rampside/internal/change"
	"rampside/internal/fitment"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
	"rampside/web/cardweb"
	"rampside/web/ui"
)

// bare serves a card's page with chi, pgx and templ and nothing around them:
// no session, no rights, no security headers, no log, no counters, no gzip.
// The SQL and the template are the real page's.
func bare(ctx context.Context, url string, now change.DB) (addr string, stop func(), err error) {
	pool, err := pg.Open(ctx, url)
	if err != nil {
		return "", nil, err
	}
	cards := fitment.New(&change.DB{Pool: pool, Now: now.Now})
	who := actor.Actor{StaffID: 1, Name: "Wren Calloway", Role: actor.Owner}
	r := chi.NewRouter()
	r.Get("/cards/{card}", func(w http.ResponseWriter, r *http.Request) {
		id, err := ui.PathID[jobcard.CardID](r, "card")
		if err != nil {
			http.Error(w, err.Error(), http.StatusNotFound)
			return
		}
		s, fit, err := cards.Sheet(r.Context(), who, id)
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		page, err := cardweb.Component(ui.PageData{Title: "Card", Garage: "Saltmarsh Lane Garage", Who: who}, s, fit, who, "http://localhost/", now.Now())
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_ = page.Render(r.Context(), w)
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		pool.Close()
		return "", nil, err
	}
	srv := &http.Server{Handler: r, ReadHeaderTimeout: 5e9}
	go func() { _ = srv.Serve(l) }()
	return "http://" + l.Addr().String(), func() { _ = srv.Close(); pool.Close() }, nil
}

// listener notes the SQL of every batch that goes by.
type listener struct {
	mu  sync.Mutex
	sql []string
}

func (l *listener) TraceQueryStart(ctx context.Context, _ *pgx.Conn, d pgx.TraceQueryStartData) context.Context {
	l.note(d.SQL)
	return ctx
}
func (l *listener) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}
func (l *listener) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	return ctx
}
func (l *listener) TraceBatchQuery(_ context.Context, _ *pgx.Conn, d pgx.TraceBatchQueryData) {
	l.note(d.SQL)
}
func (l *listener) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData) {}

func (l *listener) note(sql string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.sql = append(l.sql, sql)
}

// sqlOfCard is the SQL that reading a card takes, in order.
func sqlOfCard(ctx context.Context, url string, db change.DB, id jobcard.CardID) ([]string, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	var heard listener
	cfg.ConnConfig.Tracer = &heard
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, err
	}
	defer pool.Close()
	cards := fitment.New(&change.DB{Pool: pool, Now: db.Now})
	_, _, err = cards.Sheet(ctx, actor.Actor{StaffID: 1, Name: "x", Role: actor.Owner}, id)
	return heard.sql, err
}
