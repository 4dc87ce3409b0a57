/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Frequency error: the carrier against the nominal frequency, with the instrument's reference and the reading open. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "near.h"

/* Flatness within a channel of 0.2 dB to both sides moves the mean frequency of a spectrum of deviation s by up to
 * 0.05 s (our estimate). */
static const double FLATNESS = 0.05;

struct place {
    double hz, open_hz; /* half-width */
    bool modulated;
};

/* Types with a carrier or a mean frequency that is the carrier's: amplitude and angle modulation. */
static bool has_middle(const char *emission)
{
    const char *type = spurity_emission_type(emission);
    return !type[0] || strchr("AFGN", type[0]);
}

/* A line stands where it is.  Of a modulated carrier the mean frequency by power serves: for angle modulation that is
 * the mean of its instantaneous frequency, however lopsided the spectrum; of AM the middle.  False where neither is. */
static bool find(const struct judging *j, struct place *place)
{
    enum { TRACES_MAX = 32 };
    const spurity_carrier *carrier = j->carrier;
    spurity_band_trace traces[TRACES_MAX];
    spurity_band_figure figure;
    *place = (struct place){carrier->frequency_hz, carrier->frequency_uncertainty_hz, carrier->modulated};
    if (!carrier->modulated)
        return true;
    double half = spurity_verdict_near_half(j);
    size_t count = spurity_measurement_band_traces(j->measurement, carrier->frequency_hz - half,
                                                   carrier->frequency_hz + half, traces, TRACES_MAX);
    for (size_t i = 0; i < count && has_middle(j->point->emission); i++) {
        if (traces[i].file != carrier->file ||
            !spurity_measurement_band_figure(j->measurement, &traces[i], carrier->frequency_hz, half, 0, &figure))
            continue;
        /* once more about the middle that was found, so that both sides weigh alike */
        if (!spurity_measurement_band_figure(j->measurement, &traces[i], figure.centroid_hz, half, 0, &figure))
            continue;
        place->hz = figure.centroid_hz;
        place->open_hz = FLATNESS * figure.rms_hz + traces[i].step_hz / 2 + figure.floor_share * half;
        return true;
    }
    return false;
}

static spurity_status lacks(struct judging *j, const spurity_clause *clause, const char *reason, const char *advice,
                            spurity_error *error)
{
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, reason, advice, error);
}

/* The frequency the set should be on: its channel's, else as told; NaN. */
static double nominal(const struct judging *j, char *words, size_t size)
{
    spurity_channel channel = {0};
    char hz[40];
    if (spurity_rules_channel(j->rules, j->carrier->frequency_hz, &channel) == SPURITY_CHANNEL_ON) {
        snprintf(words, size, "%s, channel %.20s", spurity_format_frequency(hz, sizeof hz, channel.frequency_hz, 6),
                 channel.number);
        return channel.frequency_hz;
    }
    if (!isnan(j->point->carrier_hz))
        snprintf(words, size, "%s, as told", spurity_format_frequency(hz, sizeof hz, j->point->carrier_hz, 6));
    return j->point->carrier_hz;
}

static spurity_status judge(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                            spurity_error *error)
{
    const spurity_carrier *carrier = j->carrier;
    double value, hz, ppm = j->point->reference_ppm;
    const char *unit = NULL;
    char words[80] = "", figure[24];
    struct place place;
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = carrier->frequency_hz;
    hz = nominal(j, words, sizeof words);
    spurity_limit_describe(facts->limit, row->binding, sizeof row->binding);
    if (!spurity_limit_value(facts->limit, &j->worlds.items[0], carrier->frequency_hz, &value, &unit))
        return lacks(j, clause, "level-unknown", "the allowed error depends on what was not said", error);
    if (isnan(hz))
        return lacks(j, clause, "nominal-unknown",
                     "the frequency the set should be on is not known: say it with --carrier", error);
    row->limit = strcmp(unit, "ppm") ? value : value * 1e-6 * hz;
    snprintf(figure, sizeof figure, "%.6g %s", value, unit);
    snprintf(row->binding, sizeof row->binding, "%s of %s", figure, words);
    if (!carrier->seen)
        return lacks(j, clause, carrier->swept ? "carrier-absent" : "not-swept",
                     "no sweep shows the carrier: sweep it narrow, unmodulated, and say --reference-ppm", error);
    if (isnan(ppm))
        return lacks(j, clause, "reference-unknown",
                     "how good the instrument's frequency reference is was not said: say --reference-ppm", error);
    if (!find(j, &place))
        return lacks(j, clause, "modulation-unfit",
                     "where in this modulation the carrier stands cannot be told: key the set unmodulated", error);
    double open = place.open_hz + ppm * 1e-6 * hz;
    double error_hz = place.hz - hz, step = pow(10, floor(log10(fmax(open, 1e-3) / 20)));
    row->frequency_hz = row->from_hz = row->to_hz = place.hz;
    row->measured = step * round(error_hz / step);
    row->margin = row->limit - fabs(row->measured);
    row->uncertainty = open;
    size_t used = strlen(row->binding);
    snprintf(row->binding + used, sizeof row->binding - used, ", reference %.3g ppm%s", ppm,
             place.modulated ? ", read modulated" : "");
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    row->outcome =
        spurity_verdict_weigh(j, facts, spurity_decide(row->margin, row->uncertainty, j->point->simple_decision));
    return SPURITY_OK;
}

spurity_status spurity_verdict_judge_frequency(struct judging *j, bool *has_clause, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules) && !status; i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        char needs[128] = "";
        spurity_clause_facts_of(clause, &facts);
        if (strcmp(facts.group, "frequency") || facts.quantity != SPURITY_QUANTITY_FREQUENCY_ERROR || !facts.limit)
            continue;
        spurity_applies applies = spurity_clause_applies(clause, &j->worlds.items[0], NULL, 0, needs, sizeof needs);
        if (applies == SPURITY_APPLIES_NO)
            continue;
        *has_clause = true;
        status = applies == SPURITY_APPLIES_UNKNOWN ? spurity_verdict_ask(j, clause, needs, error)
                                                    : judge(j, clause, &facts, error);
    }
    return status;
}
