#!/bin/sh
# SPDX-License-Identifier: GPL-2.0-or-later
# faults.sh PROGRAM FAULTS SHIM SOURCE [some]: what the program makes of a machine that fails under it.
#
# 1 every allocation fails, once, and in another run with all after it (some: a few of them, for sanitized builds)
# 2 every call of the system fails
# 3 reads and writes come short or interrupted
# 4 no output may grow beyond a size, a full disk, standard output full, closed, or its reader gone
# FAULTS is faults.c and SHIM fault_shim.c, both built.  By hand: any command line after `FAULTS SHIM memory`.
set -u
program=$(realpath "$1") faults=$(realpath "$2") shim=$(realpath "$3") traces=$(realpath "$4/traces") which=${5:-every}
LC_ALL=C.UTF-8
XDG_CACHE_HOME=/nonexistent # plans of transforms kept between runs would make them unlike
MALLOC_PERTURB_=165         # freed and fresh memory holds no zeros
ASAN_OPTIONS=${ASAN_OPTIONS:+$ASAN_OPTIONS:}verify_asan_link_order=0:detect_leaks=1
export LC_ALL XDG_CACHE_HOME MALLOC_PERTURB_ ASAN_OPTIONS
unset NO_COLOR
work=$(mktemp -d) || exit 1
mounted=
trap '[ -z "$mounted" ] || umount "$mounted"; rm -rf "$work"' EXIT
trap 'exit 130' INT TERM
cd "$work" || exit 1
failed=0

wrong()
{
    printf 'WRONG: %s\n' "$*"
    failed=1
}

hand_held="$traces/hand-held-2-wide.csv $traces/hand-held-2-near.csv --pad 40dB,0.5dB,6G"
show="show $traces/hand-held-1-wide.csv"
measure="measure $traces/hand-held-1-near.csv --pad 40dB --json o.json"
check="check $hand_held --rules us-amateur --json o.json --plot o.svg"
check_dry="check $hand_held --rules us-amateur --json o.json"
rules="rules us-amateur --carrier 146.94M --power 5W --at 293.88M,+12.5k --json o.json"
plan="plan --carrier 146.94M --power 5W --rules us-amateur --max-input 0dBm --noise -100dBm/10k --pad 60dB,0.3dB,6G,50W \
--session o.yaml --json o.json"
capture="measure $traces/personal-radio-bursts.sigmf-meta,full-scale=-15dBm --rbw 1k --pad 60dB --threads 1 --reproducible \
--json o.json"

# meet KIND STEP 'COMMAND LINE'
meet()
{
    kind=$1 step=$2
    shift 2
    # shellcheck disable=SC2086 # a line of words on purpose
    if "$faults" "$shim" "$kind" "every=$step" "$program" $1 >told 2>&1; then
        printf '%s, %s: %s\n' "$kind" "${1%% *}" "$(tail -n 1 told)"
    else
        cat told
        wrong "$kind, step $step: spurity $1"
    fi
}

if [ "$which" = some ]; then
    meet memory 5 "$show"
    meet memory 23 "$measure"
    meet memory 467 "$check_dry"
    meet memory 853 "$rules"
    meet memory 853 "$plan"
    meet memory 101 "$capture"
    meet calls 1 "$measure"
    meet calls 3 "$plan"
else
    for line in "$show" "$measure" "$check" "$rules" "$plan" "$capture"; do
        meet memory 1 "$line"
        meet calls 1 "$line"
    done
fi
for line in "$show" "$measure" "$check" "$plan" "$capture"; do
    meet short 1 "$line"
done

# ---- where results go ------------------------------------------------------------------------------

# told STATUS WORDS...: it was 4, and standard error (err) says why in the program's own words.
told()
{
    status=$1
    shift
    [ "$status" -eq 4 ] || wrong "status $status, not 4: $*"
    head -n 1 err | grep -q '^spurity: ' || wrong "no message of the program's own: $*"
}

# whole FOLDER WORDS...: no file in FOLDER but as in whole/; what is not there is fine.
whole()
{
    folder=$1
    shift
    for file in "$folder"/* "$folder"/.[!.]*; do
        [ -e "$file" ] || continue
        cmp -s "$file" "whole/${file##*/}" || wrong "'${file##*/}' is neither whole nor absent: $*"
    done
}

# under FOLDER COMMAND...: runs it there, standard output to its file `text` beside, standard error to err.
under()
{
    folder=$1
    shift
    (
        cd "$folder" || exit 125
        exec "$@"
    ) >text 2>err
}

