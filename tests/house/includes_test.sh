#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# The include table holds for lib/, and the check notices each kind of offence.
set -eu
here=$1
lib=$2
sh "$here/includes.sh" "$here/stages.txt" "$lib"

room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT
# offence WORDS FILE INCLUDE: a tree with this one line must be refused, with these words.
offence()
{
    rm -rf "${room:?}/lib"
    mkdir -p "$room/lib/error" "$room/lib/units" "$room/lib/rules" "$room/lib/verdict"
    mkdir -p "$room/lib/$(dirname "$2")"
    printf '#include "%s"\n' "$3" >"$room/lib/$2"
    if told=$(sh "$here/includes.sh" "$here/stages.txt" "$room/lib"); then
        printf 'not noticed: %s includes %s\n' "$2" "$3"
        exit 1
    fi
    case "$told" in
    *"$1"*) ;;
    *)
        printf 'refused for another reason: %s\n' "$told"
        exit 1
        ;;
    esac
}
offence 'may not include rules' units/units.c ../rules/rules.h
offence 'may not include verdict' rules/clause.c ../verdict/verdict.h
offence 'may not include rules' emission/emission.h ../rules/rules.h
offence 'the door of error' rules/clause.c ../error/inside.h
offence 'a door is installed' rules/rules.h ../error/grow.h
offence 'stands in no row' attic/attic.c ../error/error.h
offence 'into no stage' units/units.c ../attic/attic.h
offence 'into no stage' units/units.c ../../cli/cli.h
offence 'out of the stages' units/units.c ../spurity.h
