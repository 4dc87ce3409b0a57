#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# headers.sh LIB CC CXX: each public header compiles alone, twice in one file, as C11 and as C++, without a warning.
# The installed layout is one folder deeper; the relative includes are the same.
set -u
lib=$1
cc=$2
cxx=$3
failed=0
count=0
strict='-Wall -Wextra -Wpedantic -Wshadow -Wconversion -Werror -fsyntax-only'
for header in "$lib"/spurity.h "$lib"/*/*.h; do
    stage=$(basename "$(dirname "$header")")
    name=$(basename "$header")
    case "$name" in
    spurity.h | "$stage.h") ;;
    *) continue ;; # a room behind the door
    esac
    count=$((count + 1))
    text="#include \"$header\"
#include \"$header\"
int spurity_alone;"
    printf '%s\n' "$text" | $cc -std=c11 $strict -x c - || {
        echo "not alone as C: $header"
        failed=1
    }
    [ "$cxx" = none ] && continue
    printf '%s\n' "$text" | $cxx -std=c++11 $strict -x c++ - || {
        echo "not alone as C++: $header"
        failed=1
    }
done
echo "$count headers"
[ "$count" -ge 13 ] || failed=1
exit $failed
