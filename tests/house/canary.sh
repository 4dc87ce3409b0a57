#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# canary.sh WORDS COMMAND...: the command must fail and say WORDS.  A tool that lets its canary live is inert.
set -u
words=$1
shift
if told=$("$@" 2>&1); then
    printf 'came through: %s\n%s\n' "$*" "$told"
    exit 1
fi
case "$told" in
*"$words"*)
    printf 'noticed: %s\n' "$words"
    ;;
*)
    printf 'failed, but without "%s":\n%s\n' "$words" "$told"
    exit 1
    ;;
esac
