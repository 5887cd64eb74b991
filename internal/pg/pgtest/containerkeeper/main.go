// Command containerkeeper keeps a PostgreSQL in a container for the tests, on
// machines that have Docker and no PostgreSQL of their own. Only pgtest
// starts it.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/wait"

	"rampside/internal/pg/pgtest"
)

func main() {
	if err := pgtest.KeepContainer(startContainer); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func startContainer(ctx context.Context, _ string) (pgtest.Serve, error) {
	const port = "5432/tcp"
	c, err := testcontainers.Run(ctx, "postgres:17-alpine",
		testcontainers.WithEnv(map[string]string{"POSTGRES_PASSWORD": "test", "POSTGRES_DB": "postgres"}),
		testcontainers.WithExposedPorts(port),
		testcontainers.WithCmd("postgres", "-c", "fsync=off", "-c", "full_page_writes=off",
			"-c", "synchronous_commit=off", "-c", "autovacuum=off", "-c", "max_connections=500"),
		// The image starts it twice: once to set it up, once for good.
		testcontainers.WithWaitStrategy(wait.ForAll(
			wait.ForLog("database system is ready to accept connections").WithOccurrence(2),
			wait.ForListeningPort(port))),
	)
	if err != nil {
		return pgtest.Serve{}, fmt.Errorf("starting a container: %w", err)
	}
	stop := func(context.Context) error { return testcontainers.TerminateContainer(c) }
	addr, err := c.PortEndpoint(ctx, port, "")
	if err != nil {
		return pgtest.Serve{}, errors.Join(fmt.Errorf("the container's address: %w", err), stop(ctx))
	}
	return pgtest.Serve{URL: "postgres://postgres:test@" + addr + "/postgres?sslmode=disable", Stop: stop}, nil
}
