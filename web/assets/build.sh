#!/bin/sh
# Builds what the browser gets: checks the TypeScript, bundles it and the
# style sheets with esbuild (a go tool, see go.mod), and leaves the files in
# static/dist, from where the server embeds them. Needs go, node and npm.
set -eu
cd "$(dirname "$0")"

for tool in go node npm; do
	command -v "$tool" >/dev/null || { echo "build.sh: $tool is missing; install Go 1.26 and Node.js 20 or later" >&2; exit 1; }
done

# npm writes .package-lock.json last, so it tells when node_modules was filled.
if [ ! -f node_modules/.package-lock.json ] || [ package-lock.json -nt node_modules/.package-lock.json ]; then
	npm ci --no-fund --no-audit
	touch node_modules/.package-lock.json
fi

node_modules/.bin/tsc --noEmit

# Into a folder of its own first, so that a failed build leaves the last good
# one in place.
out=$(mktemp -d)
trap 'rm -rf "$out"' EXIT
go tool esbuild src/entry/*.ts src/entry/*.css \
	--bundle --minify --target=es2022,chrome111,firefox115,safari16.4 --format=esm \
	--legal-comments=none --log-level=warning --outdir="$out"
cp src/entry/*.svg "$out/"

dist=../../static/dist
for old in "$dist"/*; do
	case $old in */README) ;; *) rm -rf "$old" ;; esac
done
cp "$out"/* "$dist/"
ls -l "$dist" | awk 'NR > 1 { print $5, $9 }'
