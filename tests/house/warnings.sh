#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# warnings.sh PAGE LIB: every warning code and every reason for "not shown" in the library has its row in the page, and
# no row is of a word that the library does not know.  Then the same must fail for a page that lacks a row.
set -eu
page=$1
lib=$2
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT

# Words with a hyphen in these stages that are no reason: kinds, characters, names of detectors and the like.
others='close-in noise-like max-hold log-average two-port us-amateur'

codes()
{
    sed -n 's/^ *\[SPURITY_NOTE_[A-Z_]*\] = "\([a-z-]*\)",$/\1/p' "$lib/error/notes.c" | sort -u
}

reasons()
{
    {
        find "$lib/chain" "$lib/emission" "$lib/measurement" "$lib/verdict" -name '*.c' -exec cat {} + |
            grep -v '^#include' | sed 's/"[^"]*\\"[^"]*"//g' | grep -oE '"[a-z]+(-[a-z]+)+"' | tr -d '"'
        find "$lib" -name '*.c' -exec cat {} + | tr -s ' \n' ' ' |
            grep -oE '(reason = |CAUSE_[A-Z]*\] = |[a-z] \? |[a-z] : )"[a-z-]+"|_(hole|not_shown)\([^";]*"[a-z-]+"' |
            grep -E 'reason|CAUSE|hole|not_shown' | sed 's/.*"\([a-z-]*\)"$/\1/'
    } | sort -u | while read -r word; do
        case " $others " in
        *" $word "*) ;;
        *) echo "$word" ;;
        esac
    done
}

# rows PAGE HEADING: the words that begin the rows under it.
rows()
{
    awk -v heading="## $2" '$0 == heading { on = 1; next } /^## / { on = 0 }
        on && /^\| `/ { sub(/^\| `/, ""); sub(/`.*/, ""); print }' "$1" | sort
}

check()
{
    rows "$1" 'Warning codes' >"$place/code-rows"
    rows "$1" 'Reasons for not shown' >"$place/reason-rows"
    bad=0
    for word in $(comm -23 "$place/codes" "$place/code-rows"); do
        echo "warning code $word has no row"
        bad=1
    done
    for word in $(comm -13 "$place/codes" "$place/code-rows"); do
        echo "the row of warning code $word is of no code"
        bad=1
    done
    for word in $(comm -23 "$place/reasons" "$place/reason-rows"); do
        echo "'$word' looks like a reason and has no row"
        bad=1
    done
    for word in $(comm -13 "$place/reasons" "$place/reason-rows"); do
        echo "the row of reason $word is of nothing the library says"
        bad=1
    done
    return $bad
}

codes >"$place/codes"
reasons >"$place/reasons"
[ "$(wc -l <"$place/codes")" -ge 29 ] && [ "$(wc -l <"$place/reasons")" -ge 15 ] || {
    echo "the words of the library were not found: the check is inert"
    exit 2
}
check "$page"
for word in rbw-unknown not-swept hidden receiver-artefact; do
    grep -v "^| \`$word\`" "$page" >"$place/page.md"
    if check "$place/page.md" >/dev/null; then
        echo "a page without $word passes: the check is inert"
        exit 2
    fi
done
echo "$(wc -l <"$place/codes") codes, $(wc -l <"$place/reasons") reasons"
