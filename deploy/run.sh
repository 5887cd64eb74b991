#!/usr/bin/env bash
# Installs what is missing, builds Rampside, and serves the demo garage at
# http://localhost:8080 until it is stopped with Ctrl-C. RAMPSIDE_ADDR,
# RAMPSIDE_DATA and the other settings are honoured. It may be run again: what
# is there is kept.
set -euo pipefail
top=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$top/deploy/lib.sh"

install_missing
cd "$top"
bundle

say "Building the server (the first time fetches its Go modules)"
mkdir -p bin
tool go build -v -o bin/rampside ./cmd/rampside

say "The demo garage"
# A garage of your own in the data folder is left alone and served as it is.
bin/rampside demo

say "Starting"
exec bin/rampside serve
