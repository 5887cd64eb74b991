package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"rampside/internal/jobcard"
	"rampside/internal/pg/pgserver"
)

var average = regexp.MustCompile(`tps = ([0-9.]+)`)

// pgbench runs the SQL of a card's page, pipelined and prepared, over 8
// connections, and gives how many times a second it went through.
func (m *measuring) pgbench(sql []string, id jobcard.CardID) (float64, error) {
	bins, err := pgserver.Find()
	if err != nil {
		return 0, err
	}
	tool := filepath.Join(bins.Dir, "pgbench")
	if _, err := os.Stat(tool); err != nil {
		if tool, err = exec.LookPath("pgbench"); err != nil {
			return 0, fmt.Errorf("pgbench is missing; it comes with the PostgreSQL server package: %w", err)
		}
	}
	var script strings.Builder
	script.WriteString("\\startpipeline\n")
	for _, q := range sql {
		q = strings.ReplaceAll(q, "$1", strconv.FormatInt(int64(id), 10))
		q = strings.ReplaceAll(q, "$2", "timestamptz '"+time.Now().UTC().Format(time.RFC3339)+"'")
		script.WriteString(strings.Join(strings.Fields(q), " ") + ";\n")
	}
	script.WriteString("\\endpipeline\n")
	path := filepath.Join(m.dir, "card.sql")
	if err := os.WriteFile(path, []byte(script.String()), 0o644); err != nil { //nolint:gosec // pgbench may be another user
		return 0, err
	}
	cfg, err := pgxpool.ParseConfig(m.url)
	if err != nil {
		return 0, err
	}
	c := cfg.ConnConfig
	cmd := exec.Command(tool, "-n", "-M", "prepared", "-c", "8", "-j", "2", "-T", strconv.Itoa(m.o.seconds), "-f", path,
		"-h", c.Host, "-p", strconv.Itoa(int(c.Port)), "-U", c.User, c.Database)
	out, err := cmd.CombinedOutput()
	if err != nil {
		return 0, fmt.Errorf("pgbench: %w\n%s", err, out)
	}
	found := average.FindSubmatch(out)
	if found == nil {
		return 0, fmt.Errorf("pgbench said: %s", out)
	}
	return strconv.ParseFloat(string(found[1]), 64)
}
