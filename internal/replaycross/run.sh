#!/bin/sh
# Holds our reader against an independent one: run.sh PROGRAM.nc …
# Without arguments: the golden programs of the writer.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
[ $# -gt 0 ] || set -- "$root"/pkg/rs274/testdata/golden/*.nc "$here"/testdata/*.nc
[ -d "$here/node_modules/gcode-toolpath" ] ||
	npm ci --prefix "$here" --ignore-scripts --no-audit --no-fund --silent
dump=$(mktemp)
trap 'rm -f "$dump"' EXIT
go run -C "$root" ./internal/replaycross $(for f; do realpath "$f"; done) >"$dump"
node "$here/replay.mjs" <"$dump"
