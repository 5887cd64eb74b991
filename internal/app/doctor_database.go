package app

import (
	"context"
	"fmt"
	"log/slog"

	"github.com/jackc/pgx/v5"

	"rampside/internal/config"
	"rampside/internal/pg"
	"rampside/internal/pg/pgserver"
)

// extensions are those that the migrations create.
var extensions = []string{"btree_gist", "pg_trgm"}

func examineDatabase(ctx context.Context, cfg config.Config, r *report) {
	url := cfg.DatabaseURL
	if cfg.Private() {
		var done func()
		if url, done = reachPrivate(ctx, cfg, r); url == "" {
			return
		}
		defer done()
	}
	conn, err := connect(ctx, url)
	if err != nil {
		r.add(finding{"database", wrong, "it does not answer: " + err.Error()})
		return
	}
	defer conn.Close(context.WithoutCancel(ctx))
	for _, f := range questions(ctx, conn) {
		r.add(f)
	}
}

// reachPrivate gives the address of the private database, started for the
// look when it does not run. "" when there is none to look at.
func reachPrivate(ctx context.Context, cfg config.Config, r *report) (url string, done func()) {
	bin, err := pgserver.Find()
	if err != nil {
		r.add(finding{"PostgreSQL", wrong, err.Error()})
		return "", nil
	}
	r.add(finding{"PostgreSQL", good, "version " + bin.Version + " in " + bin.Dir})
	dir := clusterDir(cfg)
	st, err := pgserver.Look(dir)
	switch {
	case err != nil:
		r.add(finding{"private data", wrong, err.Error()})
		return "", nil
	case st.Running && st.Exists:
		r.add(finding{"private data", good, "in use by a rampside that is running"})
		return st.URL(privateName), func() {}
	case !st.Exists:
		r.add(finding{"private data", good, "no database yet; the first start makes one in " + dir})
		return "", nil
	}
	s, err := pgserver.Start(ctx, pgserver.Options{Dir: dir, Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		r.add(finding{"private data", wrong, err.Error()})
		return "", nil
	}
	where := dir
	if st.Real != dir {
		where = fmt.Sprintf("%s, really %s because the database's user cannot get into the data folder", dir, st.Real)
	}
	r.add(finding{"private data", good, "it starts; it is in " + where})
	return s.URL(privateName), func() {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), drainTime)
		defer cancel()
		if err := s.Stop(ctx); err != nil {
			r.add(finding{"private data", wrong, err.Error()})
		}
	}
}

// questions asks a database that answers.
func questions(ctx context.Context, conn *pgx.Conn) []finding {
	var out []finding
	say := func(what string, err error, fine string) {
		if err != nil {
			out = append(out, finding{what, wrong, err.Error()})
			return
		}
		out = append(out, finding{what, good, fine})
	}
	var version string
	err := conn.QueryRow(ctx, "SHOW server_version").Scan(&version)
	if err == nil {
		err = checkVersion(ctx, conn)
	}
	say("database", err, "it answers; PostgreSQL "+version)
	for _, name := range extensions {
		say("extension", checkExtension(ctx, conn, name), name+" is there or can be added")
	}
	risks, err := unsafeSettings(ctx, conn)
	say("durability", err, "what is saved survives a power cut, as far as PostgreSQL is asked to see to it")
	if len(risks) > 0 {
		out = out[:len(out)-1]
		for _, s := range risks {
			out = append(out, finding{"durability", wrong, s})
		}
	}
	return append(out, schema(ctx, conn))
}

func checkExtension(ctx context.Context, conn *pgx.Conn, name string) error {
	var installed, available, may bool
	err := conn.QueryRow(ctx, `
		SELECT EXISTS (SELECT FROM pg_extension WHERE extname = $1),
		       EXISTS (SELECT FROM pg_available_extensions WHERE name = $1),
		       has_database_privilege(current_database(), 'CREATE')`, name).Scan(&installed, &available, &may)
	switch {
	case err != nil:
		return err
	case installed:
		return nil
	case !available:
		return fmt.Errorf("%s is not on the database server; install PostgreSQL's contrib package there", name)
	case !may:
		return fmt.Errorf("%s is not in the database and this user may not add it; give the user the CREATE right on the database", name)
	}
	return nil
}

func schema(ctx context.Context, conn *pgx.Conn) finding {
	at, err := pg.SchemaVersion(ctx, conn)
	if err != nil {
		return finding{"schema", wrong, err.Error()}
	}
	latest, err := pg.Latest()
	if err != nil {
		return finding{"schema", wrong, err.Error()}
	}
	switch {
	case at > latest:
		return finding{"schema", wrong, pg.ErrNewerSchema.Error()}
	case at == 0:
		return finding{"schema", good, "empty; the first start fills it in"}
	case at < latest:
		return finding{"schema", note, fmt.Sprintf("at version %d; the next start brings it to %d", at, latest)}
	}
	return finding{"schema", good, fmt.Sprintf("at version %d, the latest", at)}
}
