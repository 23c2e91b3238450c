#!/bin/sh
# Holds package drawing against two independent DXF readers, reading and
# writing: run.sh [DRAWING.dxf …]. Without arguments: the corpus that
# SPARCLEAR_CORPUS names, and the drawings beside this script.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
if [ $# -eq 0 ]; then
	set -- "$here"/testdata/*.dxf
	if [ -n "${SPARCLEAR_CORPUS:-}" ]; then
		set -- "$@" "$SPARCLEAR_CORPUS"/corpus/dxf/*.dxf
	fi
fi
[ -d "$here/node_modules/dxf-parser" ] ||
	npm ci --prefix "$here" --ignore-scripts --no-audit --no-fund --silent
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
go run -C "$root" ./internal/dxfcross -write "$tmp/layout.dxf" >"$tmp/written.json"
go run -C "$root" ./cmd/sparclear demo "$tmp/demo" >/dev/null 2>&1
for job in wing sheet; do
	go run -C "$root" ./internal/dxfcross -located "$tmp/demo/$job/job.toml" "$tmp/$job-located.dxf" >>"$tmp/written.json"
done
go run -C "$root" ./internal/dxfcross "$tmp/layout.dxf" "$tmp"/*-located.dxf $(for f; do realpath "$f"; done) >"$tmp/read.json"
cd "$here"
timeout 120 node compare.mjs "$tmp/written.json" "$tmp/read.json"
