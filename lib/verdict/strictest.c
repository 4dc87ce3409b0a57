/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Over all rule sets: the strictest line of each emission, and what is so far inside that it need not be reported. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

/* "more than 20 dB below the permissible value need not be reported", in our words: 47 CFR 2.1057(c). */
static const double UNREPORTED_DB = 20.0;

static bool is_reportable(const spurity_judgement *one)
{
    bool shown = one->outcome == SPURITY_OUTCOME_PASS || one->outcome == SPURITY_OUTCOME_CONDITIONAL_PASS;
    return one->emission < 0 || !shown || !(one->margin > UNREPORTED_DB);
}

/* A figure of a judgement as a level; a ratio stands to the carrier's. */
static double limit_dbm(const spurity_judgement *one, const spurity_carrier *carrier)
{
    return strcmp(one->unit, "dBc") ? one->limit : carrier->level_dbm + one->limit;
}

/* Limits nearer than this, dB, are one and the same figure. */
static const double SAME_DB = 0.005;

static bool is_stricter(const spurity_judgement *a, const spurity_judgement *b, double a_dbm, double b_dbm, bool noise)
{
    if (!noise && isfinite(a_dbm) && isfinite(b_dbm) && fabs(a_dbm - b_dbm) > SAME_DB)
        return a_dbm < b_dbm;
    if (isfinite(a->margin) && isfinite(b->margin))
        return a->margin < b->margin;
    return isfinite(a->margin) && !isfinite(b->margin);
}

spurity_status spurity_verdict_compare_rules(spurity_verdict *v, const spurity_measurement *measurement,
                                             spurity_error *error)
{
    const spurity_carrier *carrier = spurity_measurement_carrier(measurement);
    v->emission_count = spurity_measurement_emission_count(measurement);
    v->strictest = calloc(v->emission_count + 1, sizeof *v->strictest);
    if (!v->strictest)
        return spurity_report_memory(error);
    for (size_t i = 0; i < v->emission_count; i++)
        v->strictest[i] = (struct strictest){.judgement = -1, .limit_dbm = (double)NAN};
    for (size_t i = 0; i < v->judgement_count; i++) {
        spurity_judgement *one = &v->judgements[i];
        one->reportable = is_reportable(one);
        if (one->emission < 0 || (size_t)one->emission >= v->emission_count || isnan(one->limit))
            continue;
        struct strictest *held = &v->strictest[one->emission];
        const spurity_emission *e = spurity_measurement_emission(measurement, (size_t)one->emission);
        double dbm = limit_dbm(one, carrier);
        if (held->judgement >= 0 && !is_stricter(one, &v->judgements[held->judgement], dbm, held->limit_dbm,
                                                 e->character == SPURITY_NOISE_LIKE))
            continue;
        *held = (struct strictest){.judgement = (long)i, .limit_dbm = dbm};
    }
    return SPURITY_OK;
}

bool spurity_verdict_strictest(const spurity_verdict *verdict, size_t emission, size_t *judgement, double *limit_dbm)
{
    if (emission >= verdict->emission_count || verdict->strictest[emission].judgement < 0)
        return false;
    *judgement = (size_t)verdict->strictest[emission].judgement;
    if (limit_dbm)
        *limit_dbm = verdict->strictest[emission].limit_dbm;
    return true;
}