mkdir whole small
everything="$check"
# shellcheck disable=SC2086 # lines of words on purpose
{
    under whole "$program" $everything
    cp text whole.text
    under whole "$program" $plan
}
[ -s whole/o.json ] && [ -s whole/o.svg ] && [ -s whole/o.yaml ] || wrong "no outputs to compare with"
rm -f whole/o.json

# Nothing may grow beyond a size: the write that would is short, the next one fails (getrlimit(2), RLIMIT_FSIZE, in blocks
# of 512 bytes).  The least leaves room for the message, which goes into a file too.
limited()
{
    name=$1 size=$2 line=$3
    rm -rf small
    mkdir small
    (
        cd small || exit 125
        ulimit -f "$size"
        # shellcheck disable=SC2086
        exec "$program" $line >text 2>../err
    )
    status=$?
    [ $status -ge 4 ] || return 0
    told $status "$name with $size blocks"
    rm -f small/text
    whole small "$name with $size blocks"
}

for line in "$check" "$plan"; do
    rm -f whole/o.json
    # shellcheck disable=SC2086
    under whole "$program" $line
    met=0
    blocks=0
    status=4
    while [ $status -eq 4 ] && [ $blocks -lt 65536 ]; do
        blocks=$((blocks * 2 + 1))
        limited "a size limit, ${line%% *}" $blocks "$line"
        [ $status -ne 4 ] || met=$((met + 1))
    done
    [ $met -gt 2 ] || wrong "no size limit was met: ${line%% *}"
    [ $status -ne 4 ] || wrong "the largest size is too small: ${line%% *}"
    printf 'size limit, %s: %d sizes met\n' "${line%% *}" $met
done

# A disk that is full before, while, or just after the files are written.
disk_full()
{
    for kilobytes in 0 8 24 40 64 96; do
        rm -rf disk/*
        dd if=/dev/zero of=disk/filler bs=1024 count=$((160 - kilobytes)) 2>/dev/null
        # shellcheck disable=SC2086
        under disk "$program" $1
        status=$?
        rm -f disk/filler
        [ $status -ge 4 ] || continue
        met=$((met + 1))
        told $status "a full disk, $kilobytes KiB free: $1"
        whole disk "a full disk, $kilobytes KiB free: $1"
    done
}

mkdir disk
if [ "$(id -u)" -eq 0 ] && mount -t tmpfs -o size=160k tmpfs disk 2>/dev/null; then
    mounted=$work/disk
    for line in "$check" "$plan"; do
        rm -f whole/o.json
        # shellcheck disable=SC2086
        under whole "$program" $line
        met=0
        disk_full "$line"
        [ $met -gt 1 ] || wrong "no full disk was met: $line"
        printf 'full disk, %s: %d fillings met\n' "${line%% *}" $met
    done
    umount disk && mounted=
else
    printf 'SKIPPED: a full disk: no small file system can be mounted here\n'
fi

# Every output by name and by "-", standard output full, closed, its reader gone.
into()
{
    # shellcheck disable=SC2086
    "$program" $1 >/dev/full 2>err
    told $? "standard output full: $1"
    # shellcheck disable=SC2086
    "$program" $1 >&- 2>err
    told $? "standard output closed: $1"
    # shellcheck disable=SC2086
    {
        (
            sleep 0.2
            "$program" $1 2>err
            echo $? >status
        ) | :
    }
    while [ ! -s status ]; do sleep 0.05; done
    status=$(cat status)
    rm -f status
    [ "$status" -eq 4 ] || wrong "status $status, not 4: the reader is gone: $1"
}

mkdir out
for line in "$show" "measure $hand_held" "check $hand_held --rules us-amateur" "check $hand_held --rules us-amateur --json -" \
    "check $hand_held --rules us-amateur --plot -" "rules us-amateur" "rules us-amateur --carrier 146.94M --power 5W" \
    "rules us-amateur --carrier 146.94M --power 5W --at 293.88M --json -" \
    "${plan%% --session*}" "${plan%% --session*} --json -" "${plan%% --session*} --session -"; do
    into "$line"
done
for line in "$measure" "$check" "$plan"; do
    for output in o.json o.svg o.yaml; do
        case $line in *$output*) ;; *) continue ;; esac
        rm -rf out/*
        ln -s /dev/full out/$output
        # shellcheck disable=SC2086
        under out "$program" $line
        told $? "$output to /dev/full: $line"
    done
done
printf 'standard output full, closed, without a reader; outputs to /dev/full\n'

[ $failed -eq 0 ]
