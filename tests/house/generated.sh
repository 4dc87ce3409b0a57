#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# generated.sh GENERATE TRACES: the committed demo sweeps and captures are what their generator makes, byte for byte.
set -eu
generate=$1
traces=$2
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT
"$generate" "$place"
count=0
for made in "$place"/*; do
    cmp "$made" "$traces/$(basename "$made")"
    count=$((count + 1))
    [ "$(wc -c <"$made")" -lt 300000 ] || {
        echo "too large to commit: $made"
        exit 1
    }
done
[ "$count" -ge 25 ]
for kept in "$traces"/*.csv "$traces"/*.txt "$traces"/*.sigmf-*; do
    [ -f "$place/$(basename "$kept")" ] || {
        echo "not the generator's: $kept"
        exit 1
    }
done
echo "$count files"
