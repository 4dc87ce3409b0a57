#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# includes.sh TABLE LIB: every #include "..." of a stage leads into the stage itself or through the door (lib/X/X.h) of a
# stage the table allows it, transitively, or to a helper of the row "also", which no door may include.  Prints each
# offence; exits 1 if there is one.
set -eu
table=$1
lib=$2
cd "$lib"
grep -rnE '^[[:space:]]*#[[:space:]]*include[[:space:]]*"' --include='*.[ch]' . | awk -v table="$table" '
function allowed(stage, other,    i, n, list) {
    if ((stage, other) in known)
        return known[stage, other]
    known[stage, other] = 0
    n = split(may[stage], list, " ")
    for (i = 1; i <= n; i++)
        if (list[i] == other || allowed(list[i], other)) {
            known[stage, other] = 1
            return 1
        }
    return 0
}
# "./units/../error/error.h" -> "error/error.h"
function flat(path,    i, n, part, kept, out) {
    n = split(path, part, "/")
    kept = 0
    for (i = 1; i <= n; i++) {
        if (part[i] == "." || part[i] == "")
            continue
        if (part[i] == ".." && kept > 0 && out[kept] != "..")
            kept--
        else
            out[++kept] = part[i]
    }
    path = out[1]
    for (i = 2; i <= kept; i++)
        path = path "/" out[i]
    return path
}
function bad(why) {
    printf "%s:%s: %s: %s\n", file, line, target, why
    offences++
}
BEGIN {
    while ((getline row < table) > 0) {
        if (row ~ /^#/ || row !~ /:/)
            continue
        stage = row
        sub(/:.*/, "", stage)
        sub(/^[^:]*:/, "", row)
        if (stage == "also") {
            helpers = row " "
            continue
        }
        may[stage] = row
        stages++
    }
    if (!stages) {
        print "no stage in " table
        exit 2
    }
}
{
    split($0, field, ":")
    file = field[1]
    line = field[2]
    target = $0
    sub(/^[^"]*"/, "", target)
    sub(/".*/, "", target)
    checked++
    here = flat(file)
    if (here !~ /\//) # the umbrella header opens every door and embed.c none
        next
    stage = here
    sub(/\/.*/, "", stage)
    if (!(stage in may)) {
        bad("stage " stage " stands in no row of the table")
        next
    }
    folder = file
    sub(/[^\/]*$/, "", folder)
    reached = flat(folder target)
    other = reached
    if (other !~ /\//)
        bad("leads out of the stages")
    else {
        sub(/\/.*/, "", other)
        if (other == stage)
            next
        if (!(other in may))
            bad("leads into no stage of the table")
        else if (!allowed(stage, other))
            bad("stage " stage " may not include " other)
        else if (index(helpers, " " reached " ")) {
            if (here == stage "/" stage ".h")
                bad("a door is installed, " reached " is not")
        } else if (reached != other "/" other ".h")
            bad("the door of " other " is " other "/" other ".h")
    }
}
END {
    if (!checked) {
        print "no #include found: the check is inert"
        exit 2
    }
    printf "%d includes, %d against the table\n", checked, offences
    exit offences > 0
}'
