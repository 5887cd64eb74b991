# What run.sh and test.sh share. Sourced by bash, with $top set.

say() { printf '\n== %s\n' "$*"; }
die() { printf '\n%s: %s\n' "$(basename "$0")" "$*" >&2; exit 1; }

# Go, where its own installer and the distributions put it.
export PATH="${PATH:-/usr/bin:/bin}:/usr/local/go/bin:/usr/lib/go/bin:/usr/local/bin:/usr/local/sbin:/usr/sbin:/sbin:/usr/bin:/bin"

# The build tools keep caches in the home folder. A service user may have none
# that can be written to; then they get one under the temporary folder. The
# server itself sees the environment as it was.
build_home() {
	local home=${HOME:-}
	[ -n "$home" ] || home=$(getent passwd "$(id -u)" | cut -d: -f6) || true
	if [ ! -d "$home" ] || [ ! -w "$home" ]; then
		home=${TMPDIR:-/tmp}/rampside-build-$(id -u)
		mkdir -p -m 700 "$home"
		[ -O "$home" ] || die "$home belongs to somebody else; remove it, or set HOME"
	fi
	printf '%s\n' "$home"
}

# A clone that belongs to somebody else makes git refuse to tell its version.
export GOFLAGS="-buildvcs=false ${GOFLAGS:-}"

tool() { env HOME="$tool_home" npm_config_update_notifier=false "$@"; }

have() { command -v "$1" >/dev/null 2>&1; }

# A PostgreSQL server of version 15 or newer, where the program looks for it.
have_postgres() {
	local bin version
	for bin in /usr/lib/postgresql/*/bin/postgres /usr/pgsql-*/bin/postgres /usr/local/pgsql/bin/postgres \
		/usr/lib/postgresql*/bin/postgres /usr/libexec/postgresql*/postgres "$(command -v postgres || true)"; do
		[ -x "$bin" ] || continue
		version=$("$bin" --version | sed -n 's/.*(PostgreSQL) \([0-9]*\).*/\1/p')
		[ "${version:-0}" -ge 15 ] && return 0
	done
	return 1
}

have_browser() { have chromium || have chromium-browser || have google-chrome; }

have_fonts() { [ -n "$(find /usr/share/fonts /usr/local/share/fonts -name '*.[to]t[fc]' -print -quit 2>/dev/null)" ]; }

# Go 1.21 and newer fetch by themselves the version that go.mod asks for.
have_go() {
	local minor
	have go || return 1
	minor=$(cd / && tool go version | sed -n 's/.* go1\.\([0-9]*\).*/\1/p')
	[ "${minor:-0}" -ge 21 ]
}

# install_missing adds what is not there: names of checks and the packages that
# satisfy them. Only root can; others are told what to ask for.
install_missing() {
	local missing=()
	[ -n "${DATABASE_URL:-}" ] || have_postgres || missing+=(postgresql)
	have node || missing+=(nodejs)
	have npm || missing+=(npm)
	have_go || missing+=(golang-go)
	if [ "${1:-}" = tests ]; then
		have_browser || missing+=(chromium)
		have_fonts || missing+=(fonts-dejavu-core)
		have gcc || missing+=(gcc libc6-dev) # the race detector needs it
	fi
	[ ${#missing[@]} -gt 0 ] || return 0
	say "Missing on this machine: ${missing[*]}"
	have apt-get || die "install them with your system's package manager, then run this again"
	[ "$(id -u)" = 0 ] || die "ask root to run: apt-get install -y ${missing[*]}"
	# Debian starts a database of its own beside its server package. Nobody
	# asked for one; a machine that has the package already is left as it is.
	if [ ! -e /etc/postgresql-common ]; then
		mkdir -p /etc/postgresql-common
		echo 'create_main_cluster = false' >/etc/postgresql-common/createcluster.conf
	fi
	export DEBIAN_FRONTEND=noninteractive
	apt-get update
	apt-get install -y --no-install-recommends \
		-o DPkg::Lock::Timeout=300 -o Dpkg::Options::=--force-confold "${missing[@]}"
	[ -n "${DATABASE_URL:-}" ] || have_postgres ||
		die "this system's PostgreSQL is older than 15; install a newer one, or set DATABASE_URL"
	have_go || die "this system's Go is too old; install Go 1.21 or newer (https://go.dev/doc/install)"
}

bundle() {
	say "Building what the browser gets"
	tool sh "$top/web/assets/build.sh"
}

tool_home=$(build_home)
