/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_MODULATED_H
#define SPURITY_TESTS_MODULATED_H
/* Sweeps of modulated sets as lines, and what a verdict says of them. */
#include "sweep.h"

enum { MODULATED_LINES = 64 };

struct modulated {
    struct sweep_line lines[MODULATED_LINES];
    struct sweep sweep;
};

static inline void modulated_add(struct modulated *set, double hz, double dbm)
{
    assert_true(set->sweep.line_count < MODULATED_LINES);
    set->lines[set->sweep.line_count++] = (struct sweep_line){hz, dbm};
}

/* A sweep of span_hz about the carrier, points a third of an RBW apart, its floor 100 dB under dbm. */
static inline struct sweep modulated_sweep(double carrier_hz, double dbm, double span_hz, double rbw_hz)
{
    int points = 2 * (int)ceil(span_hz / 2 / (rbw_hz / 3)) + 1;
    double half = (points - 1) / 2 * (rbw_hz / 3);
    return (struct sweep){.start_hz = carrier_hz - half,
                          .stop_hz = carrier_hz + half,
                          .rbw_hz = rbw_hz,
                          .points = points,
                          .floor_dbm = dbm - 100,
                          .averages = 64};
}

/* The mask row nearest to its limit (or furthest over it), rows of 0 dB left out; NULL when there is none. */
static inline const spurity_judgement *modulated_worst(const struct bench *bench, const char *quantity)
{
    const spurity_judgement *worst = NULL;
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench->verdict); i++) {
        const spurity_judgement *one = spurity_verdict_judgement(bench->verdict, i);
        if (strcmp(one->quantity, quantity) || isnan(one->margin) || (one->limit > -0.01 && one->limit < 0.01))
            continue;
        if (!worst || one->margin < worst->margin)
            worst = one;
    }
    return worst;
}

static inline bool modulated_lacks(const struct bench *bench, const char *reason, const char *words)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(bench->verdict, i);
        if (!strcmp(one->reason, reason) && (!words || strstr(one->advice, words)))
            return true;
    }
    return false;
}
#endif
