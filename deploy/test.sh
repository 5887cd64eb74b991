#!/usr/bin/env bash
# Installs what is missing and runs every check: generated code is current,
# formatting, static analysis, and the tests on a real PostgreSQL and a real
# browser. Packages may be named, as for go test; without any, all are tested.
# It may be run again, and ends with go test's own lines and its exit code.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$top/deploy/lib.sh"

install_missing tests
cd "$top"
bundle

say "Generated pages are current"
pages() { find web -name node_modules -prune -o -name '*_templ.go' -exec sha256sum {} + | sort; }
before=$(pages)
tool go tool templ generate -log-level warn
[ "$before" = "$(pages)" ] || die "the generated pages were out of date; they are made anew now: look at them and commit"

say "Formatting"
unformatted=$(gofmt -l cmd internal migrations static web)
[ -z "$unformatted" ] || die "run gofmt -w on: $unformatted"

say "Static analysis"
# Without the race detector, since some files are left out with it.
staticcheck=$(tool go tool -modfile=deploy/lint.mod -n staticcheck)
tool go vet ./...
tool "$staticcheck" ./...

say "Tests"
status=0
if [ $# -gt 0 ]; then
	tool go test -race -timeout 30m "$@" || status=$?
else
	# Everything that runs at once runs in the server, and so under internal/;
	# a browser beside the race detector is too much for two cores.
	tool go test -race -timeout 30m ./cmd/... ./internal/... ./migrations/... ./static/... || status=$?
	# The detector also takes memory of its own, so where memory is measured it
	# is done again without; and where one walks the whole server step by step,
	# it would find nothing that it does not find elsewhere.
	walks=$(grep -l '^//go:build !race' internal/app/*_test.go | xargs sed -n 's/^func \(Test[A-Za-z0-9_]*\)(t .*/\1/p' | paste -sd '|')
	[ -n "$walks" ] || die "internal/app has no test that walks the server"
	tool go test -timeout 30m -run "^($walks)\$" ./internal/app || status=$?
	tool go test -timeout 30m ./internal/picture ./web/... || status=$?
fi
# The shared test server stops by itself once the last test has ended.
for _ in $(seq 50); do
	compgen -G "${TMPDIR:-/tmp}/rampside-pgtest-*-$(id -u)-*/keeper.pid" >/dev/null || break
	sleep 0.2
done
exit $status
