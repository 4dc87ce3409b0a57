/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The group of masks and occupied bandwidth: which clauses bind, and whether the set was modulated as they ask. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "near.h"

/* Other lines with less than this share of the strongest one's power are no modulation a mask could be judged by. */
static const double MODULATED_SHARE = 0.02;
/* A filter narrower than the lowest test tone (1250 Hz) keeps a carrier and its sidebands apart. */
static const double KEEPS_APART_HZ = 1000;

double spurity_verdict_near_half(const struct judging *j)
{
    double width = j->carrier->character == SPURITY_LINE ? 0 : j->carrier->width_hz;
    return fmax(spurity_measurement_bandwidth(j->measurement, NULL), 1.5 * width);
}

/* A response that tilts by 0.05 dB over the deviation s of a spectrum moves its mean frequency by 0.012 s (our estimate
 * of what is flat within a channel). */
static const double FLATNESS = 0.012;

/* Types whose middle is the carrier: amplitude and angle modulation. */
static bool has_middle(const char *emission)
{
    const char *type = spurity_emission_type(emission);
    return !type[0] || strchr("AFGN", type[0]);
}

/* What noise leaves open of a mean frequency: a filled spectrum scatters from reading to reading. */
static double scatter(const spurity_carrier *carrier, const spurity_band_trace *trace,
                      const spurity_band_figure *figure, double half)
{
    double readings = fmax(trace->averages, 1) * fmax(carrier->width_hz / trace->rbw_hz, 1);
    double own = carrier->character == SPURITY_NOISE_LIKE ? 2 * figure->rms_hz / sqrt(readings) : 0;
    return own + figure->floor_share * half / 10;
}

bool spurity_verdict_middle(const struct judging *j, double *hz, double *open_hz)
{
    enum { TRACES_MAX = 32 };
    const spurity_carrier *carrier = j->carrier;
    spurity_band_trace traces[TRACES_MAX];
    spurity_band_figure figure;
    *hz = carrier->frequency_hz;
    *open_hz = carrier->frequency_uncertainty_hz;
    if (!carrier->modulated)
        return true;
    double half = spurity_verdict_near_half(j);
    size_t count = spurity_measurement_band_traces(j->measurement, *hz, *hz, traces, TRACES_MAX);
    for (size_t i = 0; i < count && has_middle(j->point->emission); i++) {
        /* once more about the middle that was found, so that both sides weigh alike */
        if (traces[i].file != carrier->file ||
            !spurity_measurement_band_figure(j->measurement, &traces[i], *hz, half, 0, &figure) ||
            !spurity_measurement_band_figure(j->measurement, &traces[i], figure.centroid_hz, half, 0, &figure))
            continue;
        *hz = figure.centroid_hz;
        *open_hz = FLATNESS * figure.rms_hz + traces[i].step_hz / 5 + scatter(carrier, &traces[i], &figure, half);
        return true;
    }
    return false;
}

/* Whether the finest sweep of the carrier shows a line and nothing beside it. */
static bool reads_as_line(const struct judging *j)
{
    enum { TRACES_MAX = 32 };
    spurity_band_trace traces[TRACES_MAX];
    const spurity_band_trace *finest = NULL;
    double half = spurity_verdict_near_half(j), f0 = j->carrier->frequency_hz, others = 0;
    size_t count = spurity_measurement_band_traces(j->measurement, f0, f0, traces, TRACES_MAX);
    for (size_t i = 0; i < count; i++)
        if (traces[i].rbw_hz <= KEEPS_APART_HZ && traces[i].rbw_hz < half / 3 &&
            (!finest || traces[i].rbw_hz < finest->rbw_hz))
            finest = &traces[i];
    if (!finest)
        return false;
    const spurity_survey *survey = spurity_measurement_file(j->measurement, (size_t)finest->file)->survey;
    const spurity_line *strongest = spurity_survey_strongest(survey, f0 - half, f0 + half);
    if (!strongest || strongest->character != SPURITY_LINE)
        return false;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        double apart = fabs(line->frequency_hz - strongest->frequency_hz);
        if (line != strongest && line->segment == strongest->segment && apart <= half && apart > finest->rbw_hz)
            others += pow(10, (line->level_db - strongest->level_db) / 10);
    }
    return others < MODULATED_SHARE;
}

/* Why nothing can be judged of a set in this state; NULL when it can. */
static const char *unfit(const struct judging *j, const char **reason)
{
    const spurity_carrier *carrier = j->carrier;
    *reason = "modulation-unfit";
    if (j->point->modulation != SPURITY_MODULATION_TEST && j->point->modulation != SPURITY_MODULATION_VOICE)
        return "judged of a modulated set only: " SPURITY_TEST_TONE;
    if (carrier->swept && !carrier->seen) {
        *reason = "carrier-absent";
        return "no line stands at the carrier that was told: was the set keyed, and is --carrier its frequency?";
    }
    if (!carrier->seen) {
        *reason = "not-swept";
        return "no sweep holds the carrier: sweep the modulated set about it";
    }
    if (reads_as_line(j))
        return "the carrier reads as a line: no modulation reached it; " SPURITY_TEST_TONE;
    return NULL;
}

static spurity_status tell_unfit(struct judging *j, const spurity_clause *clause, const char *reason,
                                 const char *advice, spurity_error *error)
{
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->frequency_hz = row->from_hz = row->to_hz = j->carrier->frequency_hz;
    row->unit = "Hz";
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, reason, advice, error);
}

/* One clause of the group; advice: why nothing can be judged of the set in this state, NULL when it can. */
static spurity_status judge_clause(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                                   const bool *binds, const char *reason, const char *advice, spurity_error *error)
{
    if (advice)
        return tell_unfit(j, clause, reason, advice, error);
    if (facts->quantity == SPURITY_QUANTITY_MASK)
        return spurity_verdict_judge_mask(j, clause, facts, binds, error);
    return spurity_verdict_judge_occupied(j, clause, facts, error);
}

spurity_status spurity_verdict_judge_near(struct judging *j, bool *has_clause, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    const char *reason, *advice = unfit(j, &reason);
    size_t first = j->verdict->judgement_count;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules) && !status; i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        bool binds[WORLDS_MAX];
        char needs[160];
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        bool mask = facts.quantity == SPURITY_QUANTITY_MASK;
        if (strcmp(facts.group, "mask") || !facts.limit ||
            (!mask && facts.quantity != SPURITY_QUANTITY_OCCUPIED_BANDWIDTH))
            continue;
        size_t bound = spurity_verdict_bound_worlds(j, clause, binds, needs, sizeof needs);
        if (!bound && !needs[0])
            continue;
        *has_clause = true;
        if (needs[0])
            status = spurity_verdict_ask(j, clause, needs, error);
        if (!status && bound)
            status = judge_clause(j, clause, &facts, binds, reason, advice, error);
    }
    return status ? status : spurity_verdict_settle_worlds(j, first, error);
}
