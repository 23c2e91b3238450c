#!/bin/sh
# Holds our offset against a polygon library: run.sh [OUTLINE.txt …]. Without
# arguments: the outlines beside this script and, where SPARCLEAR_CORPUS is set,
# its offset cases.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
if [ $# -eq 0 ]; then
	set -- "$here"/testdata/outlines/*.txt
	if [ -n "${SPARCLEAR_CORPUS:-}" ]; then
		set -- "$@" "$SPARCLEAR_CORPUS"/corpus/offset-cases/*.txt
	fi
fi
[ -d "$here/node_modules/clipper2-wasm" ] ||
	npm ci --prefix "$here" --ignore-scripts --no-audit --no-fund --silent
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
go build -C "$root" -o "$tmp/offsetbench" ./internal/offsetbench
timeout 60 node "$here/compare.mjs" "$tmp/offsetbench" "$@"
