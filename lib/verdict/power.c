/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* A reference oscillator nobody said anything of is taken as good to this (unlocked crystal, common practice). */
static const double UNSAID_REFERENCE_PPM = 50.0;

/* Level of the power a carrier power clause limits, dBm; NaN when it cannot be told.  *at_least: only a mean is known
 * where a peak is limited: over the cap it fails all the same, under it nothing is shown. */
static double power_dbm(const struct judging *j, const char *unit, bool *at_least)
{
    const spurity_carrier *carrier = j->carrier;
    *at_least = false;
    if (unit && strstr(unit, "PEP")) {
        if (carrier->pep_low_w == carrier->power_low_w && carrier->pep_high_w == carrier->power_high_w)
            return carrier->level_dbm;
        if (!isnan(carrier->pep_low_w))
            return spurity_dbm_from_watts(sqrt(carrier->pep_low_w * carrier->pep_high_w));
        *at_least = true;
        return carrier->level_dbm;
    }
    if (unit && strstr(unit, "ERP")) {
        if (isnan(j->point->antenna_gain_dbd))
            return (double)NAN;
        return carrier->level_dbm + j->point->antenna_gain_dbd;
    }
    return carrier->level_dbm;
}

static spurity_status not_told(struct judging *j, const spurity_clause *clause, const char *advice,
                               spurity_error *error)
{
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "level-unknown", advice, error);
}

/* Expanded uncertainty of the carrier's power towards the limit: of the level read, or what a meter's range leaves
 * open. */
static double power_expanded(const struct judging *j, double margin)
{
    const spurity_carrier *carrier = j->carrier;
    double end_w = margin >= 0 ? carrier->power_high_w : carrier->power_low_w;
    double spread = fabs(spurity_dbm_from_watts(end_w) - carrier->level_dbm);
    return isfinite(spread) ? spread : spurity_uncertainty_expanded(&carrier->uncertainty);
}

static spurity_status judge_power(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                                  spurity_error *error)
{
    double limit_dbm;
    const char *unit = NULL;
    bool at_least;
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->frequency_hz = row->from_hz = row->to_hz = j->carrier->frequency_hz;
    row->unit = "W";
    if (!spurity_limit_value(facts->limit, &j->worlds.items[0], j->carrier->frequency_hz, &limit_dbm, &unit))
        return not_told(j, clause, "the allowed power depends on what was not said", error);
    double level = power_dbm(j, unit, &at_least);
    if (unit && strstr(unit, "PEP"))
        snprintf(row->quantity, sizeof row->quantity, "carrier power (PEP)");
    row->limit = spurity_watts_from_dbm(limit_dbm);
    row->measured = spurity_watts_from_dbm(level);
    row->margin = limit_dbm - level;
    row->uncertainty = power_expanded(j, row->margin);
    spurity_limit_describe(facts->limit, row->binding, sizeof row->binding);
    if (isnan(level))
        return not_told(j, clause,
                        unit && strstr(unit, "ERP") ? "say --antenna-gain, and the power if it is not known"
                                                    : "say --power, or the chain (--pad, --loss, --direct)",
                        error);
    if (j->carrier->source == SPURITY_CARRIER_FROM_TRACE && !j->carrier->trustworthy)
        return not_told(j, clause,
                        "the points stand too far apart to read the carrier: say --power, or sweep it with points at "
                        "most half an RBW apart",
                        error);
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    spurity_outcome outcome = spurity_decide(row->margin, row->uncertainty, j->point->simple_decision);
    if (at_least && outcome != SPURITY_OUTCOME_FAIL && outcome != SPURITY_OUTCOME_CONDITIONAL_FAIL) {
        row->conformity_probability = (double)NAN;
        return not_told(j, clause,
                        "the mean is below the cap, the peak envelope power is not known: say --power P,pep, or "
                        "--emission F3E of an angle-modulated set",
                        error);
    }
    row->outcome = spurity_verdict_weigh(j, facts, outcome);
    return SPURITY_OK;
}

/* The emission stays inside a band: carrier and half its bandwidth, against the nearer edge of the band that holds the
 * carrier; off every band, against the nearest edge. */
static double band_margin(const struct judging *j, const spurity_clause_facts *facts, double half, double *edge)
{
    double f0 = j->carrier->frequency_hz, best = -(double)INFINITY;
    for (size_t i = 0; i < facts->band_count; i++) {
        double low = facts->bands_hz[2 * i], high = facts->bands_hz[2 * i + 1];
        double below = f0 - half - low, above = high - f0 - half;
        double margin = fmin(below, above);
        if (margin > best) {
            best = margin;
            *edge = below < above ? low : high;
        }
    }
    return best;
}

/* Whether where the set transmits is not known: told, swept and absent (contract: no carrier found is not shown); or
 * read from points too far apart, whose strongest need not be the carrier at all. */
static bool place_unknown(const struct judging *j)
{
    const spurity_carrier *carrier = j->carrier;
    return (carrier->swept && !carrier->seen) ||
           (carrier->seen && !carrier->trustworthy && isnan(j->point->carrier_hz));
}

