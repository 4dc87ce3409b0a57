/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Names for the files of a plan, made of what each is for; what the command line that judges them takes for granted. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

/* What a name is made of; no two kinds give one name. */
typedef struct kind {
    spurity_plan_purpose purpose;
    long order; /* of a harmonic; else 0 */
} kind;

static bool kind_at(const spurity_plan *plan, double carrier_hz, bool capture, size_t index, kind *one)
{
    const spurity_plan_sweep *sweep = capture ? NULL : spurity_plan_sweep_at(plan, index);
    const spurity_plan_capture *taken = capture ? spurity_plan_capture_at(plan, index) : NULL;
    if (!sweep && !taken)
        return false;
    double middle_hz = sweep ? (sweep->start_hz + sweep->stop_hz) / 2 : (taken->from_hz + taken->to_hz) / 2;
    double order = middle_hz / carrier_hz;
    *one = (kind){.purpose = sweep ? sweep->purpose : taken->purpose};
    if (one->purpose == SPURITY_PLAN_HARMONIC && order >= 0.5 && order < 1000)
        one->order = lround(order);
    return true;
}

/* Which of how many of its kind a file is, from 0. */
static void count_kind(const spurity_plan *plan, double carrier_hz, bool capture, size_t index, size_t *before,
                       size_t *all)
{
    kind one = {0}, other;
    *before = *all = 0;
    kind_at(plan, carrier_hz, capture, index, &one);
    for (size_t i = 0; kind_at(plan, carrier_hz, capture, i, &other); i++)
        if (other.purpose == one.purpose && other.order == one.order) {
            ++*all;
            *before += i < index;
        }
}

/* a, b ... z, aa, ab ...: after a harmonic's order, where a second number would read as a range of harmonics. */
static void letters(size_t number, char *text, size_t size)
{
    char reversed[16];
    size_t used = 0;
    for (size_t left = number + 1; left && used < sizeof reversed; left = (left - 1) / 26)
        reversed[used++] = (char)('a' + (left - 1) % 26);
    size_t at = 0;
    while (used && at + 1 < size)
        text[at++] = reversed[--used];
    text[at] = '\0';
}

char *spurity_output_plan_file(const spurity_plan *plan, bool capture, size_t index, char *text, size_t size)
{
    static const char *const names[] = {
        [SPURITY_PLAN_CARRIER] = "carrier", [SPURITY_PLAN_RANGE] = "range",     [SPURITY_PLAN_HARMONIC] = "harmonic",
        [SPURITY_PLAN_MASK] = "mask",       [SPURITY_PLAN_LEAKAGE] = "leakage", [SPURITY_PLAN_AMBIENT] = "ambient"};
    const char *suffix = capture ? "sigmf-meta" : "csv";
    char which[32] = "";
    size_t before, all;
    spurity_plan_figures figures;
    kind one;
    spurity_plan_figures_of(plan, &figures);
    text[0] = '\0';
    if (!kind_at(plan, figures.carrier_hz, capture, index, &one))
        return text;
    count_kind(plan, figures.carrier_hz, capture, index, &before, &all);
    const char *name = (size_t)one.purpose < sizeof names / sizeof *names ? names[one.purpose] : "sweep";
    bool counted = all > 1 || one.purpose == SPURITY_PLAN_RANGE;
    if (one.order && all > 1)
        letters(before, which, sizeof which);
    else if (counted)
        snprintf(which, sizeof which, "-%zu", before + 1);
    if (one.order)
        snprintf(text, size, "%s-%ld%s.%s", name, one.order, which, suffix);
    else
        snprintf(text, size, "%s%s.%s", name, which, suffix);
    return text;
}

static bool is_filtered(const spurity_plan_report *report)
{
    for (size_t i = 0; i < report->check_count; i++)
        if (strstr(report->check[i], "filter-loss.csv"))
            return true;
    return false;
}

const char *spurity_output_plan_hint(const spurity_plan_report *report, size_t index)
{
    bool captures = report->check_count && spurity_plan_capture_count(report->plan) > 0;
    struct {
        bool holds;
        const char *words;
    } hints[] = {
        {report->check_count && !captures,
         "add --power with what a meter read, if one did; the power planned for is no reading"},
        {captures, "READING is to be filled in: the power a meter read with the set keyed; or put --full-scale in its "
                   "place, the receiver's, where it is known (also full-scale= after a name)"},
        {is_filtered(report), "filter-loss.csv is the filter's loss by frequency; without a filter leave it out, and "
                              "take the same again with 10 and 20 dB more pad"}};
    for (size_t i = 0; i < sizeof hints / sizeof *hints; i++)
        if (hints[i].holds && !index--)
            return hints[i].words;
    return NULL;
}
