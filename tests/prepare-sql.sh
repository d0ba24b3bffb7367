#!/usr/bin/env bash
# Writes the checked query data in .sqlx afresh, so that a clean clone builds without a database.
set -euo pipefail
cd "$(dirname "$0")/.."
mkdir -p target .sqlx
rm -f target/schema.db*
for step in migrations/*.sql; do sqlite3 target/schema.db < "$step"; done
rm -f .sqlx/query-*.json
# Touching a source file makes cargo run the macros again.
touch src/lib.rs
DATABASE_URL="sqlite:$PWD/target/schema.db" SQLX_OFFLINE_DIR="$PWD/.sqlx" cargo check -q --all-targets
