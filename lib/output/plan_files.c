/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Names for the files of a plan, made of what each is for. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

/* What a sweep and a capture have in common here. */
typedef struct wanted {
    spurity_plan_purpose purpose;
    double hz; /* its middle */
} wanted;

static bool wanted_at(const spurity_plan *plan, bool capture, size_t index, wanted *one)
{
    const spurity_plan_sweep *sweep = capture ? NULL : spurity_plan_sweep_at(plan, index);
    const spurity_plan_capture *taken = capture ? spurity_plan_capture_at(plan, index) : NULL;
    if (sweep)
        *one = (wanted){sweep->purpose, (sweep->start_hz + sweep->stop_hz) / 2};
    else if (taken)
        *one = (wanted){taken->purpose, (taken->from_hz + taken->to_hz) / 2};
    return sweep || taken;
}

/* Without number and suffix: "range", "harmonic-3". */
static bool base_name(const spurity_plan *plan, bool capture, size_t index, char *text, size_t size)
{
    static const char *const names[] = {
        [SPURITY_PLAN_CARRIER] = "carrier", [SPURITY_PLAN_RANGE] = "range",     [SPURITY_PLAN_HARMONIC] = "harmonic",
        [SPURITY_PLAN_MASK] = "mask",       [SPURITY_PLAN_LEAKAGE] = "leakage", [SPURITY_PLAN_AMBIENT] = "ambient"};
    spurity_plan_figures figures;
    wanted one;
    if (!wanted_at(plan, capture, index, &one))
        return false;
    size_t purpose = (size_t)one.purpose;
    snprintf(text, size, "%s", purpose < sizeof names / sizeof *names ? names[purpose] : "sweep");
    spurity_plan_figures_of(plan, &figures);
    double order = one.hz / figures.carrier_hz;
    if (one.purpose == SPURITY_PLAN_HARMONIC && order >= 0.5 && order < 1000)
        snprintf(text, size, "harmonic-%ld", lround(order));
    return true;
}

char *spurity_output_plan_file(const spurity_plan *plan, bool capture, size_t index, char *text, size_t size)
{
    char base[32], other[32], number[32] = "";
    size_t before = 0, all = 0;
    text[0] = '\0';
    if (!base_name(plan, capture, index, base, sizeof base))
        return text;
    for (size_t i = 0; base_name(plan, capture, i, other, sizeof other); i++)
        if (!strcmp(base, other)) {
            all++;
            before += i < index;
        }
    if (!strcmp(base, "range") || all > 1)
        snprintf(number, sizeof number, "-%zu", before + 1);
    /* "harmonic-3-2" would read as a range of harmonics */
    if (number[0] && !strncmp(base, "harmonic", 8))
        snprintf(number, sizeof number, "%c", (char)('a' + (before < 26 ? before : 25)));
    snprintf(text, size, "%s%s.%s", base, number, capture ? "sigmf-meta" : "csv");
    return text;
}
