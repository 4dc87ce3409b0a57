#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# readme.sh PROGRAM SOURCE [write]: the README's examples are what the program says.  With `write` the README is brought up
# to date instead: sh tests/house/readme.sh build-plain/cli/spurity . write
# Of a long answer the beginning may do: "$ spurity plan ... # the first 30 lines".
set -eu
program=$(realpath "$1")
cd "$2"
what=${3:-compare}
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT
export LC_ALL=C.UTF-8 NO_COLOR=1
unset COLUMNS

count=$(grep -c '^\$ spurity ' README.md) || {
    echo "no example in README.md"
    exit 1
}
for number in $(seq "$count"); do
    command=$(sed -n 's/^\$ spurity //p' README.md | sed -n "${number}p")
    most=$(echo "$command" | sed -n 's/.* # the first \([0-9]*\) lines$/\1/p')
    # The command holds plain words only.
    # shellcheck disable=SC2086
    "$program" ${command%% \#*} >"$place/whole" || [ $? -le 3 ]
    head -n "${most:-9999}" "$place/whole" >"$place/now-$number"
done
awk -v place="$place" '
    /^\$ spurity / {
        print
        now = place "/now-" ++number
        while ((getline row < now) > 0)
            print row
        skip = 1
        next
    }
    /^```$/ { skip = 0 }
    !skip' README.md >"$place/README.md"
if [ "$what" = write ]; then
    cat "$place/README.md" >README.md
else
    diff -u README.md "$place/README.md" || {
        echo "README.md: an example is not what the program says; see tests/house/readme.sh"
        exit 1
    }
fi
