#!/usr/bin/env bash
# Installs what the tests need on a Debian machine with Rust, then runs all of them.
set -euo pipefail
cd "$(dirname "$0")/.."
started=$SECONDS

step() { printf '\n== %s (%d s so far)\n' "$1" "$((SECONDS - started))"; }

need() { # need COMMAND PACKAGE...
  command -v "$1" >/dev/null 2>&1 && return
  local as_root=""
  [ "$(id -u)" = 0 ] || as_root=sudo
  if [ -z "${updated:-}" ]; then $as_root apt-get update -qq; updated=yes; fi
  DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -qq --no-install-recommends "${@:2}" >/dev/null
}

step "what the tests need"
need cc gcc libc6-dev
need sqlite3 sqlite3
need chromium chromium fonts-dejavu-core
need pdftotext poppler-utils
need faketime faketime
need node nodejs npm
need npm npm

step "formatting"
cargo fmt --check

step "the checked query data is that of the migrations"
bash tests/prepare-sql.sh
if [ -n "$(git status --porcelain .sqlx 2>/dev/null)" ]; then
  git status --short .sqlx
  echo "Run tests/prepare-sql.sh and commit .sqlx."
  exit 1
fi
# From here on as in a clean clone: no database at hand.
export SQLX_OFFLINE=true
unset DATABASE_URL

step "lints"
cargo clippy -q --all-targets -- -D warnings

step "documentation builds without a warning"
RUSTDOCFLAGS="-D warnings" cargo doc -q --no-deps

step "unit, doc and reference tests, and stories over HTTP"
cargo test -q --no-fail-fast

step "fuzz smoke: whatever is typed, pasted or sent as a line, nothing panics"
PROPTEST_CASES=20000 cargo test -q --lib -- no_text_panics near_numbers_never_panic any_text_is_read \
  any_text_is_answered any_json_is_answered a_spoilt_line no_line_breaks numbers_in_range

step "journeys in a real browser"
cargo build -q
(cd tests/browser && npm ci --silent --no-audit --no-fund && node --test --test-concurrency=1 .)