static spurity_status tell_place_unknown(struct judging *j, const spurity_clause *clause, spurity_error *error)
{
    if (!j->carrier->seen)
        return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "carrier-absent",
                                             "no line stands at the carrier that was told: was the set keyed, and is "
                                             "--carrier its frequency?",
                                             error);
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "points-too-far-apart",
                                         "the points stand too far apart to find the carrier: say --carrier, or "
                                         "sweep it with points at most half an RBW apart",
                                         error);
}

static spurity_status judge_band(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                                 spurity_error *error)
{
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    const spurity_carrier *carrier = j->carrier;
    double ppm = isnan(j->point->reference_ppm) ? UNSAID_REFERENCE_PPM : j->point->reference_ppm;
    bool assumed;
    double half = spurity_measurement_bandwidth(j->measurement, &assumed) / 2, edge = (double)NAN;
    char a[40], b[40];
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = carrier->frequency_hz;
    row->measured = carrier->frequency_hz;
    row->margin = band_margin(j, facts, half, &edge);
    row->limit = edge;
    row->uncertainty = carrier->frequency_uncertainty_hz + ppm * 1e-6 * carrier->frequency_hz;
    snprintf(row->binding, sizeof row->binding, "band edge %s, half of %s inside, reference %s%.3g ppm",
             spurity_format_frequency(a, sizeof a, edge, 6), spurity_format_frequency(b, sizeof b, 2 * half, 3),
             isnan(j->point->reference_ppm) ? "taken as " : "", ppm);
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    spurity_outcome outcome = spurity_decide(row->margin, row->uncertainty, j->point->simple_decision);
    if (place_unknown(j))
        return tell_place_unknown(j, clause, error);
    /* Out by the width alone, and the width only assumed: that decides nothing. */
    bool carrier_inside = row->margin + half >= row->uncertainty;
    if (assumed && outcome != SPURITY_OUTCOME_PASS && carrier_inside)
        return spurity_verdict_add_not_shown(
            j, clause, carrier->frequency_hz - half, carrier->frequency_hz + half, "bandwidth-unknown",
            "the carrier lies inside the band, its assumed width does not: say --bandwidth "
            "or --emission",
            error);
    row->outcome = spurity_verdict_weigh(j, facts, outcome);
    return SPURITY_OK;
}

/* On a channel of the service: within half the width of the nearest one.  How near its middle is for a clause of
 * frequency error to say. */
static spurity_status judge_channel(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                                    spurity_error *error)
{
    const spurity_carrier *carrier = j->carrier;
    spurity_channel channel = {0};
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    if (place_unknown(j))
        return tell_place_unknown(j, clause, error);
    double ppm = isnan(j->point->reference_ppm) ? UNSAID_REFERENCE_PPM : j->point->reference_ppm;
    char at[40];
    spurity_rules_channel(j->rules, carrier->frequency_hz, &channel);
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = row->measured = carrier->frequency_hz;
    row->limit = channel.frequency_hz;
    row->margin = channel.bandwidth_hz / 2 - fabs(carrier->frequency_hz - channel.frequency_hz);
    row->uncertainty = carrier->frequency_uncertainty_hz + ppm * 1e-6 * carrier->frequency_hz;
    snprintf(row->binding, sizeof row->binding, "nearest channel %.20s, %s, reference %s%.3g ppm", channel.number,
             spurity_format_frequency(at, sizeof at, channel.frequency_hz, 6),
             isnan(j->point->reference_ppm) ? "taken as " : "", ppm);
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    row->outcome =
        spurity_verdict_weigh(j, facts, spurity_decide(row->margin, row->uncertainty, j->point->simple_decision));
    return SPURITY_OK;
}

spurity_status spurity_verdict_judge_power(struct judging *j, bool *has_clause, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules) && !status; i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        char needs[128] = "";
        spurity_clause_facts_of(clause, &facts);
        if (strcmp(facts.group, "power") || facts.quantity == SPURITY_QUANTITY_NOTE)
            continue;
        spurity_applies applies = spurity_clause_applies(clause, &j->worlds.items[0], NULL, 0, needs, sizeof needs);
        if (applies == SPURITY_APPLIES_NO)
            continue;
        *has_clause = true;
        if (applies == SPURITY_APPLIES_UNKNOWN)
            status = spurity_verdict_ask(j, clause, needs, error);
        else if (facts.quantity == SPURITY_QUANTITY_BAND)
            status = judge_band(j, clause, &facts, error);
        else if (facts.quantity == SPURITY_QUANTITY_CHANNEL)
            status = judge_channel(j, clause, &facts, error);
        else if (facts.limit)
            status = judge_power(j, clause, &facts, error);
    }
    return status;
}

spurity_status spurity_verdict_judge_unmeasured(struct judging *j, unsigned group, bool *has_clause,
                                                spurity_error *error)
{
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        if (strcmp(facts.group, spurity_group_name(group)) || facts.quantity == SPURITY_QUANTITY_NOTE ||
            spurity_clause_applies(clause, &j->worlds.items[0], NULL, 0, NULL, 0) == SPURITY_APPLIES_NO)
            continue;
        *has_clause = true;
        spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
        if (!row)
            return SPURITY_SYSTEM;
        row->frequency_hz = row->from_hz = row->to_hz = j->carrier->frequency_hz;
        row->unit = "Hz";
        spurity_status status =
            spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "not-measured",
                                          "this version does not measure it: a deviation meter or a calibrated "
                                          "receiver does, with the tone that drives the set "
                                          "into limiting",
                                          error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}
