/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Occupied bandwidth: what holds 99 % of the mean power, half a per cent left out at each end (47 CFR 2.1049). */
#include <math.h>
#include <stdio.h>

#include "near.h"

/* RBW at most this share of the width that is read: 1 to 5 % is common practice. */
static const double RBW_SHARE = 0.05;
/* Floor in the window beside which half a per cent is still told, for a mean; peaks of noise stand higher. */
static const double FLOOR_SHARE = 0.003, FLOOR_SHARE_PEAKS = 0.0005;

/* The next step down of 1-3-10. */
static double step_down(double hz)
{
    double decade = pow(10, floor(log10(hz))), part = hz / decade;
    return decade * (part >= 3 ? 3 : 1);
}

/* The trace the carrier was read from, else the finest that holds all of it. */
static bool choose(const struct judging *j, double half, spurity_band_trace *chosen)
{
    enum { TRACES_MAX = 32 };
    const spurity_carrier *carrier = j->carrier;
    spurity_band_trace traces[TRACES_MAX];
    double from = carrier->frequency_hz - half, to = carrier->frequency_hz + half;
    size_t count = spurity_measurement_band_traces(j->measurement, from, to, traces, TRACES_MAX);
    bool found = false;
    for (size_t i = 0; i < count; i++) {
        if (traces[i].from_hz > from || traces[i].to_hz < to || (found && traces[i].rbw_hz >= chosen->rbw_hz))
            continue;
        found = true;
        *chosen = traces[i];
    }
    return found;
}

static spurity_status lacks(struct judging *j, const spurity_clause *clause, const char *reason, const char *advice,
                            spurity_error *error)
{
    double half = spurity_verdict_near_half(j), f0 = j->carrier->frequency_hz;
    return spurity_verdict_add_not_shown(j, clause, f0 - half, f0 + half, reason, advice, error);
}

/* Told to a tenth of what is open. */
static double rounded(double hz, double open_hz)
{
    double step = open_hz > 0 ? pow(10, floor(log10(open_hz / 5))) : 1;
    return step * round(hz / step);
}

static spurity_status decide(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                             spurity_judgement *row, bool voice, spurity_error *error)
{
    spurity_outcome outcome = spurity_decide(row->margin, row->uncertainty, j->point->simple_decision);
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    bool passes = outcome == SPURITY_OUTCOME_PASS || outcome == SPURITY_OUTCOME_CONDITIONAL_PASS;
    if (voice && passes)
        return lacks(j, clause, "modulation-unfit", "narrow enough with voice, which shows no pass: " SPURITY_TEST_TONE,
                     error);
    row->outcome = spurity_verdict_weigh(j, facts, outcome);
    return SPURITY_OK;
}

spurity_status spurity_verdict_judge_occupied(struct judging *j, const spurity_clause *clause,
                                              const spurity_clause_facts *facts, spurity_error *error)
{
    const spurity_carrier *carrier = j->carrier;
    double limit, half = spurity_verdict_near_half(j);
    char rbw[40], advice[200];
    spurity_band_trace trace;
    spurity_band_figure figure;
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = carrier->frequency_hz;
    spurity_limit_describe(facts->limit, row->binding, sizeof row->binding);
    if (!spurity_limit_value(facts->limit, &j->worlds.items[0], carrier->frequency_hz, &limit, NULL))
        return lacks(j, clause, "level-unknown", "the allowed width depends on what was not said", error);
    row->limit = limit;
    spurity_format_frequency(rbw, sizeof rbw, step_down(RBW_SHARE * limit), 3);
    snprintf(advice, sizeof advice, "sweep the modulated set over %.6g kHz about the carrier at %s RBW or less",
             2 * half / 1e3, rbw);
    if (!choose(j, half, &trace) || !spurity_measurement_band_figure(j->measurement, &trace, carrier->frequency_hz,
                                                                     half, j->point->uncertainty_dbc, &figure))
        return lacks(j, clause, "not-swept", advice, error);
    double width = figure.high_hz - figure.low_hz;
    /* the carrier's own figure, where it was read from this file as one emission */
    if (carrier->character != SPURITY_LINE && carrier->file == trace.file && carrier->rbw_hz <= RBW_SHARE * width)
        width = carrier->width_hz;
    if (trace.rbw_hz > RBW_SHARE * fmax(width, limit))
        return lacks(j, clause, "rbw-too-wide", advice, error);
    bool mean = trace.detector == SPURITY_DETECTOR_AVERAGE || trace.detector == SPURITY_DETECTOR_SAMPLE ||
                trace.detector == SPURITY_DETECTOR_LOG_AVERAGE;
    if (figure.floor_share > (mean ? FLOOR_SHARE : FLOOR_SHARE_PEAKS))
        return lacks(j, clause, "floor-near-limit",
                     "the bench's noise about the carrier comes near half a per cent of its power: less attenuation if "
                     "the instrument bears it",
                     error);
    bool lines = fabs(figure.lines_db - figure.power_db) < 0.5;
    double open = lines ? trace.step_hz / 2 : trace.rbw_hz / 2 + trace.step_hz;
    double wider = fmax(figure.wide_hz - (figure.high_hz - figure.low_hz), 0) + open;
    double narrower = fmax(figure.high_hz - figure.low_hz - figure.narrow_hz, 0) + open;
    row->measured = rounded(width, fmin(wider, narrower));
    row->margin = limit - row->measured;
    row->uncertainty = row->margin >= 0 ? wider : narrower;
    return decide(j, clause, facts, row, j->point->modulation == SPURITY_MODULATION_VOICE, error);
}
