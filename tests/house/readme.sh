#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# readme.sh PROGRAM SOURCE [write]: the README's example is what the program says.  With `write` the README is brought up
# to date instead: sh tests/house/readme.sh build-plain/cli/spurity . write
set -eu
program=$(realpath "$1")
cd "$2"
what=${3:-compare}
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT
export LC_ALL=C.UTF-8 NO_COLOR=1
unset COLUMNS

command=$(sed -n 's/^\$ spurity //p' README.md)
case "$command" in
check\ *) ;;
*)
    echo "no example in README.md"
    exit 1
    ;;
esac
# The command holds plain words only.
# shellcheck disable=SC2086
"$program" $command >"$place/now" || [ $? -le 3 ]
sed -n '/^\$ spurity /,/^```$/p' README.md | sed '1d;$d' >"$place/told"
if [ "$what" = write ]; then
    awk -v now="$place/now" '
        /^\$ spurity / {
            print
            while ((getline row < now) > 0)
                print row
            skip = 1
            next
        }
        /^```$/ { skip = 0 }
        !skip' README.md >"$place/README.md"
    cat "$place/README.md" >README.md
else
    diff -u "$place/told" "$place/now" || {
        echo "README.md: the example is not what the program says; see tests/house/readme.sh"
        exit 1
    }
fi
