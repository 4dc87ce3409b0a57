#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# symbols.sh SHARED STATIC: what leaves the library, what it calls, what it keeps.
# - the shared library exports only spurity_*, the static archive has no other external name either;
# - nothing in it prints, exits, aborts, or reads the environment;
# - no writable state of its own but the mutex around FFTW's planner (lib/spectrum/planner.c).
set -u
shared=$1
static=$2
failed=0

tell()
{
    [ -n "$2" ] || return 0
    printf '%s:\n%s\n' "$1" "$2"
    failed=1
}

exported=$(nm -D --defined-only "$shared" | awk '{print $3}')
[ "$(printf '%s\n' "$exported" | grep -c '^spurity_')" -ge 50 ] || tell "too few exports, is the library whole?" "$exported"
tell "exported from the shared library" "$(printf '%s\n' "$exported" | grep -v '^spurity_')"

external=$(nm -g --defined-only "$static" 2>/dev/null | awk 'NF == 3 {print $3}')
# Instrumented builds add names of their own (__odr_asan and the like).
tell "external in the archive" "$(printf '%s\n' "$external" | grep -v -e '^spurity_' -e '^__odr_asan[._]' -e '^__asan_')"

called=$(nm -u "$static" 2>/dev/null | awk '$1 == "U" {print $2}' | sort -u)
printf '%s\n' "$called" | grep -qx malloc || tell "no call of malloc seen, is the check inert?" "$called"
tell "calls what a library must not" "$(printf '%s\n' "$called" | grep -xE \
    '(__)?v?printf(_chk)?|puts|putchar|perror|psignal|stdout|stderr|exit|quick_exit|abort|__assert_fail|err|errx|warn|warnx|(secure_)?getenv|setenv|putenv|setlocale|signal|system|popen|chdir|srand|rand|strtok|gets')"

kept=$(objdump -t "$static" | awk '$0 ~ / (\.data|\.bss|\.tdata|\.tbss)(\.[A-Za-z0-9_]+)*\t/ && $0 !~ /\.data\.rel\.ro/ &&
    $0 !~ /\.data\.rel\.local/ && $NF !~ /^\.(data|bss)/ {print $NF}' | grep -v -e '^__odr_asan' -e '^\.L' -e '^__asan' -e '^planner$')
tell "writable state in the library" "$kept"

[ $failed -eq 0 ] && printf '%s names, all spurity_\n' "$(printf '%s\n' "$exported" | wc -l)"
exit $failed
